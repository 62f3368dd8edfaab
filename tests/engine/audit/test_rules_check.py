"""`rules check`: each kind of defect, planted in a sound pack, is found there and nowhere else."""

from __future__ import annotations

import json
import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import bevelwright_rules
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from recommender.cli import main
from recommender.engine.audit.checks.check import CheckReport
from recommender.engine.audit.checks.probe import few
from recommender.models.brief import Brief
from recommender.packs.findings import KINDS, RuleFinding
from recommender.packs.written_rules.rule_scaffold import new_rule
from recommender.service import Service, with_settings

CORE = Path(bevelwright_rules.__file__).parent / "core"
ALWAYS = '{ field = "brief.steel.hardness_hrc", gt = 0.0 }'
HARDNESS = '{ field = "brief.steel.hardness_hrc"'
PRYING = '{ field = "brief.tasks", has = "prying" }'
SLICING = '{ field = "brief.tasks", has = "fine-slicing" }'
Plant = Callable[..., None]


def rule(id_: str, when: str, effect: str, kind: str = "limit", **changes: str) -> str:
    """A file with one rule, whose examples fire where no fact is needed; tests of examples give their own."""
    keys = {
        "status": "active",
        "basis": '{ level = "common practice", citation = "", known = "memory" }',
        "examples": "",
        **changes,
    }
    own = "\n".join(
        f"{key} = {json.dumps(value)}" for key, value in tomllib.loads(f"effect = {effect}")["effect"].items()
    )
    examples = keys["examples"] or (
        '[{ facts = { "brief.steel.hardness_hrc" = 58.0, "brief.tasks" = ["prying", "fine-slicing"] }, fires = true }, '
        "{ facts = {}, fires = false }]"
    )
    return f"""[[rule]]
id = "{id_}"
title = "A planted rule {id_}"
kind = "{kind}"
status = "{keys["status"]}"
when = {when}
{own}
because = "It was planted to be found."
basis = {keys["basis"]}
examples = {examples}
"""


@pytest.fixture
def pack(tmp_path: Path) -> Path:
    folder = tmp_path / "mine"
    (folder / "rules").mkdir(parents=True)
    (folder / "pack.toml").write_text('id = "mine"\ntitle = "Planted"\nversion = "1"\n', encoding="utf-8")
    return folder


@pytest.fixture
def plant(pack: Path) -> Plant:
    def write(id_: str, when: str, effect: str, kind: str = "limit", **changes: str) -> None:
        text = rule(id_, when, effect, kind, **changes)
        (pack / "rules" / f"{id_}.toml").write_text(text, encoding="utf-8")

    return write


@pytest.fixture
def checked(service: Service, pack: Path) -> Callable[..., CheckReport]:
    return lambda **how: service.rules.check([str(pack)], **how)


@pytest.fixture
def found(checked: Callable[..., CheckReport]) -> Callable[..., list[RuleFinding]]:
    return lambda **how: list(checked(**how).findings)


def ids(findings: list[RuleFinding]) -> list[tuple[str, tuple[str, ...]]]:
    return sorted((finding.id, finding.rules) for finding in findings)


def test_nothing_is_wrong_with_what_is_shipped(service: Service) -> None:
    whole = service.rules.check()
    assert whole.findings == ()
    assert whole.passed
    assert whole.rules == len(service.knowledge.rules)


def test_a_sound_pack_over_it_is_sound(plant: Plant, found) -> None:
    plant("sound-limit", f"{{ all = [{PRYING}] }}", '{ metric = "stiffness", min = 0.01 }')
    assert found() == []


