"""Moving dimensions, what that costs, going back, and blades side by side."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from textual.pilot import Pilot

from recommender.service import Service
from recommender.tui.app import BevelwrightApp


async def moved(tui: SimpleNamespace, app: BevelwrightApp, pilot: Pilot[None], name: str, *keys: str) -> None:
    app.action_show_tab("try")
    await pilot.pause()
    tui.stepper(app, name).focus()
    await pilot.press(*keys)
    await tui.answered(app, pilot)


def test_a_dimension_moves_in_shop_steps_and_says_what_it_costs(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.answer is not None
        first = app.answer.proposal
        assert first is not None
        await moved(tui, app, pilot, "edge_thickness_mm", "right", "right", "right")
        assert app.trials.ready is not None
        trial = app.trials.ready.trial
        assert trial.proposal.edge_thickness_mm == round(first.edge_thickness_mm + 0.15, 6)
        assert trial.points == service.briefs.weigh(app.brief, trial.proposal).points
        shown = tui.text_of(app, "#part-try")
        assert "against the proposal" in shown
        assert "▼ worse: " in shown
        assert tui.text_of(app, "#headline").startswith("Trial: ")
        assert "Dotted: the proposal" in tui.text_of(app, "#part-blade")

    tui.drive(service, flow)


def test_steps_quicker_than_they_can_be_weighed_are_all_taken(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.trials.comparison is not None
        assert app.trials.ready is not None
        knob = next(k for k in app.trials.ready.knobs if k.name == "edge_thickness_mm")
        for _ in range(3):  # no message can come in between
            app.trials.step("edge_thickness_mm", 1)
        assert app.trials.comparison.values["edge_thickness_mm"] == pytest.approx(float(knob.value) + 3 * knob.step)
        await tui.answered(app, pilot)

    tui.drive(service, flow)


def test_one_key_goes_back_for_a_row_and_for_all(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.trials.comparison is not None
        await moved(tui, app, pilot, "edge_thickness_mm", "right")
        await moved(tui, app, pilot, "edge_angle_per_side_deg", "right")
        assert set(app.trials.comparison.values) == {"edge_thickness_mm", "edge_angle_per_side_deg"}
        await pilot.press("backspace")
        await tui.answered(app, pilot)
        assert set(app.trials.comparison.values) == {"edge_thickness_mm"}
        await pilot.press("escape")
        await tui.answered(app, pilot)
        assert not app.trials.comparison.moved
        assert "This is the proposal" in tui.text_of(app, "#part-try")
        assert not tui.text_of(app, "#headline").startswith("Trial")

    tui.drive(service, flow)


def test_another_grind_starts_from_its_best_and_has_its_own_rows(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.answer is not None
        await moved(tui, app, pilot, "grind", "right")
        other = next(a for a in app.answer.alternatives if a.proposal is not None)
        assert app.trials.ready is not None
        assert app.trials.ready.trial.proposal == other.proposal
        assert [s.what for s in app.query("#part-try Stepper")] == ["grind", *(k.name for k in app.trials.ready.knobs)]
        await moved(tui, app, pilot, "grind", "backspace")
        assert app.trials.ready.trial.proposal == app.answer.proposal

    tui.drive(service, flow)


def test_a_trial_that_cannot_be_ground_says_why(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.trials.comparison is not None
        app.trials.comparison.values.update(edge_angle_per_side_deg=8.0, stock_thickness_mm=11.5)
        app.trials.weigh()
        await tui.answered(app, pilot)
        await moved(tui, app, pilot, "stock_thickness_mm", "right")
        assert app.trials.ready is not None
        assert app.trials.ready.trial.refused
        assert "Cannot be ground: the primary grind would be as steep" in tui.text_of(app, "#part-try")
        assert "cannot be ground" in tui.text_of(app, "#headline")
        app.action_keep_trial()
        assert app.trials.comparison is not None
        assert app.trials.comparison.kept == []

    tui.drive(service, flow)


def test_up_to_four_blades_stand_side_by_side(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.trials.comparison is not None
        await moved(tui, app, pilot, "edge_thickness_mm", "right", "right")
        await pilot.press("f12")
        await tui.answered(app, pilot)
        assert len(app.trials.compared) == 4
        assert app.trials.compared[3][0] == "trial 1"
        app.action_show_tab("compare")
        await pilot.pause()
        shown = tui.text_of(app, "#part-compare")
        assert "trial 1" in shown
        assert "▼" in shown
        assert "better" in shown
        tui.stepper(app, "beside-2").focus()
        await pilot.press("backspace")
        await tui.answered(app, pilot)
        assert app.trials.compared[0][0] == "proposal"
        assert len(app.trials.compared) == 3

    tui.drive(service, flow)


def test_a_kept_trial_outlives_another_question(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        await moved(tui, app, pilot, "edge_thickness_mm", "right")
        await pilot.press("f12")
        await tui.answered(app, pilot)
        tui.row(app, "tasks.food-prep").focus()
        await pilot.press("right")
        await tui.answered(app, pilot)
        assert app.trials.comparison is not None
        assert len(app.trials.comparison.kept) == 1
        assert not app.trials.comparison.moved
        assert "trial 1" in app.trials.comparison.choices(None)

    tui.drive(service, flow)


def test_nothing_to_try_where_nothing_fits(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        app.form.fill({"wishes.grind": "full-hollow", "blade.height_mm": "50", "workshop.wheels_mm": "50"})
        await tui.answered(app, pilot)
        assert app.answer is not None
        assert app.answer.proposal is None
        for part in ("#part-try", "#part-compare"):
            assert "Nothing fits" in tui.text_of(app, part)
        await pilot.press("f8", "f12", "escape", "f9")

    tui.drive(service, flow)


def test_ghosts_turn_and_end_with_none(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        assert app.answer is not None
        count = sum(a.proposal is not None for a in app.answer.alternatives)
        await pilot.press("f8")
        assert "Dotted: the best" in tui.text_of(app, "#part-blade")
        await pilot.press(*["f8"] * count)
        assert "Dotted" not in tui.text_of(app, "#part-blade")

    tui.drive(service, flow)


def test_the_arrow_keys_stay_among_the_rows_and_no_blade_stands_twice(tui: SimpleNamespace, service: Service) -> None:
    async def flow(app: BevelwrightApp, pilot: Pilot[None]) -> None:
        before = dict(app.values)
        await moved(tui, app, pilot, "grind", *["down"] * 12, "right", *["up"] * 12)
        assert app.focused is tui.stepper(app, "grind")
        assert app.values == before, "the form is not touched"
        app.action_show_tab("compare")
        await pilot.pause()
        for _ in range(6):
            tui.stepper(app, "beside-2").focus()
            await pilot.press("right")
            await tui.answered(app, pilot)
            assert app.trials.comparison is not None
            picked = [p for p in app.trials.comparison.picks if p != "nothing"]
            assert len(picked) == len(set(picked))

    tui.drive(service, flow)
