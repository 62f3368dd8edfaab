"""Goals that are ratios to the usual blade: what cancels, what goes on counting, what windows are worth.

Expected values are worked by hand from the definition: a place in a window is log(ratio/from) / log(to/from).
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from math import log, sqrt
from pathlib import Path

import bevelwright_rules
import numpy as np
import pytest

from recommender.engine.answer.recommend import surveyed
from recommender.engine.intake.case import Case
from recommender.engine.search.measuring import Measured
from recommender.engine.search.ranking import bests_of
from recommender.engine.search.scoring import MOST_BELOW, GoalScore, Scores, reached_at, score
from recommender.engine.search.usual_blade import Coefficients, UsualFigures, usual_designs
from recommender.engine.sensitivity import uncertainty
from recommender.errors import PackError
from recommender.models.base import Basis, Quantity
from recommender.models.brief import Brief
from recommender.plugin.api import TaskLoad
from recommender.service import Service, with_settings

CORE = Path(bevelwright_rules.__file__).parent / "core"
TASKS = sorted(path.stem for path in (CORE / "tables" / "tasks").glob("*.toml"))


def _case(service: Service, *settings: str) -> Case:
    return service.briefs.case(with_settings(Brief(), settings))


def _usual(service: Service, task: str, *settings: str, **changes: float) -> tuple[Case, Measured]:
    """The usual blade of a task as a candidate for it, with some columns changed."""
    usual = service.knowledge.tasks[task].usual_blade
    assert usual is not None
    own = (f"steel.grade={usual.steel}", f"steel.hardness_hrc={usual.hardness_hrc.likely}", "owner.skill=practised")
    case = _case(service, f"tasks.{task}=1", *own, f"owner.gear={','.join(usual.gear)}", *settings)
    grind = case.registry.grinds[usual.grind]
    designs = usual_designs(grind.item, usual, case.knowledge)
    designs = grind.item.complete(designs.changed(**changes)) if changes else designs
    measured = Measured.of(grind, designs, case.resolved.context(grind.item), case.registry)
    assert measured is not None
    return case, measured


def _goal(scores: Scores, rule: str) -> GoalScore:
    return next(goal for goal in scores.goals if goal.rule.rule.id == rule)


def _against(scores: Scores) -> list[GoalScore]:
    return [goal for goal in scores.goals if goal.of_usual is not None]


@pytest.mark.parametrize("task", TASKS)
def test_the_usual_blade_is_neither_best_nor_worst(service: Service, task: str) -> None:
    case, measured = _usual(service, task)
    for goal in _against(score(measured, case.rules)):
        effect = goal.rule.rule.effect
        assert goal.of_usual == pytest.approx(1.0, abs=1e-12)
        assert goal.reached == pytest.approx(log(1 / effect.from_) / log(effect.to / effect.from_))
        assert 0.1 < goal.reached[0] < 0.9


def test_what_is_the_blades_own_goes_on_counting(service: Service) -> None:
    def force(*settings: str, **changes: float) -> float:
        case, measured = _usual(service, "pocket-carry", *settings, **changes)
        found = _goal(score(measured, case.rules), "cuts-easily/pocket-carry").of_usual
        assert found is not None
        return float(found[0])

    assert force() == pytest.approx(1)
    assert force(edge_angle_per_side_deg=25.0) > 1.02
    assert force(edge_thickness_mm=0.3) < 0.99
    assert force("owner.gear=none") > 1.2  # a blunter apex: common practice that a dull knife cuts worse
    assert force("owner.gear=bench-stones,strop") < 0.99


def test_what_model_and_material_leave_open_cancels(service: Service) -> None:
    """A hide twice as tough takes more force, of both blades alike: the ratio moves a tenth of what the force does."""
    case, measured = _usual(service, "game-dressing", edge_thickness_mm=0.35)
    load = case.resolved.tasks[0]

    def times(q: Quantity, by: float) -> Quantity:
        return Quantity(likely=q.likely * by, low=q.low * by, high=q.high * by, basis=Basis(level="estimate"))

    tough = load.material.model_copy(update={"toughness_j_per_m2": times(load.material.toughness_j_per_m2, 2.0)})
    hide = TaskLoad(load.task, 1.0, tough)
    usual = UsualFigures(case.knowledge, case.registry, Coefficients({"game-dressing": hide}))
    other = Measured.of(measured.grind, measured.designs, replace(measured.context, tasks=(hide,)), case.registry)
    assert other is not None
    was = _goal(score(measured, case.rules), "cuts-easily/game-dressing")
    now = _goal(score(other, case.rules, usual=usual), "cuts-easily/game-dressing")
    assert was.of_usual is not None
    assert now.of_usual is not None
    assert log(now.value[0] / was.value[0]) > 0.3
    assert abs(log(now.of_usual[0] / was.of_usual[0])) < 0.1 * log(now.value[0] / was.value[0])


def test_hardly_a_draw_saturates_a_goal_against_the_usual_blade(
    service: Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of the draws of what is proposed; of absolute windows of force it was 39 to 89 of 100."""
    kept: list[Scores] = []

    def spied(*given: object, **named: object) -> Scores:
        kept.append(score(*given, **named))  # type: ignore[arg-type]
        return kept[-1]

    monkeypatch.setattr(uncertainty, "score", spied)
    for task in ("food-prep", "game-dressing", "heavy-chopping"):
        case = _case(service, f"tasks.{task}=1")
        fields = surveyed(case)
        bests = sorted(bests_of(fields, case), key=lambda best: -best.points)
        uncertainty.resample(bests, fields, case)
        force = _goal(kept.pop(), f"cuts-easily/{task}").reached[: uncertainty.DRAWS]
        assert np.mean((force <= 0) | (force >= 1)) < 0.1, task
        assert np.ptp(force) > 0, "gear is drawn, and is the blade's own"