@pytest.mark.parametrize(
    ("old", "new", "kind", "key", "nearest"),
    [
        ("metric", "metrik", "cannot-be-read", "metrik", "metric"),
        ('kind = "limit"', 'kind = "limmit"', "cannot-be-read", "kind", "limit"),
        ("min = 0.01", "min = nan", "cannot-be-read", "rule.min", None),
        ("id =", "id ", "cannot-be-read", None, None),
        ('"prying"', '"priyng"', "does-not-fit", "when.all.0.has", "prying"),
        ('metric = "stiffness"', 'metric = "stifness"', "does-not-fit", "metric", "stiffness"),
        ('has = "prying" }', "gt = 3 }", "does-not-fit", "when.all.0.gt", None),
    ],
)
def test_what_cannot_be_read_is_located_and_the_rest_is_checked(
    plant: Plant, pack: Path, found, old: str, new: str, kind: str, key: str | None, nearest: str | None
) -> None:
    plant("broken", f"{{ all = [{PRYING}] }}", '{ metric = "stiffness", min = 0.01 }')
    plant("dead", '{ field = "brief.steel.hardness_hrc", gt = 75.0 }', '{ metric = "stiffness", min = 0.01 }')
    file = pack / "rules" / "broken.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    (finding,) = [finding for finding in found() if finding.file == "mine/rules/broken.toml"]
    assert (finding.id, finding.rules) == (
        kind,
        () if "toml" in finding.says.lower() or key == "rule.min" else ("broken",),
    )
    assert finding.details.get("key") == key
    assert finding.details.get("nearest") == nearest
    assert "never-fires" in {f.id for f in found() if f.rules == ("dead",)}


@pytest.mark.parametrize(
    ("key", "written", "given", "nearest"),
    [
        ("tasks", '["fish-filleting"]', '["Filleting fish"]', "fish-filleting"),
        ("tasks", '["fish-filleting"]', '["Fish filleting"]', "fish-filleting"),
        ("tasks", '["fish-filleting"]', '["skinning"]', "game-dressing"),
        ("metric", '"stiffness"', '"sideways stiffness"', "stiffness"),
        ("metric", '"stiffness"', '"springy"', "stiffness, tip_flex"),
    ],
)
def test_what_is_named_by_its_label_is_told_its_id(
    pack: Path, found, key: str, written: str, given: str, nearest: str
) -> None:
    text = """[[rule]]
id = "labelled"
title = "Planted with a label"
kind = "goal"
tasks = ["fish-filleting"]
metric = "stiffness"
from = 0.7
to = 0.1
weight = 1.0
because = "It was planted to be found."
basis = { level = "estimate" }
"""
    assert f"{key} = {written}" in text
    text = text.replace(f"{key} = {written}", f"{key} = {given}")
    (pack / "rules" / "labelled.toml").write_text(text, encoding="utf-8")
    (finding,) = found()
    assert finding.rules == ("labelled",)
    assert finding.details["nearest"] == nearest


def test_a_rule_that_is_switched_off_is_there(pack: Path, found) -> None:
    with (pack / "pack.toml").open("a", encoding="utf-8") as handle:
        handle.write('switch_off = ["prying-momen", "prying-tip"]\n')
    (finding,) = found()
    assert (finding.id, finding.details["nearest"]) == ("does-not-fit", "prying-moment")


def test_a_table_that_cannot_be_read_is_one_finding(service: Service, tmp_path: Path) -> None:
    copy = tmp_path / "core"
    shutil.copytree(CORE, copy)
    file = copy / "tables/tasks/prying.toml"
    file.write_text("half a", encoding="utf-8")
    findings = service.rules.check([str(copy)]).findings
    assert [(f.id, f.file) for f in findings] == [("cannot-be-read", "core/tables/tasks/prying.toml")]


def test_a_material_that_is_not_there_is_one_finding(service: Service, tmp_path: Path) -> None:
    copy = tmp_path / "core"
    shutil.copytree(CORE, copy)
    file = copy / "tables/tasks/prying.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('material = "', 'material = "x-'), encoding="utf-8")
    findings = service.rules.check([str(copy)]).findings
    assert [(f.id, f.details["key"]) for f in findings] == [("does-not-fit", "material")]


