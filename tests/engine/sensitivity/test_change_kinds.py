"""Every kind of change that an answer may tell of is tried, summed up and named."""

from typing import get_args

from recommender.engine.sensitivity.perturbations import PERTURBATION_KINDS, perturbations
from recommender.models.answer.proposal import FLIP_KINDS, FlipKind
from recommender.models.brief import Brief
from recommender.service import Service


def test_no_kind_is_forgotten() -> None:
    assert set(FLIP_KINDS) == set(PERTURBATION_KINDS) == set(get_args(FlipKind))


def test_something_of_every_kind_is_tried_and_summed_up() -> None:
    changes = perturbations(Service().briefs.case(Brief()), 3.0)
    for kind in FLIP_KINDS:
        own = [change for change in changes if change.kind == kind]
        assert own, kind
        assert PERTURBATION_KINDS[kind].summary(own), kind