def test_a_worse_figure_always_counts_for_something() -> None:
    places = np.array([-np.inf, -1e6, -30.0, -1.0, -0.3, -1e-9, 0.0, 0.4, 1.0, 7.0])
    worth = reached_at(places)
    assert (np.diff(worth)[:-1] > 0).all()
    assert worth[0] == -MOST_BELOW
    assert worth[4] == pytest.approx(-MOST_BELOW / 2)
    assert worth[5:8] == pytest.approx([0.0, 0.0, 0.4], abs=1e-8)
    assert worth[8] == worth[9] == 1.0
    assert reached_at(np.array([np.nan])) == -MOST_BELOW


RULE = """[[rule]]
id = "light"
title = "Planted"
kind = "goal"
{fires}
metric = "cut_force"
of_usual = true
from = {worst}
to = {best}
weight = 1.0
because = "Planted to be read."
basis = {{ level = "estimate" }}
"""


def _pack(folder: Path, fires: str, worst: float = 1.5, best: float = 0.7) -> str:
    (folder / "rules").mkdir(parents=True)
    (folder / "pack.toml").write_text(f'id = "{folder.name}"\ntitle = "Planted"\nversion = "1"\n')
    (folder / "rules" / "light.toml").write_text(RULE.format(fires=fires, worst=worst, best=best))
    return str(folder)


@pytest.mark.parametrize(("worst", "best"), [(1.5, 1.0), (0.9, 0.7), (1.2, 2.0), (1.5, -0.7), (0.0, 2.0)])
def test_no_window_begins_or_ends_at_the_usual_blade(tmp_path: Path, worst: float, best: float) -> None:
    with pytest.raises(PackError, match="one of from and to between 0 and 1, the other above 1"):
        Service(strict=True, packs=[_pack(tmp_path / "own", 'tasks = ["prying"]', worst, best)]).knowledge  # noqa: B018 - loaded when asked for


def test_a_goal_against_the_usual_blade_names_its_tasks(tmp_path: Path) -> None:
    with pytest.raises(PackError, match="tasks, whose usual blades it is of"):
        Service(strict=True, packs=[_pack(tmp_path / "own", "always = true")]).knowledge  # noqa: B018