@pytest.mark.parametrize(
    ("basis", "kind"),
    [
        ('{ level = "published", citation = "", known = "memory" }', "no-source"),
        ('{ level = "common practice", citation = "", known = "seen" }', "no-source"),
        ('{ level = "estimate", citation = "", known = "memory" }', "estimate-decides"),
        ('{ level = "estimate", citation = "A book", known = "memory" }', None),
    ],
)
def test_a_basis_that_claims_too_much(plant: Plant, found, basis: str, kind: str | None) -> None:
    plant("claims", ALWAYS, '{ field = "design.edge_thickness_mm", max = 1.5 }', basis=basis)
    assert ids(found()) == ([(kind, ("claims",))] if kind else [])


def test_a_heavy_goal_on_an_estimate(plant: Plant, found) -> None:
    basis = '{ level = "estimate", citation = "", known = "memory" }'
    plant("heavy", PRYING, '{ metric = "stiffness", from = 0.1, to = 9.0, weight = 4.0 }', "goal", basis=basis)
    assert ids(found()) == [("estimate-decides", ("heavy",))]


def test_an_example_that_does_not_do_what_it_says(plant: Plant, found) -> None:
    examples = (
        '[{ facts = { "brief.tasks" = ["prying"] }, fires = true }, '
        '{ facts = { "brief.tasks" = ["prying", "fine-slicing"] }, fires = false }]'
    )
    plant("shown", PRYING, '{ text = "Mind the tip of it." }', "advice", examples=examples)
    (finding,) = found()
    assert finding.id == "example-fails"
    assert "should not fire and does" in finding.says


@pytest.mark.parametrize(
    ("when", "proof"),
    [
        (
            f"{{ all = [{HARDNESS}, gt = 62.0 }}, {HARDNESS}, lt = 58.0 }}] }}",
            "brief.steel.hardness_hrc > 62 excludes brief.steel.hardness_hrc < 58",
        ),
        # A brief takes 40 to 70 HRC.
        ('{ field = "brief.steel.hardness_hrc", ge = 580.0 }', "the range is ≥ 40 and ≤ 70"),
        ('{ field = "derived.skill_level", gt = 3.0 }', "nothing fulfils"),
        ('{ field = "design.apex_included_deg", gt = 180.0 }', "nothing fulfils"),
        ('{ field = "design.edge_angle_per_side_deg", gt = 60.0 }', "nothing fulfils"),
        # 440C is stainless; bench stones sharpen; a scandi's parent is flat.
        (
            '{ all = [{ field = "brief.steel.grade", eq = "440c" }, '
            '{ field = "derived.steel_family", eq = "carbon" }] }',
            "excludes",
        ),
        (
            '{ all = [{ field = "brief.owner.gear", has = "bench-stones" }, '
            '{ field = "derived.owner_sharpens", eq = false }] }',
            "excludes",
        ),
        (
            '{ all = [{ field = "design.grind", eq = "scandi" }, { field = "design.parent", eq = "hollow" }] }',
            "excludes",
        ),
        (
            '{ all = [{ field = "derived.skill_level", ge = 3.0 }, { field = "brief.owner.skill", ne = "expert" }] }',
            "excludes",
        ),
        (f"{{ all = [{PRYING}, {{ not = {{ any = [{PRYING}, {SLICING}] }} }}] }}", "excludes"),
    ],
)
def test_a_rule_that_can_never_fire(plant: Plant, found, when: str, proof: str) -> None:
    examples = '[{ facts = { "brief.tasks" = ["prying"] }, fires = true }, { facts = {}, fires = false }]'
    plant("idle", when, '{ text = "Nobody will ever read this." }', "caution", examples=examples)
    idle = [finding for finding in found() if finding.id != "example-fails"]
    assert ids(idle) == [("never-fires", ("idle",))]
    assert proof in idle[0].proof


def test_an_alternative_that_never_holds(plant: Plant, found) -> None:
    when = f'{{ any = [{PRYING}, {{ field = "brief.steel.hardness_hrc", lt = 30.0 }}] }}'
    plant("half-idle", when, '{ text = "Mind the tip of it." }', "caution")
    (finding,) = found()
    assert finding.id == "dead-alternative"
    assert "brief.steel.hardness_hrc < 30" in finding.says


