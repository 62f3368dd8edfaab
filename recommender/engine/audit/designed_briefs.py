"""Briefs designed to set the rules going: few, told by their settings, and the same every time."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, combinations, cycle, islice
from pathlib import Path

from recommender.engine.intake.brief_text import MAX_BRIEF_BYTES, read_brief, with_settings
from recommender.errors import InputError
from recommender.files import read_file
from recommender.folders import EXPECTED
from recommender.models.brief import Brief
from recommender.packs.facts import BRIEF
from recommender.packs.knowledge import Knowledge
from recommender.text import clean

Level = tuple[str, ...]
"""What a brief says of one thing, as settings; empty where it leaves it open."""
OPEN: Level = ()
_Place = tuple[int, int]
"""A factor and one of its levels, by number."""


@dataclass(frozen=True)
class Question:
    """A brief with a name that says which."""

    name: str
    brief: Brief


def briefs_in(folder: Path) -> list[Question]:
    """Every brief of a folder, by file name. Raises InputError for a folder without any, or a brief that is none."""
    shown = clean(str(folder), one_line=True)
    try:
        files = sorted(path for path in folder.iterdir() if path.suffix == ".toml" and not path.match(f"*{EXPECTED}"))
    except OSError as cause:
        raise InputError(f"cannot be read ({cause.strerror})", file=shown, expected="a folder of briefs") from None
    if not files:
        raise InputError("no brief", file=shown, expected="a folder with briefs (.toml) in it")
    found = []
    for path in files:
        name = clean(str(path), one_line=True)
        brief = read_brief(read_file(path, MAX_BRIEF_BYTES, "a brief as TOML"), name)
        found.append(Question(clean(path.stem, one_line=True), brief))
    return found


def designed(knowledge: Knowledge, grinds: Iterable[str], most: int) -> list[Question]:
    """At most `most` briefs: each task alone, each grind wished for, then every two things a brief can say together."""
    tasks = [f"tasks.{task}=1" for task in sorted(knowledge.tasks)]
    alone = ((task,) for task in tasks)
    wished = ((task, f"wishes.grind={grind}") for task, grind in zip(cycle(tasks), sorted(grinds), strict=False))
    settings = islice(chain(alone, wished, _in_pairs(_factors(knowledge))), most)
    return [Question(" ".join(given), with_settings(Brief(), given)) for given in settings]


def _factors(knowledge: Knowledge) -> list[list[Level]]:
    """Everything that a brief may say, thing by thing, each with what may be said of it."""

    tasks = sorted(knowledge.tasks)
    levels_by_place: dict[int, list[Level]] = defaultdict(lambda: [OPEN])
    for fact in BRIEF:
        if fact.levels is not None:
            named = fact.values or sorted(fact.names(knowledge, ()))
            levels_by_place[fact.levels.place] += [(f"{fact.key}={value}",) for value in fact.levels.values or named]
    first, *others = (levels for _, levels in sorted(levels_by_place.items()))
    second = [OPEN, *((f"tasks.{task}=0.4",) for task in tasks)]
    return [[(f"tasks.{task}=1",) for task in tasks], first, second, *others]


def _in_pairs(factors: Sequence[Sequence[Level]]) -> Iterator[Level]:
    """Rows of one level a factor, until every two levels of two factors have stood together.

    Each row starts from a pair that has not, and takes, factor by factor, the level that makes the most new pairs
    with those taken already; of equals, whatever was used least, then the first.
    """
    missing: dict[tuple[_Place, _Place], None] = {
        ((a, i), (b, j)): None
        for a, b in combinations(range(len(factors)), 2)
        for i in range(len(factors[a]))
        for j in range(len(factors[b]))
    }
    used: Counter[_Place] = Counter()
    while missing:
        start = min(missing, key=lambda pair: used[pair[0]] + used[pair[1]])
        row = dict(start)
        for factor in range(len(factors)):
            if factor not in row:
                news = [_new_pairs(row, (factor, level), missing) for level in range(len(factors[factor]))]
                row[factor] = min((-news[level], used[factor, level], level) for level in range(len(news)))[-1]
        for one, other in combinations(sorted(row.items()), 2):
            missing.pop((one, other), None)
        used.update(row.items())
        settings = chain.from_iterable(factors[factor][level] for factor, level in sorted(row.items()))
        # A task that is first and second is the only one.
        yield tuple({setting.partition("=")[0]: setting for setting in reversed(list(settings))}.values())[::-1]


def _new_pairs(row: Mapping[int, int], taken: _Place, missing: Container[tuple[_Place, _Place]]) -> int:
    return sum(((other, taken) if other < taken else (taken, other)) in missing for other in row.items())
