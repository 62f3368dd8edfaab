"""Slips of the pen and of thought, planted all together in one pack: each is told, and of the rules beside them none.

The first part has the kinds that reviewers of rules named, the second twenty of our own. They are chosen by who wrote
the check: what they show is that these kinds are found, not what share of all slips is.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import bevelwright_rules
import numpy as np
import pytest

from recommender.engine.audit.checks.check import CheckReport
from recommender.engine.audit.checks.domains import Domains
from recommender.engine.audit.checks.probe import few
from recommender.engine.audit.checks.reachability import goals_in_vain, shut_everything_out
from recommender.models.brief import Brief
from recommender.service import Service, with_settings

CORE = Path(bevelwright_rules.__file__).parent / "core"


def rule(id_: str, kind: str, *lines: str, **keys: str) -> str:
    """A sound rule but for what its lines say."""
    said = {
        "title": f'"Planted as {id_}"',
        "because": f'"It was planted as {id_} to be found."',
        "basis": '{ level = "common practice" }',
        **keys,
    }
    own = "\n".join((*lines, *(f"{key} = {value}" for key, value in said.items())))
    return f'[[rule]]\nid = "{id_}"\nkind = "{kind}"\n{own}\n'


def goal(
    id_: str, metric: str, low: float, high: float, weight: float = 1.0, tasks: str = "prying", **keys: str
) -> str:
    lines = (f'tasks = ["{tasks}"]', f'metric = "{metric}"', f"from = {low}", f"to = {high}", f"weight = {weight}")
    return rule(id_, "goal", *lines)


def when(condition: str, fires: str, silent: str) -> tuple[str, str]:
    examples = f"[{{ facts = {{ {fires} }}, fires = true }}, {{ facts = {{ {silent} }}, fires = false }}]"
    return f"when = {condition}", f"examples = {examples}"


FLAT = when('{ field = "design.parent", eq = "flat" }', '"design.parent" = "flat"', '"design.parent" = "convex"')
EXPERT, BEGINNER = (f'{{ field = "brief.owner.skill", eq = "{skill}" }}' for skill in ("expert", "beginner"))
IS_SCANDI = '{ field = "design.grind", eq = "scandi" }'
SCANDI = when(IS_SCANDI, '"design.grind" = "scandi"', '"design.grind" = "convex"')
SCANDI_PRIES = when(
    IS_SCANDI,
    '"brief.tasks" = ["prying"], "design.grind" = "scandi"',
    '"brief.tasks" = ["prying"], "design.grind" = "convex"',
)
SKILLED = when(
    '{ field = "brief.owner.skill", eq = "expert" }',
    '"brief.owner.skill" = "expert"',
    '"brief.owner.skill" = "beginner"',
)
HARD = '{ field = "brief.steel.hardness_hrc", gt = 590.0 }'
PLANTED: dict[str, tuple[str, str]] = {
    # Named by reviewers.
    "force-reversed": ("turned-round", goal("force-reversed", "cut_force", 2.0, 4.0)),
    "edge-of-0.02-mm": (
        "implausible",
        rule("edge-of-0.02-mm", "limit", 'tasks = ["prying"]', 'field = "design.edge_thickness_mm"', "max = 0.02"),
    ),
    "hrc-of-590": (
        "never-fires",
        rule("hrc-of-590", "limit", *when(HARD, "", ""), 'metric = "stiffness"', "min = 0.1"),
    ),
    "never-oil": (
        "contradicts",
        rule("never-oil", "caution", "always = true", 'text = "Never oil the blade after work."'),
    ),
    "opposite-goals": ("pulls-apart", goal("opposite-goals", "mass_per_length", 1.8, 0.9, tasks="heavy-chopping")),
    "force-again": ("near-copy", goal("force-again", "cut_force", 9.0, 7.1)),
    "lean-of-nothing": ("moves-nothing", rule("lean-of-nothing", "lean", *SKILLED, "points = 3.0")),
    "book": (
        "vague-source",
        rule(
            "book",
            "advice",
            "always = true",
            'text = "Wipe it dry with a rag."',
            basis='{ level = "published", citation = "a book" }',
        ),
    ),
    "template": (
        "template-words",
        rule(
            "template",
            "advice",
            "always = true",
            'text = "Dry the scabbard in the sun."',
            because='"One or two sentences that a customer can read."',
        ),
    ),
    "titled": (
        "same-title",
        rule("titled", "advice", "always = true", 'text = "Keep the strop clean of grit."', title='"Still cuts"'),
    ),
    "per-side-for-included": (
        "implausible",
        rule(
            "per-side-for-included",
            "limit",
            'tasks = ["prying"]',
            'field = "design.edge_angle_per_side_deg"',
            "min = 35.0",
        ),
    ),
    "heavier-than-all": ("implausible", goal("heavier-than-all", "pry_margin", 1.0, 5.0, 40.0)),
    "always-full": ("tells-nothing-apart", goal("always-full", "pry_margin", 0.5, 0.9)),
    # Twenty of our own.
    "margin-reversed": ("turned-round", goal("margin-reversed", "edge_margin", 2.4, 0.9, tasks="brush-clearing")),
    "thickness-reversed": (
        "turned-round",
        goal("thickness-reversed", "thickness_5mm", 0.5, 1.3, tasks="fish-filleting"),
    ),
    "retention-again": (
        "near-copy",
        goal("retention-again", "edge_retention", 9000.0, 12200.0, tasks="cardboard-rope"),
    ),
    "tip-again": ("near-copy", goal("tip-again", "tip_strength", 41.0, 60.0)),
    "stiff-and-limp": ("pulls-apart", goal("stiff-and-limp", "stiffness", 0.2, 0.9, tasks="fish-filleting")),
    "angle-of-200": (
        "nothing-passes",
        rule("angle-of-200", "limit", 'tasks = ["prying"]', 'field = "design.edge_angle_per_side_deg"', "min = 200.0"),
    ),
    "stock-in-inches": (
        "implausible",
        rule("stock-in-inches", "limit", 'tasks = ["prying"]', 'field = "design.stock_thickness_mm"', "min = 0.16"),
    ),
    "lean-on-task": ("moves-nothing", rule("lean-on-task", "lean", 'tasks = ["prying"]', "points = 2.0")),
    "lean-always": ("moves-nothing", rule("lean-always", "lean", "always = true", "points = 1.0")),
    "flat-twice": ("near-copy", rule("flat-twice", "lean", *FLAT, "points = 1.5")),
    "flat-back": ("pulls-apart", rule("flat-back", "lean", *FLAT, "points = -0.5")),
    "empty-goal": ("tells-nothing-apart", goal("empty-goal", "split_depth", 60.0, 45.0, tasks="wood-splitting")),
    "unsourced": (
        "no-source",
        rule(
            "unsourced",
            "advice",
            "always = true",
            'text = "Let it cool in still air."',
            basis='{ level = "published" }',
        ),
    ),
    "seen-nowhere": (
        "no-source",
        rule(
            "seen-nowhere",
            "advice",
            "always = true",
            'text = "Cover it in transit always."',
            basis='{ level = "estimate", known = "seen" }',
        ),
    ),
    "caution-template": (
        "template-words",
        rule("caution-template", "caution", "always = true", 'text = "Say what can hurt, and what to do instead."'),
    ),
    "nearly-said": (
        "same-words",
        rule("nearly-said", "caution", 'tasks = ["prying"]', 'text = "Wear gloves of leather and look at both hands."'),
    ),
    "skill-that-is-two": (
        "never-fires",
        rule(
            "skill-that-is-two",
            "advice",
            *when(f"{{ all = [{EXPERT}, {BEGINNER}] }}", "", ""),
            'text = "Take a lesson on the stone."',
        ),
    ),
    "title-of-a-caution": (
        "same-title",
        rule(
            "title-of-a-caution",
            "advice",
            "always = true",
            'text = "Ask the smith for the heat."',
            title='"sparks set fires"',
        ),
    ),
    "line-of-150-percent": (
        "shuts-out-nothing",
        rule(
            "line-of-150-percent",
            "limit",
            'tasks = ["leather-paring"]',
            'field = "design.grind_line_share"',
            "max = 1.5",
        ),
    ),
    "strict-again": (
        "implied",
        rule("strict-again", "limit", 'tasks = ["prying"]', 'metric = "pry_margin"', "min = 0.9"),
    ),
    "wrong-example": (
        "example-fails",
        rule(
            "wrong-example",
            "advice",
            'text = "Hold it lower."',
            *when(
                '{ field = "design.parent", eq = "flat" }', '"design.parent" = "convex"', '"design.parent" = "hollow"'
            ),
        ),
    ),
}
BESIDE = (
    rule("do-oil", "caution", "always = true", 'text = "Do oil the blade after work."')
    + rule("said-before", "caution", 'tasks = ["prying"]', 'text = "Wear gloves of leather and look after both hands."')
    + rule("flat-once", "lean", *FLAT, "points = 1.0")
    + goal("force-before", "cut_force", 9.0, 7.0)
    + goal("retention-before", "edge_retention", 9000.0, 12000.0, tasks="cardboard-rope")
    + goal("tip-before", "tip_strength", 40.0, 60.0)
    + rule("deep-split", "limit", 'tasks = ["wood-splitting"]', 'metric = "split_depth"', "max = 30.0")
    + goal("sound-goal", "sharpening_minutes", 60.0, 10.0, 0.5)
)
"""What some of them are set against, and a sound rule."""
NAMED = 13


def write(folder: Path, rules: str, more: str = "") -> None:
    """A pack of these rules."""
    (folder / "rules").mkdir(parents=True)
    (folder / "pack.toml").write_text(f'id = "mine"\ntitle = "Planted"\nversion = "1"\n{more}', encoding="utf-8")
    (folder / "rules" / "planted.toml").write_text(rules, encoding="utf-8")


def checked(service: Service, folder: Path, rules: str, more: str = "", *, deep: bool = False) -> CheckReport:
    write(folder, rules, more)
    return service.rules.check([str(folder)], deep=deep)


@pytest.fixture(scope="module")
def found(service: Service, tmp_path_factory: pytest.TempPathFactory) -> dict[str, set[str]]:
    """Kinds of findings by the rule that they are told of first."""
    every = "\n".join((*(text for _, text in PLANTED.values()), BESIDE))
    out: dict[str, set[str]] = {}
    for finding in checked(service, tmp_path_factory.mktemp("planted") / "mine", every).findings:
        for id_ in finding.rules[:1] or ("",):
            out.setdefault(id_, set()).add(finding.id)
    return out


@pytest.mark.parametrize("id_", PLANTED)
def test_a_planted_defect_is_found(found: dict[str, set[str]], id_: str) -> None:
    kind = PLANTED[id_][0]
    pairs = {
        "never-oil": "do-oil",
        "nearly-said": "said-before",
        "flat-back": "flat-once",
        "force-again": "force-before",
        "retention-again": "retention-before",
        "tip-again": "tip-before",
    }
    assert kind in found.get(id_, set()) | found.get(pairs.get(id_, id_), set())


def test_nothing_is_said_of_the_sound_rule_nor_of_shipped_ones(found: dict[str, set[str]]) -> None:
    assert "sound-goal" not in found
    planted = {*PLANTED, "do-oil", "said-before", "flat-once", "force-before", "retention-before", "tip-before", ""}
    planted.add("deep-split")
    others = {id_: kinds for id_, kinds in found.items() if id_ not in planted}
    # Of shipped rules only that planted ones stand against them, or add up with them.
    against = {"pulls-apart", "near-copy", "tells-nothing-apart", "implied", "duplicate", "leans-clipped"}
    assert set().union(*others.values()) <= against


TABLE = """[[rule]]
id = "planted-table"
title = "Planted as a table"
kind = "goal"
metric = "{metric}"
because = "It was planted as a table to be found."
basis = {{ level = "common practice" }}
row = [
{rows}
]
"""


def table(metric: str, *rows: tuple[str, float, float]) -> str:
    lines = (
        f'  {{ task = "{task}", from = {low}, to = {high}, weight = 1.0, title = "Row of {task}" }},'
        for task, low, high in rows
    )
    return TABLE.format(metric=metric, rows="\n".join(lines))


WINDOWS = ("strap-cutting", 0.02, 0.4), ("heavy-chopping", 0.03, 0.5), ("wood-carving", 0.04, 0.6)


@pytest.mark.parametrize("row", range(3))
@pytest.mark.parametrize(("metric", "kind"), [("ground_share", "against-its-table"), ("flat_back", "turned-round")])
def test_a_row_that_is_turned_round_against_its_table(
    service: Service, tmp_path: Path, row: int, metric: str, kind: str
) -> None:
    """Of a figure with a better side the row is wrong by that, of another by the rows beside it."""
    rows = [(task, high, low) if k == row else (task, low, high) for k, (task, low, high) in enumerate(WINDOWS)]
    findings = checked(service, tmp_path / "mine", table(metric, *rows)).findings
    assert [(f.id, f.rules[0]) for f in findings] == [(kind, f"planted-table/{WINDOWS[row][0]}")]


@pytest.mark.parametrize("rows", [WINDOWS, (WINDOWS[0], ("food-prep", 0.4, 0.02))])
def test_tables_that_say_what_they_mean(
    service: Service, tmp_path: Path, rows: tuple[tuple[str, float, float]]
) -> None:
    """All one way, or of two rows each its own: nobody can say which of two is wrong."""
    assert checked(service, tmp_path / "mine", table("ground_share", *rows)).findings == ()


@pytest.mark.parametrize("sign", [1, -1])
def test_leans_beyond_their_cap_are_told_of_the_pack_that_adds_the_last(
    service: Service, tmp_path: Path, sign: int
) -> None:
    """The heavier lean stands in the pack below, whose author did nothing wrong."""
    below, over = tmp_path / "below", tmp_path / "over"
    heavy = rule("heavy", "lean", *SCANDI, f"points = {sign * 7.0}")
    checked(service, below, heavy)
    (below / "pack.toml").write_text('id = "below"\ntitle = "Below"\nversion = "1"\n', encoding="utf-8")
    (over / "rules").mkdir(parents=True)
    (over / "pack.toml").write_text('id = "over"\ntitle = "Over"\nversion = "1"\n', encoding="utf-8")
    light = rule("light", "lean", 'tasks = ["prying"]', *SCANDI_PRIES, f"points = {sign * 6.0}")
    (over / "rules" / "light.toml").write_text(light, encoding="utf-8")
    found = Service(packs=[str(below)]).rules.check([str(over)]).findings
    (clipped,) = [f for f in found if f.id == "leans-clipped"]
    assert {"light", "heavy"} <= set(clipped.rules)
    assert clipped.file == "over/rules/light.toml"
    assert f"over brings {sign * 6:+g} of it" in clipped.says


def test_every_problem_of_a_broken_file_is_told(service: Service, tmp_path: Path) -> None:
    text = goal("one", "cut_forse", 4, 2) + goal("two", "cut_force", 4, 2, tasks="skinning") + rule("three", "leen")
    report = checked(service, tmp_path / "mine", text)
    assert {f.rules[0] for f in report.findings if f.level == "error"} == {"one", "two", "three"}


def test_a_guard_that_is_switched_off_wants_a_reason(service: Service, tmp_path: Path) -> None:
    off = 'switch_off = ["tip-bears-prying", { id = "prying-bears-moment", because = "Ours are tested." }]\n'
    findings = checked(service, tmp_path / "mine", BESIDE, off).findings
    assert [f.rules for f in findings if f.id == "no-reason"] == [("tip-bears-prying",)]


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("tables/tasks/prying.toml", "cut_depth_mm = { likely = 10,", "cut_depth_mm = { likely = 1500,"),
        ("tables/steels/1084.toml", "usual_hrc = 60", "usual_hrc = 600"),
    ],
)
def test_a_slip_of_the_unit_in_a_table(service: Service, tmp_path: Path, file: str, old: str, new: str) -> None:
    copy = tmp_path / "core"
    shutil.copytree(CORE, copy)
    path = copy / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    text = text.replace(old, new)
    path.write_text(text.replace("high = 20, basis", "high = 1500, basis", 1), encoding="utf-8")
    findings = service.rules.check([str(copy)]).findings
    assert any(f.id in ("implausible", "cannot-be-read") and f.file.endswith(file) for f in findings)


def test_deep_finds_what_only_computing_shows(service: Service, tmp_path: Path) -> None:
    text = (
        goal("never-computed", "split_depth", 26.0, 7.0, tasks="food-prep")
        + goal("full-for-all", "cut_force", 400.0, 300.0, tasks="strap-cutting")
        + goal("far-too-wide", "mass_per_length", 0.0, 1e5, tasks="strap-cutting")
        + rule(
            "full-for-two",
            "goal",
            'tasks = ["game-dressing", "pocket-carry"]',
            'metric = "mass_per_length"',
            "from = 90.0",
            "to = 80.0",
            "weight = 1.0",
        )
        + rule(
            "full-always", "goal", "always = true", 'metric = "grind_removal"', "from = 9e5", "to = 8e5", "weight = 1.0"
        )
        + rule("shuts-out-all", "limit", 'tasks = ["fish-filleting"]', 'metric = "stiffness"', "min = 900.0")
    )
    findings = checked(service, tmp_path / "mine", text, deep=True).findings
    told = {(f.id, f.rules[0]) for f in findings if f.rules}
    assert ("computed-nowhere", "never-computed") in told
    full = {id_ for kind, id_ in told if kind == "tells-nothing-apart"}
    # The limit on stiffness leaves nothing of the shipped goal on it.
    assert full == {"full-for-all", "full-for-two", "full-always", "far-too-wide", "fish-filleting-gives"}
    assert any(f.id == "no-answer" and "shuts-out-all" in f.rules for f in findings)


def test_a_goal_that_is_full_in_the_usual_steel_alone_is_none(service: Service, tmp_path: Path) -> None:
    """How long an edge lasts hangs on the steel: what every blade of one has, blades of a poorer one have not."""
    case = service.briefs.case(with_settings(Brief(), ["tasks.cardboard-rope=1"]))
    least = min(
        float(np.nanmin(value))
        for field in few(case)
        if field.measured is not None and (value := field.measured.metric("edge_retention")) is not None
    )
    folder = tmp_path / "mine"
    checked(service, folder, goal("usual-steel", "edge_retention", 0.5 * least, 0.9 * least, tasks="cardboard-rope"))
    own = Service(packs=[str(folder)])
    planted = own.knowledge.rules["usual-steel"]
    assert list(goals_in_vain(Domains(own.knowledge, own.registry, (planted,)))) == []


def fires_with(condition: str, task: str, fact: str) -> tuple[str, ...]:
    """A limit's lines: on a task, and on a fact besides."""
    both = f'"brief.tasks" = ["{task}"], {fact}'
    return (f'tasks = ["{task}"]', *when(condition, both, fact))