def test_an_alternative_that_what_stands_beside_it_excludes(plant: Plant, found) -> None:
    alone = f"{{ any = [{SLICING}, {{ not = {PRYING} }}] }}"
    plant("half-idle", f"{{ all = [{PRYING}, {alone}] }}", '{ text = "Mind the tip of it." }', "caution")
    (finding,) = found()
    assert (finding.id, finding.proof) == ("dead-alternative", "what is asked beside it excludes it")
    assert "not brief.tasks has prying" in finding.says


def test_limits_that_no_blade_passes_and_the_brief_that_shows_it(
    plant: Plant, pack: Path, found, checked, service: Service
) -> None:
    plant("thick", PRYING, '{ field = "design.edge_thickness_mm", min = 0.8 }')
    plant("thin", SLICING, '{ field = "design.edge_thickness_mm", max = 0.6 }')
    (finding,) = found()
    assert (finding.id, set(finding.rules)) == ("nothing-passes", {"thick", "thin"})
    assert not checked().passed
    own = Service(packs=[str(pack)])
    answer = own.recommend(with_settings(Brief(), finding.settings), flips=False)
    assert answer.proposal is None
    assert {shut.rule for shut in answer.blocked} >= {"thick", "thin"}
    assert service.recommend(with_settings(Brief(), finding.settings), flips=False).proposal is not None


def test_a_limit_that_no_blade_can_keep(plant: Plant, found) -> None:
    plant("impossible", PRYING, '{ field = "design.edge_angle_included_deg", min = 400.0 }')
    (finding,) = found()
    assert (finding.id, finding.rules) == ("nothing-passes", ("impossible",))


def test_limits_on_a_form_that_exclude_each_other(plant: Plant, found) -> None:
    plant("long", PRYING, '{ field = "design.swedge_length_mm", min = 40.0 }')
    plant("short", ALWAYS, '{ field = "design.swedge_length_mm", max = 20.0 }')
    pairs = {frozenset(finding.rules) for finding in found() if finding.id == "limits-exclude"}
    # A shipped limit wants no swedge on a spine that is struck.
    assert pairs == {
        frozenset({"long", "short"}),
        frozenset({"long", "form-struck-spine-whole"}),
        frozenset({"long", "form-pried-spine-whole"}),
    }


def test_goals_that_differ_in_weight_alone_count_twice(plant: Plant, found) -> None:
    plant("first", PRYING, '{ metric = "stiffness", from = 0.1, to = 9.0, weight = 1.0 }', "goal")
    plant("second", PRYING, '{ metric = "stiffness", from = 0.1, to = 9.0, weight = 2.0 }', "goal")
    (finding,) = found()
    assert (finding.id, set(finding.rules)) == ("implied", {"first", "second"})


def test_three_lists_that_exclude_each_other_only_together(plant: Plant, found) -> None:
    for id_, some in (("one", ["flat", "hollow"]), ("two", ["hollow", "convex"]), ("three", ["flat", "convex"])):
        plant(id_, ALWAYS, f'{{ field = "design.parent", in = {json.dumps(some)} }}')
    (finding,) = found()
    assert (finding.id, set(finding.rules)) == ("nothing-passes", {"one", "two", "three"})


def test_limits_that_exclude_each_other_on_some_blades(plant: Plant, found) -> None:
    hollow = '{ field = "design.parent", eq = "hollow" }'
    thin = '{ field = "design.stock_thickness_mm", lt = 4.0 }'
    plant("hollow-thin", hollow, '{ field = "design.edge_thickness_mm", max = 0.3 }', examples=EXAMPLE % "hollow")
    plant("stock-thick", f"{{ all = [{thin}, {ALWAYS}] }}", '{ field = "design.edge_thickness_mm", min = 0.4 }',
          examples=STOCK)  # fmt: skip
    (finding,) = found()
    assert (finding.id, set(finding.rules)) == ("limits-exclude", {"hollow-thin", "stock-thick"})
    assert "design.stock_thickness_mm" in finding.proof