def test_of_several_tasks_it_is_the_geometric_mean_by_their_shares(tmp_path: Path) -> None:
    own = Service(strict=True, packs=[_pack(tmp_path / "own", 'tasks = ["food-prep", "game-dressing"]')])
    case = own.briefs.case(with_settings(Brief(), ["tasks.food-prep=1", "tasks.game-dressing=1"]))
    grind = case.registry.grinds["full-flat"]
    usual = own.knowledge.tasks["food-prep"].usual_blade
    assert usual is not None
    measured = Measured.of(
        grind, usual_designs(grind.item, usual, own.knowledge), case.resolved.context(grind.item), case.registry
    )
    assert measured is not None
    scores = score(measured, case.rules)
    food, game, both = (
        _goal(scores, name).of_usual for name in ("cuts-easily/food-prep", "cuts-easily/game-dressing", "light")
    )
    assert food is not None
    assert game is not None
    assert both == pytest.approx(sqrt(food[0] * game[0]))


def _task_of_0_1(folder: Path, id_: str) -> Path:
    """A copy of a shipped task as files of 0.1 had them."""
    text = (CORE / "tables" / "tasks" / "food-prep.toml").read_text(encoding="utf-8")
    before = text.split("\n[usual_blade]")[0].replace('id = "food-prep"', f'id = "{id_}"')
    assert "usual_blade" not in tomllib.loads(before)
    (folder / "tables" / "tasks").mkdir(parents=True)
    (folder / "tables" / "tasks" / f"{id_}.toml").write_text(before, encoding="utf-8")
    return folder


def test_a_task_of_0_1_that_replaces_one_keeps_its_usual_blade(tmp_path: Path, service: Service) -> None:
    folder = _task_of_0_1(tmp_path / "own", "food-prep")
    (folder / "pack.toml").write_text('id = "own"\ntitle = "Planted"\nversion = "1"\n')
    own = Service(strict=True, packs=[str(folder)])
    assert own.knowledge.tasks["food-prep"].usual_blade == service.knowledge.tasks["food-prep"].usual_blade


def test_a_task_without_one_is_told_and_takes_no_goal_against_it(tmp_path: Path) -> None:
    folder = _task_of_0_1(tmp_path / "own", "picnics")
    (folder / "pack.toml").write_text('id = "own"\ntitle = "Planted"\nversion = "1"\n')
    found = Service(strict=True).rules.check([str(folder)]).findings
    assert "no-usual-blade" in [finding.id for finding in found if "picnics" in finding.says]
    (folder / "rules").mkdir()
    rule = RULE.format(fires='tasks = ["picnics"]', worst=1.5, best=0.7)
    (folder / "rules" / "light.toml").write_text(rule)
    with pytest.raises(PackError, match="picnics has no usual blade"):
        Service(strict=True, packs=[str(folder)]).knowledge  # noqa: B018


def test_a_usual_blade_that_nobody_has_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "own"
    (folder / "tables" / "tasks").mkdir(parents=True)
    (folder / "pack.toml").write_text('id = "own"\ntitle = "Planted"\nversion = "1"\n')
    text = (CORE / "tables" / "tasks" / "food-prep.toml").read_text(encoding="utf-8")
    wrong = text.replace("{ likely = 56, low = 54, high = 58", "{ likely = 66, low = 54, high = 68").replace(
        "edge_thickness_mm = { likely = 0.3, low = 0.2, high = 0.45",
        "edge_thickness_mm = { likely = 3, low = 2, high = 4",
    )
    (folder / "tables" / "tasks" / "food-prep.toml").write_text(wrong, encoding="utf-8")
    told = [f.says for f in Service(strict=True).rules.check([str(folder)]).findings if f.id == "doubtful-usual-blade"]
    assert [says.partition(": ")[2] for says in told] == [
        "the edge is thicker than the bar",
        "66 HRC, and 1.4116 (X50CrMoV15) has 54 to 58",
    ]
