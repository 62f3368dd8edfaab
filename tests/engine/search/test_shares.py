"""What rules say of a task comes in with its share: no cliff below half of the work, nothing forbidden there."""

from __future__ import annotations

from itertools import pairwise

import pytest

from recommender.drawing.text.rules.rule_text import rule_text
from recommender.models.answer.trial import Weighed
from recommender.models.brief import Brief
from recommender.service import Service, with_settings

PERCENT = range(0, 61, 2)
MOST_A_PERCENT = 1.5
PAIRS = [("food-prep", "prying"), ("game-dressing", "heavy-chopping")]
MORE_PAIRS = [
    ("food-prep", "wood-splitting"), ("food-prep", "heavy-chopping"), ("food-prep", "pocket-carry"),
    ("food-prep", "wood-carving"), ("pocket-carry", "prying"), ("pocket-carry", "heavy-chopping"),
    ("pocket-carry", "wood-splitting"), ("fine-slicing", "prying"), ("fish-filleting", "prying"),
    ("fish-filleting", "food-prep"), ("game-dressing", "prying"), ("wood-carving", "wood-splitting"),
    ("wood-carving", "prying"), ("leather-paring", "prying"), ("strap-cutting", "prying"),
    ("cardboard-rope", "prying"), ("brush-clearing", "food-prep"), ("wood-splitting", "food-prep"),
]  # fmt: skip
TRIPLES = [
    ("food-prep", "prying", "pocket-carry"), ("food-prep", "heavy-chopping", "game-dressing"),
    ("pocket-carry", "prying", "cardboard-rope"), ("game-dressing", "wood-splitting", "food-prep"),
    ("wood-carving", "prying", "pocket-carry"), ("fine-slicing", "fish-filleting", "prying"),
    ("brush-clearing", "wood-splitting", "pocket-carry"), ("leather-paring", "cardboard-rope", "prying"),
    ("food-prep", "wood-carving", "prying"), ("strap-cutting", "heavy-chopping", "food-prep"),
]  # fmt: skip


def _weighed(service: Service, first: str, *others: str, percents: range = PERCENT) -> list[tuple[int, Weighed]]:
    """The best blade for a task alone, under briefs in which others take more and more of the work."""
    sizes = ["blade.length_mm=150", "blade.height_mm=32", "steel.grade=5160", "owner.gear=bench-stones"]
    blade = service.recommend(with_settings(Brief(), [f"tasks.{first}=1", *sizes]), flips=False).proposal
    assert blade is not None
    out = []
    for percent in percents:
        shares = [f"tasks.{first}={100 - percent}", *(f"tasks.{other}={percent / len(others)}" for other in others)]
        brief = with_settings(Brief(), [*shares[: None if percent else 1], *sizes])
        out.append((percent, service.briefs.weigh(brief, blade)))
    return out


def _has_no_cliff(found: list[tuple[int, Weighed]]) -> None:
    for (before, one), (after, other) in pairwise(found):
        assert one.points is not None
        assert other.points is not None
        assert abs(other.points.total - one.points.total) <= MOST_A_PERCENT * (after - before), (before, after)
    for percent, weighed in found:
        if percent < 50:
            assert not weighed.broken, percent
    assert any(weighed.costs for _, weighed in found)


@pytest.mark.parametrize(("first", "second"), PAIRS)
def test_one_more_percent_of_another_task_is_no_cliff(service: Service, first: str, second: str) -> None:
    _has_no_cliff(_weighed(service, first, second))


@pytest.mark.long
@pytest.mark.parametrize("tasks", [*MORE_PAIRS, *TRIPLES], ids=" ".join)
def test_one_more_percent_of_others_is_no_cliff(service: Service, tasks: tuple[str, ...]) -> None:
    found = _weighed(service, *tasks, percents=range(0, 61))
    for (before, one), (after, other) in pairwise(found):
        assert one.points is not None
        assert other.points is not None
        assert abs(other.points.total - one.points.total) <= MOST_A_PERCENT * (after - before), (before, after)


def test_from_half_of_the_work_a_failed_demand_shuts_out(service: Service) -> None:
    found = dict(_weighed(service, "food-prep", "prying", percents=range(48, 53)))
    assert "prying-bears-moment" not in {b.rule for b in found[48].broken}
    assert "prying-bears-moment" in {b.rule for b in found[51].broken}


def test_what_it_costs_is_told_with_the_task_and_adds_up(ask) -> None:
    answer = ask("tasks.food-prep=0.9", "tasks.prying=0.1")
    points = answer.points
    assert points.costs < 0
    assert points.total == pytest.approx(points.goals + 12.5 + points.leans + points.costs, abs=0.02)
    assert sum(cost.points for cost in answer.costs) == pytest.approx(points.costs, abs=0.02)
    (prying,) = {cost.task for cost in answer.costs}
    assert prying == "prying"
    said = next(c for c in answer.cautions if c.short and c.short.startswith("Not for prying: it meets "))
    assert "keep a bar for it" in said.short
    assert said.short in answer.summary.first


def test_a_task_alone_costs_nothing(ask) -> None:
    answer = ask("tasks.prying=1")
    assert answer.costs == []
    assert answer.points.costs == 0


def test_a_little_prying_leaves_a_kitchen_knife_a_kitchen_knife(ask) -> None:
    """Common practice: nobody grinds a cook's knife to 40 degrees and more for the odd lid."""
    alone, both = ask("tasks.food-prep=1"), ask("tasks.food-prep=0.9", "tasks.prying=0.1")
    assert both.proposal.edge_angle_included_deg - alone.proposal.edge_angle_included_deg <= 4
    assert both.proposal.stock_thickness_mm <= alone.proposal.stock_thickness_mm + 0.5


def test_why_of_a_limit_gives_its_price(ask, service: Service) -> None:
    settings = ["tasks.food-prep=0.9", "tasks.prying=0.1"]
    answer = ask(*settings)
    costs = {c.rule: c.points for c in answer.costs}
    traces = {t.loaded.rule.id: t for t in service.briefs.rule_traces(with_settings(Brief(), settings), answer)}
    assert traces["prying-bears-moment"].points == pytest.approx(costs["prying-bears-moment"])
    said = rule_text(traces["prying-bears-moment"], {n: m.item for n, m in service.registry.metrics.items()}, 80)
    assert "Where that is half or more, it shuts out" in " ".join(said.split())