EXAMPLE = '[{ facts = { "design.parent" = "%s" }, fires = true }, { facts = {}, fires = false }]'
STOCK = (
    '[{ facts = { "design.stock_thickness_mm" = 3.0, "brief.steel.hardness_hrc" = 58.0 }, fires = true }, '
    "{ facts = {}, fires = false }]"
)


@pytest.mark.parametrize(
    "exclusive",
    [
        # One task or more than one.
        (
            '{ field = "derived.task_count", eq = 1.0 }',
            f"{{ all = [{PRYING}, {SLICING}] }}",
        ),
        # Owners without a stone, and with one.
        (
            '{ field = "derived.owner_sharpens", eq = false }',
            '{ field = "brief.owner.gear", has = "bench-stones" }',
        ),
    ],
)
def test_limits_that_never_meet_are_no_finding(plant: Plant, found, exclusive: tuple[str, str]) -> None:
    plant("thick", exclusive[0], '{ field = "design.edge_thickness_mm", min = 0.8 }')
    plant("thin", exclusive[1], '{ field = "design.edge_thickness_mm", max = 0.6 }')
    assert [finding for finding in found() if finding.id != "example-fails"] == []


def test_figures_of_different_tasks_are_no_contradiction(plant: Plant, found) -> None:
    """Cutting force is another figure for each task: both limits can be kept."""
    plant("slices", SLICING, '{ metric = "cut_force", max = 0.5 }')
    plant("pries", PRYING, '{ metric = "cut_force", min = 0.6 }')
    assert found() == []


def test_a_limit_that_a_stricter_one_makes_superfluous(plant: Plant, found) -> None:
    plant("stricter", ALWAYS, '{ field = "design.edge_thickness_mm", max = 1.0 }')
    plant("weaker", PRYING, '{ field = "design.edge_thickness_mm", max = 1.2 }')
    (finding,) = found()
    assert (finding.id, finding.rules) == ("implied", ("weaker", "stricter"))


def test_a_limit_that_others_make_superfluous_together(plant: Plant, found) -> None:
    wet, dry = (
        '{ field = "brief.owner.climate", in = ["wet", "salt"] }',
        '{ field = "brief.owner.climate", eq = "dry" }',
    )
    known = '{ field = "brief.owner.climate", in = ["wet", "salt", "dry"] }'
    climate = '[{ facts = { "brief.owner.climate" = "%s" }, fires = true }, { facts = {}, fires = false }]'
    plant("when-wet", wet, '{ field = "design.edge_thickness_mm", max = 1.0 }', examples=climate % "wet")
    plant("when-dry", dry, '{ field = "design.edge_thickness_mm", max = 1.1 }', examples=climate % "dry")
    plant("weaker", known, '{ field = "design.edge_thickness_mm", max = 1.2 }', examples=climate % "dry")
    (finding,) = found()
    assert finding.id == "implied"
    assert finding.rules[0] == "weaker"
    assert set(finding.rules[1:]) == {"when-wet", "when-dry"}


def test_a_lean_that_counts_twice(plant: Plant, found) -> None:
    plant("all-of-them", ALWAYS, "{ points = 0.7 }", "lean")
    plant("some-of-them", f"{{ all = [{ALWAYS}, {PRYING}] }}", "{ points = 0.7 }", "lean")
    (finding,) = [each for each in found() if each.id != "moves-nothing"]
    assert (finding.id, finding.rules) == ("implied", ("some-of-them", "all-of-them"))


def test_a_rule_under_two_names(plant: Plant, found) -> None:
    plant("first", PRYING, '{ metric = "stiffness", from = 0.1, to = 9.0, weight = 1.0 }', "goal")
    turned = f"{{ not = {{ not = {{ all = [{PRYING}] }} }} }}"
    plant("second", turned, '{ metric = "stiffness", from = 0.1, to = 9.0, weight = 1.0 }', "goal")
    (finding,) = found()
    assert (finding.id, finding.rules) == ("duplicate", ("second", "first"))


