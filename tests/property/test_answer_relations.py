"""Relations between answers that hold whatever the numbers: what is varied is one thing, the rest is drawn."""

from __future__ import annotations

import tomllib
from itertools import pairwise
from pathlib import Path

import bevelwright_rules
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.service import Service, with_settings

CORE = Path(bevelwright_rules.__file__).parent / "core"
FEW, MANY = 2, 150
"""Examples in the suite, and by command."""
NOISE_POINTS = 0.5
"""What a search by samples may miss, and two grinds that are as good."""
STEP_DEG = 1.0
"""Two shop steps of an included angle."""

TASKS = [path.stem for path in sorted((CORE / "tables" / "tasks").glob("*.toml"))]
EACH = [
    task if task in ("food-prep", "game-dressing", "wood-splitting") else pytest.param(task, marks=pytest.mark.long)
    for task in TASKS
]
"""A few tasks in the suite, all by command."""
STEELS = ("1084", "o1", "440c", "1.4116", "5160", "52100", "d2", "a2")
Settings = tuple[str, ...]


@st.composite
def briefs(draw: st.DrawFn) -> Settings:
    """One or two tasks, a steel as it is usually run, an owner and their gear; sizes open."""
    first, second = draw(st.lists(st.sampled_from(TASKS), min_size=2, max_size=2, unique=True))
    share = draw(st.sampled_from((0.0, 0.2, 0.35)))
    tasks = (f"tasks.{first}={1 - share:g}", *((f"tasks.{second}={share:g}",) if share else ()))
    gear = draw(st.sampled_from(("bench-stones,strop", "ceramic-rod", "guided-fixture", "service", "pull-through")))
    skill = draw(st.sampled_from(("beginner", "practised", "expert")))
    steel = draw(st.sampled_from(STEELS))
    return (*tasks, f"steel.grade={steel}", f"owner.gear={gear}", f"owner.skill={skill}")


def every(examples: int):  # type: ignore[no-untyped-def]
    """A property over so many briefs, the same ones in every run."""

    def over(test):  # type: ignore[no-untyped-def]
        calm = settings(
            max_examples=examples, deadline=None, derandomize=True, database=None,
            suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
        )  # fmt: skip
        return calm(given(briefs())(test))

    return over


def both(check):  # type: ignore[no-untyped-def]
    """The check over a few briefs in the suite, over many by `pytest -m long`."""

    def short(service: Service, brief: Settings) -> None:
        check(service, brief)

    def long(service: Service, brief: Settings) -> None:
        check(service, brief)

    return every(FEW)(short), pytest.mark.long(every(MANY)(long))


def ask(service: Service, *told: str) -> Answer:
    """The answer as it stands, without how sure it is and what would flip it."""
    return next(service.answers(with_settings(Brief(), told), flips=False))


def same_blade(one: Answer, other: Answer) -> bool:
    """Whether two answers name the same blade."""
    return one.proposal == other.proposal


def _wishing_for_the_proposal(service: Service, brief: Settings) -> None:
    """Who wishes for what would have been proposed gets it, for as many points."""
    one = ask(service, *brief)
    if one.proposal is None or one.points is None:
        return
    other = ask(service, *brief, f"wishes.grind={one.proposal.grind}")
    assert other.points is not None
    assert other.points.total == pytest.approx(one.points.total, abs=NOISE_POINTS)
    assert other.proposal is not None
    assert other.proposal.edge_angle_included_deg == pytest.approx(one.proposal.edge_angle_included_deg, abs=STEP_DEG)


test_wishing_for_the_proposal_changes_nothing, test_wishing_for_the_proposal_changes_nothing_long = both(
    _wishing_for_the_proposal
)


def _doubled_shares(service: Service, brief: Settings) -> None:
    doubled = [
        f"{key}={2 * float(value):g}" if key.startswith("tasks.") else f"{key}={value}"
        for key, _, value in (setting.partition("=") for setting in brief)
    ]
    assert same_blade(ask(service, *brief), ask(service, *doubled))


test_doubled_shares_are_the_same_brief, test_doubled_shares_are_the_same_brief_long = both(_doubled_shares)


