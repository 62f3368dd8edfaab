"""Tip, swedge and distal taper: chosen through goals, limits and leans, never fixed."""

from __future__ import annotations

import pytest

from recommender.models.answer.proposal import Answer


def _form(answer: Answer) -> tuple[str | None, bool, float]:
    p = answer.proposal
    assert p is not None
    return p.tip, p.swedge is not None, p.distal_taper or 0.0


def test_the_brief_keeps_what_it_decides(ask) -> None:
    answer = ask(
        "tasks.game-dressing=1", "blade.profile=clip", "blade.swedge=short", "blade.distal_taper_mm_per_mm=0.006"
    )
    p = answer.proposal
    assert p.tip == "clip"
    assert p.distal_taper == 0.006
    assert p.swedge.length_mm == pytest.approx(0.35 * p.blade_length_mm, abs=0.5)
    assert p.swedge.spine_mm < p.stock_thickness_mm
    assert answer.form.tried == 1
    assert answer.brief_sources["blade.profile"].source == "given"


def test_what_is_open_is_chosen_of_many_forms_and_says_why(ask) -> None:
    answer = ask("tasks.game-dressing=1")
    assert answer.form.tried >= 40
    assert answer.form.next
    assert {r.rule for r in answer.form.reasons} >= {"form-usual-tip", "tip-goes-in/game-dressing"}
    assert answer.metrics["tip_push"].value > 0
    assert answer.metrics["blade_mass"].value == pytest.approx(answer.blade.mass_g, rel=1e-3)


def test_a_filleting_knife_trails_and_tapers(ask) -> None:
    """Common practice: a fillet knife has an upswept point and gives in its last third."""
    tip, swedge, taper = _form(ask("tasks.fish-filleting=1"))
    assert tip == "trailing"
    assert not swedge
    assert taper > 0


def test_a_spine_that_is_struck_keeps_its_stock(ask) -> None:
    """Common practice: no swedge under a baton, and hardly any taper."""
    answer = ask("tasks.wood-splitting=1")
    _, swedge, taper = _form(answer)
    assert not swedge
    assert taper == 0.0
    assert answer.metrics["spine_left"].value == pytest.approx(1.0, abs=0.02)


def test_a_swedge_is_a_limit_to_a_struck_spine_even_if_goals_like_it(ask) -> None:
    asked = ask("tasks.wood-splitting=1", "blade.swedge=long")
    assert asked.proposal.swedge is not None, "what the brief decides stays"
    free = ask("tasks.wood-splitting=1", "blade.profile=drop")
    assert free.proposal.swedge is None


def test_a_swedge_brings_its_caution(ask) -> None:
    """A second edge is dangerous and in many places unlawful: the answer says so where there is a swedge, not else."""
    with_one = ask("tasks.pocket-carry=1", "blade.swedge=long")
    without = ask("tasks.pocket-carry=1", "blade.swedge=none")
    assert "edge-swedge-stays-blunt" in {w.id for w in with_one.cautions}
    assert "edge-swedge-stays-blunt" not in {w.id for w in without.cautions}


def test_a_swedge_lowers_the_push_and_costs_spine(ask) -> None:
    settings = ("tasks.prying=1", "blade.profile=drop", "blade.distal_taper_mm_per_mm=0")
    plain = ask(*settings, "blade.swedge=none").metrics
    beveled = ask(*settings, "blade.swedge=long").metrics
    assert beveled["tip_push"].value < plain["tip_push"].value
    assert beveled["spine_left"].value < plain["spine_left"].value
    assert beveled["blade_mass"].value < plain["blade_mass"].value


def test_alternatives_are_shown_in_the_same_form(ask) -> None:
    answer = ask("tasks.fish-filleting=1")
    for other in answer.alternatives:
        if other.proposal is not None:
            assert (other.proposal.tip, other.proposal.distal_taper) == (
                answer.proposal.tip,
                answer.proposal.distal_taper,
            )


def test_the_section_is_the_same_whatever_the_form(ask) -> None:
    """Form goals speak after the section is chosen: they never move it."""
    one = ask("tasks.pocket-carry=1", "blade.profile=drop").proposal
    other = ask("tasks.pocket-carry=1", "blade.profile=straight-back", "blade.swedge=long").proposal
    for name in ("grind", "edge_angle_per_side_deg", "edge_thickness_mm", "stock_thickness_mm", "grind_line_mm"):
        assert getattr(one, name) == getattr(other, name)