def test_words_said_twice(plant: Plant, found) -> None:
    plant("first", PRYING, '{ text = "Mind the tip of it." }', "caution")
    plant("second", SLICING, '{ text = "Mind  the Tip of it." }', "advice")
    (finding,) = found()
    assert (finding.id, finding.rules) == ("same-words", ("second", "first"))


def test_a_task_and_a_gear_that_nothing_speaks_of(pack: Path, found) -> None:
    for kind, old in (("tasks", "prying"), ("gear", "ceramic-rod")):
        (pack / "tables" / kind).mkdir(parents=True)
        text = (CORE / "tables" / kind / f"{old}.toml").read_text(encoding="utf-8")
        (pack / "tables" / kind / "brand-new.toml").write_text(
            text.replace(f'"{old}"', '"brand-new"', 1), encoding="utf-8"
        )
    assert [(f.id, f.file) for f in found()] == [
        ("unspoken", "tables/gear/brand-new.toml"),
        ("unspoken", "tables/tasks/brand-new.toml"),
    ]


@pytest.mark.parametrize("sign", ["", "-"])
def test_leans_beyond_their_cap(plant: Plant, found, sign: str) -> None:
    scandi = '{ field = "design.grind", eq = "scandi" }'
    examples = '[{ facts = { "design.grind" = "scandi" }, fires = true }, { facts = {}, fires = false }]'
    plant("first", scandi, f"{{ points = {sign}7.0 }}", "lean", examples=examples)
    plant("second", PRYING, f"{{ points = {sign}6.0 }}", "lean")
    (finding,) = [each for each in found() if each.id != "moves-nothing"]
    assert finding.id == "leans-clipped"
    assert "second" in finding.rules
    assert "tasks.prying=1" in finding.settings


def test_leans_that_exclude_each_other_push_against_nothing(plant: Plant, found) -> None:
    for id_, grind in (("first", "scandi"), ("second", "chisel")):
        examples = f'[{{ facts = {{ "design.grind" = "{grind}" }}, fires = true }}, {{ facts = {{}}, fires = false }}]'
        plant(id_, f'{{ field = "design.grind", eq = "{grind}" }}', "{ points = 6.5 }", "lean", examples=examples)
    assert found() == []


def test_a_goal_that_no_blade_comes_near(plant: Plant, service: Service, pack: Path) -> None:
    from recommender.engine.audit.checks.domains import Domains
    from recommender.engine.audit.checks.reachability import goals_in_vain

    plant("far", PRYING, '{ metric = "stiffness", from = 1e6, to = 2e6, weight = 1.0 }', "goal")
    plant("near", PRYING, '{ metric = "stiffness", from = 0.0, to = 2e6, weight = 1.0 }', "goal")
    own = Service(packs=[str(pack)])
    rules = tuple(loaded for loaded in own.knowledge.rules.values() if loaded.pack == "mine")
    found = [f.rules for f in goals_in_vain(Domains(own.knowledge, own.registry, rules)) if f.id == "out-of-reach"]
    assert found == [("far",)]


def test_drafts_of_what_is_given_are_checked_and_not_loaded(plant: Plant, pack: Path, found) -> None:
    plant("dead", '{ field = "brief.steel.hardness_hrc", gt = 75.0 }', "{ points = 1.0 }", "lean", status="draft")
    assert {f.id for f in found()} == {"never-fires", "example-fails"}
    assert Service(packs=[str(pack)]).rules.check().findings == ()


def test_a_copy_of_a_loaded_pack_stands_in_its_place(service: Service, tmp_path: Path) -> None:
    copy = tmp_path / "core"
    shutil.copytree(CORE, copy)
    assert service.rules.check([str(copy)]).findings == ()