def _mirrored_hands(service: Service, brief: Settings) -> None:
    """The other hand gets the mirror image: the other side where one is ground, otherwise the same blade."""
    one, other = (ask(service, *brief, f"owner.hand={hand}") for hand in ("left", "right"))
    assert one.points == other.points
    if one.proposal is None or other.proposal is None:
        assert one.proposal is other.proposal
        return
    mirror = {"left": "right", "right": "left", "both": "both"}
    assert other.proposal.side == mirror[one.proposal.side]
    alike = ("grind", "edge_angle_included_deg", "edge_thickness_mm", "stock_thickness_mm", "grind_line_mm")
    assert [getattr(one.proposal, key) for key in alike] == [getattr(other.proposal, key) for key in alike]


test_another_hand_gets_the_mirror_image, test_another_hand_gets_the_mirror_image_long = both(_mirrored_hands)


def _more_wheels(service: Service, brief: Settings) -> None:
    """A shop that can make more never has worse to offer."""
    one = ask(service, *brief, "workshop.wheels_mm=100")
    other = ask(service, *brief, "workshop.wheels_mm=50,100,250,400")
    if one.points is None:
        return
    assert other.points is not None
    assert other.points.total >= one.points.total - NOISE_POINTS


test_more_wheels_never_cost_points, test_more_wheels_never_cost_points_long = both(_more_wheels)


@pytest.fixture(scope="module")
def changed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Service]:
    """Services whose steels are all tougher, and whose stones and rods are all finer, by a third."""
    out = {}
    for name in ("tough", "fine"):
        folder = tmp_path_factory.mktemp(name)
        (folder / "pack.toml").write_text(f'id = "{name}"\ntitle = "x"\nversion = "1"\n', encoding="utf-8")
        kind, key = ("steels", "k_ic_mpa_sqrt_m") if name == "tough" else ("gear", "apex_radius_um")
        factor = 4 / 3 if name == "tough" else 3 / 4
        (folder / "tables" / kind).mkdir(parents=True)
        for path in (CORE / "tables" / kind).glob("*.toml"):
            lines = [
                _scaled(line, key, factor) if line.startswith(f"{key} = ") else line
                for line in path.read_text(encoding="utf-8").splitlines()
            ]
            (folder / "tables" / kind / path.name).write_text("\n".join(lines) + "\n", encoding="utf-8")
        out[name] = Service(packs=[str(folder)], own_packs=False)
    return out


def _scaled(line: str, key: str, factor: float) -> str:
    values = tomllib.loads(line)[key]
    numbers = ", ".join(f"{part} = {values[part] * factor:.6g}" for part in ("likely", "low", "high"))
    return f'{key} = {{ {numbers}, basis = {{ level = "estimate" }} }}'


@pytest.mark.parametrize("brief_of", EACH)
@pytest.mark.parametrize(
    ("change", "steel", "gear"), [("tough", "d2", "bench-stones,strop"), ("fine", "440c", "bench-stones")]
)
def test_what_makes_an_edge_hold_better_never_makes_it_blunter(
    service: Service, changed: dict[str, Service], brief_of: str, change: str, steel: str, gear: str
) -> None:
    """All else as it is: where a crack is stopped sooner, or the apex comes finer off the stone, no edge is steeper."""
    told = (f"tasks.{brief_of}=1", f"owner.gear={gear}", f"steel.grade={steel}", "wishes.grind=saber-flat")
    one, other = ask(service, *told), ask(changed[change], *told)
    assert one.proposal is not None
    assert other.proposal is not None
    assert other.proposal.edge_angle_included_deg <= one.proposal.edge_angle_included_deg + STEP_DEG


@pytest.mark.parametrize(
    "steel", ["5160", *(pytest.param(steel, marks=pytest.mark.long) for steel in ("1084", "52100"))]
)
def test_harder_use_never_has_a_thinner_edge(service: Service, steel: str) -> None:
    """Common practice: from slicing over the kitchen and game to chopping, edges grow thicker and steeper."""
    order = ("fine-slicing", "food-prep", "game-dressing", "heavy-chopping")
    blades = [ask(service, f"tasks.{task}=1", f"steel.grade={steel}", "wishes.grind=full-flat") for task in order]
    edges = [blade.proposal for blade in blades if blade.proposal is not None]
    assert len(edges) == len(order)
    for softer, harder in pairwise(edges):
        assert harder.edge_thickness_mm >= softer.edge_thickness_mm - 0.05
        assert harder.edge_angle_included_deg >= softer.edge_angle_included_deg - STEP_DEG
