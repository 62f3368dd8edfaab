"""What can be wrong with the usual blades of tasks: there is none, it cannot be made, its steel is never so hard."""

from __future__ import annotations

from collections.abc import Iterator

from recommender.engine.audit.checks.domains import Domains
from recommender.engine.search.usual_blade import usual_designs
from recommender.models.knowledge.tables import Task
from recommender.packs.findings import RuleFinding
from recommender.plugin.api import Workshop


def usual_blades(worlds: Domains) -> Iterator[RuleFinding]:
    """Everything that is wrong with usual blades."""
    for task in worlds.knowledge.tasks.values():
        file = f"tables/tasks/{task.id}.toml"
        if task.usual_blade is None:
            says = f"{task.id} has no usual blade: all its goals go by absolute windows"
            yield RuleFinding("no-usual-blade", (), file, says)
        else:
            for wrong in _doubts(task, worlds):
                yield RuleFinding("doubtful-usual-blade", (), file, f"the usual blade of {task.id}: {wrong}")


def _doubts(task: Task, worlds: Domains) -> Iterator[str]:
    usual = task.usual_blade
    assert usual is not None
    grind, steel = worlds.registry.grinds.get(usual.grind), worlds.knowledge.steels.get(usual.steel)
    if grind is not None:
        shop = Workshop(tuple(worlds.knowledge.defaults.wheels_mm), platen=True, slack_belt=True)
        designs = usual_designs(grind.item, usual, worlds.knowledge)
        yield from (refusal.reason for refusal in grind.item.refusals(designs, shop) if refusal.rows.any())
    if steel is not None:
        low, high = steel.hardness.low_hrc, steel.hardness.high_hrc
        if not low <= usual.hardness_hrc.likely <= high:
            yield f"{usual.hardness_hrc.likely:g} HRC, and {steel.label} has {low:g} to {high:g}"