def test_every_kind_has_a_page(capsys: pytest.CaptureFixture[str]) -> None:
    for id_, kind in KINDS.items():
        assert main(["rules", "check", "--explain", id_]) == 0
        page = capsys.readouterr().out
        assert kind.title in page
        assert all(words.split()[0] in page for words in (kind.what, kind.why, kind.example, kind.fix))


def test_exit_codes_and_json(plant: Plant, pack: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "check", "--json"]) == 0
    sound = json.loads(capsys.readouterr().out)
    assert (sound["schema"], sound["findings"], sound["passed"]) == ("bevelwright.findings/1", [], True)
    plant("said-twice", ALWAYS, '{ text = "Mind it.\\u001b[31m" }', "caution")
    plant("said-again", PRYING, '{ text = "Mind it.\\u001b[31m" }', "caution")
    assert main(["rules", "check", str(pack)]) == 0, "a warning is no error"
    out = capsys.readouterr().out
    assert "warning same-words" in out
    assert "\x1b" not in out
    plant("dead", '{ field = "brief.steel.hardness_hrc", gt = 75.0 }', "{ points = 1.0 }", "lean")
    assert main(["rules", "check", str(pack), "--json"]) == 1
    (dead,) = [f for f in json.loads(capsys.readouterr().out)["findings"] if f["id"] == "never-fires"]
    assert (dead["rules"], dead["level"], dead["file"]) == (["dead"], "error", "mine/rules/dead.toml")
    assert main(["rules", "check", str(tmp_path / "nowhere")]) == 2
    assert main(["rules", "check", "--explain", "never-fire"]) == 2
    assert "nearest: never-fires" in capsys.readouterr().err


@pytest.mark.parametrize("kind", ["limit", "goal", "lean", "caution", "advice"])
def test_what_new_writes_is_sound(kind: str, tmp_path: Path, service: Service) -> None:
    new_rule("fillet-knife-flexes", kind, tmp_path / "mine", tasks=["fish-filleting"])
    # The limit to start from is stricter than the shipped one for the same task, which it makes superfluous.
    expected = [("implied", ("fish-filleting-not-floppy", "fillet-knife-flexes"))] if kind == "limit" else []
    # What has numbers has those of an example, which is told like words of the template.
    expected += [("template-words", ("fillet-knife-flexes",))] * (2 if kind in ("goal", "limit") else 1)
    assert ids(list(service.rules.check([str(tmp_path / "mine")]).findings)) == expected


@pytest.mark.parametrize(
    "facts",
    [
        '{ "brief.tasks" = [["prying"]] }',
        '{ "brief.tasks" = "prying" }',
        '{ "brief.tasks" = [3, { a = 1 }] }',
        '{ "brief.steel.hardness_hrc" = [58.0] }',
        '{ "brief.steel.hardness_hrc" = 1979-05-27 }',
        f'{{ "brief.steel.hardness_hrc" = 1{"0" * 400} }}',
        '{ "brief.owner.skill" = true }',
    ],
)
def test_facts_of_no_kind_are_located(plant: Plant, found, facts: str) -> None:
    examples = f"[{{ facts = {facts}, fires = true }}, {{ facts = {{}}, fires = false }}]"
    plant("odd", PRYING, '{ text = "Mind the tip of it." }', "advice", examples=examples)
    assert {f.id for f in found()} == {"does-not-fit"}


def test_what_is_too_much_to_tell_is_left_alone(plant: Plant, found) -> None:
    """Alternatives multiply: 4^9 boxes, and nothing is claimed of a rule that would need them."""
    metrics = (
        "stiffness", "cut_force", "mass_per_length", "edge_margin", "thickness_1mm", "thickness_5mm", "sharpenings",
        "angle_margin_deg", "apex_growth",
    )  # fmt: skip
    names = [f"metric.{metric}" for metric in metrics]
    when = {"all": [{"any": [{"field": name, "eq": k} for k in range(0, 8, 2)]} for name in names]}
    fires = {"facts": {json.dumps(name): 2.0 for name in names}, "fires": True}
    for id_ in ("first", "second"):
        examples = toml([fires, {"facts": {}, "fires": False}])
        plant(id_, toml(when), "{ points = 0.2 }", "lean", examples=examples)
    assert found() == []


