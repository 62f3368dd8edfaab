"""What is wrong with a pack that loads: rules that say other than they do, tasks that nothing speaks for or answers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator

from recommender.engine.intake.brief_text import with_settings
from recommender.engine.intake.conditions import fires
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.packs.knowledge import Knowledge, LoadedRule

_FEWEST_WORDS = 5


def pack_problems(pack: str, knowledge: Knowledge, recommend: Callable[[Brief], Answer]) -> Iterator[str]:
    """Each problem of a loaded pack in words; every task of its own is asked for once."""
    titles = Counter(loaded.rule.title for loaded in knowledge.rules.values())
    for loaded in knowledge.rules.values():
        if loaded.pack == pack:
            yield from (f"rule {loaded.rule.id}: {problem}" for problem in _rule_problems(loaded))
            if titles[loaded.rule.title] > 1:
                yield f"rule {loaded.rule.id}: another rule has its title"
    wanted = {task for loaded in knowledge.of_kind("goal") for task in loaded.tasks}
    for task in knowledge.tasks:
        if knowledge.pack_of["tasks", task] != pack:
            continue
        if task not in wanted:
            yield f"task {task}: no goal speaks of it"
        if recommend(with_settings(Brief(), [f"tasks.{task}=1"])).proposal is None:
            yield f"task {task}: nothing fits it, though all else is left open"


def _rule_problems(loaded: LoadedRule) -> Iterator[str]:
    rule = loaded.rule
    for example in rule.examples:
        facts = {name: frozenset(v) if isinstance(v, list) else v for name, v in example.facts.items()}
        if bool(fires(rule.when, facts.get)) is not example.fires:
            does, says = ("fires", "not to") if not example.fires else ("does not fire", "to")
            yield f"{does} on an example that says {says}: {example.facts}"
    if rule.basis.level == "published" and not rule.basis.citation:
        yield "a published basis has a citation"
    if rule.basis.known == "seen" and not rule.basis.citation:
        yield "what was seen has a source"
    if len(rule.because.split()) < _FEWEST_WORDS:
        yield "because says hardly anything"
