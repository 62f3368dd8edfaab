"""What a comparison found, in words: brief by brief, field by field."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from .differences import Difference, Tolerance, differences
from .figures import Figures, figures_of, points_of

_MOST_WIDTH = 60


class Compared(NamedTuple):
    """One brief on both sides."""

    name: str
    old: Figures
    new: Figures
    differences: tuple[Difference, ...]


def compared(name: str, old: dict, new: dict, tolerance: Tolerance) -> Compared:
    """Compare the papers of one brief, given as fields."""
    return Compared(name, figures_of(old), figures_of(new), tuple(differences(old, new, tolerance)))


def summary(found: Sequence[Compared], fields: int = 30) -> Iterator[str]:
    """The lines of a summary, with so many fields at most."""
    changed = [each for each in found if each.differences]
    yield f"{len(found) - len(changed)} alike, {len(changed)} differ"
    if not changed:
        return
    yield ""
    for each in changed:
        papers = ", ".join(dict.fromkeys(difference.path[0] for difference in each.differences))
        blades = f"{each.old} -> {each.new}; " if each.old != each.new else f"{each.old}; " if each.old.grind else ""
        yield f"{each.name}: {blades}{len(each.differences)} fields of {papers}"
    yield from _by_field(changed, fields)
    yield from _moves(changed)


def _by_field(changed: Sequence[Compared], most: int) -> Iterator[str]:
    by_field: dict[str, list[tuple[str, Difference]]] = defaultdict(list)
    for each in changed:
        for difference in each.differences:
            by_field[difference.pattern].append((each.name, difference))
    ordered = sorted(by_field.items(), key=lambda item: (-len({name for name, _ in item[1]}), -len(item[1]), item[0]))
    yield ""
    yield "Fields that differ, those of the most briefs first, each with its largest change:"
    for pattern, places in ordered[:most]:
        name, widest = max(places, key=lambda place: _size(place[1]))
        briefs = len({name for name, _ in places})
        yield f"  {briefs:4d}  {pattern}: {_shown(widest.old)} -> {_shown(widest.new)} ({name})"
    if len(ordered) > most:
        yield f"  and {len(ordered) - most} fields more"


def _moves(changed: Sequence[Compared], most: int = 10) -> Iterator[str]:
    pairs = [(points_of(each.old), points_of(each.new), each.name) for each in changed]
    moves = [(new - old, name) for old, new, name in pairs if old is not None and new is not None and old != new]
    if moves:
        yield ""
        yield "Largest moves in points:"
        for move, name in sorted(moves, key=lambda move: -abs(move[0]))[:most]:
            yield f"  {move:+8.2f}  {name}"


def _size(difference: Difference) -> float:
    """How large a change is beside others of its field; words and what is missing count most."""
    old, new = difference.old, difference.new
    if isinstance(old, int | float) and isinstance(new, int | float):
        return abs(new - old) / max(abs(old), abs(new), 1e-300)
    return float("inf")


def _shown(value: object) -> str:
    text = repr(value) if isinstance(value, str) and value != "(missing)" else str(value)
    return text if len(text) <= _MOST_WIDTH else f"{text[: _MOST_WIDTH - 3]}..."