FIELDS: dict[str, st.SearchStrategy[Any]] = {
    "brief.steel.hardness_hrc": st.sampled_from([30, 40, 55, 58.5, 70, 90]),
    "design.edge_thickness_mm": st.sampled_from([-1, 0, 0.3, 0.8, 5]),
    "metric.stiffness": st.sampled_from([0, 0.2, 3]),
    "metric.cut_force": st.sampled_from([0.1, 1, 1e200]),
    "derived.task_count": st.sampled_from([0, 1, 2, 40]),
    "derived.hardness_over_range_hrc": st.sampled_from([-3, 0, 2]),
}
NAMES = {
    "brief.tasks": ["prying", "fine-slicing", "food-prep"],
    "brief.owner.gear": ["bench-stones", "strop", "none"],
    "design.parent": ["flat", "hollow"],
    "derived.steel_family": ["stainless", "carbon"],
}


@st.composite
def comparisons(draw: st.DrawFn) -> dict[str, Any]:
    field = draw(st.sampled_from([*FIELDS, *NAMES]))
    if field in FIELDS:
        return {"field": field, draw(st.sampled_from(["lt", "le", "gt", "ge", "eq"])): draw(FIELDS[field])}
    test = "has" if field in ("brief.tasks", "brief.owner.gear") else "eq"
    some = st.sampled_from(NAMES[field])
    return {
        "field": field,
        **draw(st.builds(lambda v: {test: v}, some) | st.builds(lambda v: {"in": v}, st.lists(some))),
    }


WHEN = st.recursive(
    comparisons(),
    lambda part: (
        st.builds(lambda p: {"not": p}, part)
        | st.builds(lambda p: {"all": p}, st.lists(part, max_size=4))
        | st.builds(lambda p: {"any": p}, st.lists(part, min_size=1, max_size=4))
    ),
    max_leaves=10,
)
EFFECTS: list[tuple[str, dict[str, Any]]] = [
    *(("lean", {"points": points}) for points in (-7.0, 5.0, 7.0)),
    *(("limit", {"metric": "stiffness", bound: value}) for bound in ("min", "max") for value in (0.0, 0.2, 3.0)),
    *(("limit", {"field": "design.parent", "in": parents}) for parents in (["flat"], ["hollow", "convex"], [])),
    ("goal", {"metric": "cut_force", "from": 3.0, "to": 1.0, "weight": 1.0}),
    ("advice", {"text": "Mind it well."}),
]


def toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {toml(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(toml(v) for v in value) + "]"
    return json.dumps(value)


@settings(
    max_examples=15,
    phases=(Phase.reuse, Phase.generate),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(st.lists(st.tuples(WHEN, st.sampled_from(EFFECTS)), min_size=1, max_size=12))
def test_no_set_of_rules_is_too_much(service: Service, tmp_path: Path, some: list[tuple[Any, Any]]) -> None:
    folder = tmp_path / "random"
    shutil.rmtree(folder, ignore_errors=True)
    (folder / "rules").mkdir(parents=True)
    (folder / "pack.toml").write_text('id = "random"\ntitle = "Any"\nversion = "1"\n', encoding="utf-8")
    for k, (when, (kind, effect)) in enumerate(some):
        text = rule(f"r{k}", toml(when), toml(effect), kind)
        (folder / "rules" / f"r{k}.toml").write_text(text, encoding="utf-8")
    for finding in service.rules.check([str(folder)]).findings:
        assert finding.id in KINDS
        assert finding.says
        if finding.settings is not None:
            service.briefs.resolve(with_settings(Brief(), finding.settings))
        if finding.id == "nothing-passes":
            own = Service(packs=[str(folder)])
            case = own.briefs.case(with_settings(Brief(), finding.settings or ()))
            assert sum(field.feasible for field in few(case)) == 0
