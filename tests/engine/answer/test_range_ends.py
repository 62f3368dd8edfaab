"""No proposal lies at the end of its grind's range of edge angle or edge thickness for want of anything to hold it.

A worse figure always counts for something, so that where no goal is met any more an edge does not run to the end of its
range. What may hold it there: a wish (also for a grind that suits nothing asked), the shop, a limit; a load of the task
that a step inwards would not bear as well as is asked: steeper and thicker is what is left for the steel; a face that
has to guide, which wants next to no bevel.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain, islice, product

import pytest

from recommender.engine.audit.designed_briefs import Question, designed
from recommender.models.brief import Brief
from recommender.service import Service, with_settings

SOFT_POCKET_KNIFE = [
    "tasks.pocket-carry=1", "steel.grade=420", "steel.hardness_hrc=53", "blade.length_mm=75", "blade.height_mm=20",
    "owner.gear=none",
]  # fmt: skip
STRENGTH = frozenset({"edge_margin", "angle_margin_deg", "edge_support"})
"""Metrics of goals that ask for strength against loads."""
GUIDES = frozenset({"register_width", "flat_back"})
"""Metrics of goals that ask for a face that guides: the less edge bevel, the better."""
STEPS = {"edge_angle_per_side_deg": 0.5, "edge_thickness_mm": 0.05}
SAMPLE = 500
FEW = 12
MOST_LEFT = 0.01
"""Of the sample: bars so thick and low for what is asked that nothing but the thinnest edge helps."""


def _sample(service: Service, most: int) -> list[Question]:
    """Designed briefs that wish for no grind, then every task with every single gear and some hardnesses."""
    pairs = designed(service.knowledge, service.grinds, 10 * most)
    tasks, gear = sorted(service.knowledge.tasks), sorted(service.knowledge.gear)
    crossed = product(gear, tasks, ((), ("steel.grade=420", "steel.hardness_hrc=53")))
    more = ((f"tasks.{task}=1", f"owner.gear={tool}", *steel) for tool, task, steel in crossed)
    questions = chain(pairs, (Question(" ".join(said), with_settings(Brief(), said)) for said in more))
    return list(islice((q for q in questions if q.brief.wishes.grind is None), most))


def _at_the_end(service: Service, question: Question) -> Iterator[str]:
    """Where a proposal lies at the end of a range, and nothing says why."""
    answer = next(iter(service.briefs.answers(question.brief, question.name, flips=False)))
    blade = answer.proposal
    if blade is None:
        return
    for name, step in STEPS.items():
        knob = service.briefs.case(question.brief).registry.grinds[blade.grind].item.parameter(name)
        if knob is None or getattr(question.brief.wishes, name) is not None:
            continue
        value = getattr(blade, name)
        for end, inwards in ((knob.low, step), (knob.high, -step)):
            if abs(value - end) > 1e-6:
                continue
            moved = service.briefs.changed(question.brief, blade, {name: value + inwards})
            weighed = service.briefs.weigh(question.brief, moved)
            if weighed.refused or weighed.broken or weighed.points.costs < answer.points.costs - 1e-6:
                continue
            if inwards < 0:
                held = any(r.metric in STRENGTH and r.points < r.most_points - 0.01 for r in weighed.reasons)
            else:
                held = name == "edge_thickness_mm" and any(r.metric in GUIDES for r in answer.reasons)
            if not held:
                yield f"{question.name}: {blade.grind}, {name} {value:g}"


def test_an_edge_that_nothing_meets_does_not_run_to_the_end(service: Service) -> None:
    brief = with_settings(Brief(), SOFT_POCKET_KNIFE)
    blade = service.recommend(brief, flips=False).proposal
    assert blade is not None
    # Common practice: a soft pocket knife is sharpened at 17 to 25 degrees a side.
    assert 15 <= blade.edge_angle_per_side_deg <= 25
    assert not list(_at_the_end(service, Question("soft pocket knife", brief)))


def test_no_edge_at_the_end_of_its_range(service: Service) -> None:
    sample = _sample(service, SAMPLE)
    assert len(sample) == SAMPLE
    some = sample[:: SAMPLE // FEW]
    assert [end for question in some for end in _at_the_end(service, question)] == []


@pytest.mark.long
def test_no_edge_at_the_end_of_its_range_in_a_whole_sample(service: Service) -> None:
    found = [end for question in _sample(service, SAMPLE) for end in _at_the_end(service, question)]
    assert len(found) <= MOST_LEFT * SAMPLE, "\n".join(found)