def test_a_limit_on_a_task_is_tried_where_the_task_is_most_of_the_work(service: Service, tmp_path: Path) -> None:
    """Of one among four alike it would only cost points, and seem to shut nothing out."""
    many = fires_with('{ field = "derived.task_count", ge = 4.0 }', "prying", '"derived.task_count" = 4.0')
    text = rule("steep", "limit", *many, 'field = "design.edge_angle_included_deg"', "min = 400.0")
    found = [f for f in checked(service, tmp_path / "mine", text).findings if "steep" in f.rules]
    assert "nothing-passes" in {f.id for f in found}


def test_a_limit_that_shuts_out_everything_where_its_task_is_the_work(tmp_path: Path) -> None:
    """Some value keeps its bound, and no blade has it: only computing shows it, of a brief in which it holds."""
    salt = fires_with('{ field = "brief.owner.climate", eq = "salt" }', "prying", '"brief.owner.climate" = "salt"')
    text = (
        rule("rigid", "limit", *salt, 'metric = "stiffness"', "min = 1e9")
        + rule("possible", "limit", *salt, 'metric = "stiffness"', "min = 0.01")
        + rule("hard", "limit", *SKILLED, 'field = "brief.steel.hardness_hrc"', "min = 66.0")
    )
    write(tmp_path / "mine", text)
    own = Service(packs=[str(tmp_path / "mine")])
    rules = tuple(loaded for loaded in own.knowledge.rules.values() if loaded.pack == "mine")
    (finding,) = shut_everything_out(Domains(own.knowledge, own.registry, rules))
    assert (finding.id, finding.rules) == ("shuts-everything-out", ("rigid",))
    assert finding.settings is not None
    answer = own.recommend(with_settings(Brief(), finding.settings), flips=False)
    assert "rigid" in {shut.rule for shut in answer.blocked}


def test_there_are_as_many_as_promised() -> None:
    assert len(PLANTED) - NAMED >= 20
