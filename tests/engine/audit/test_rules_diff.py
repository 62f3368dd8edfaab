"""What other rules change: planted rules are named as the cause, and what cannot change is not answered twice."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import bevelwright_rules
import pytest

from recommender.cli import main
from recommender.engine.audit.designed_briefs import Question
from recommender.engine.audit.rule_changes import concerns
from recommender.models.brief import Brief
from recommender.models.knowledge.rules_diff import Change
from recommender.service import Service, with_settings

CORE = Path(bevelwright_rules.__file__).parent / "core"
STIFF = (
    '{ field = "brief.tasks", has = "food-prep" }',
    '{ metric = "stiffness", from = 0.1, to = 5.0, weight = 30.0 }',
)
EXAMPLES = """examples = [
  { facts = { "brief.tasks" = ["food-prep"] }, fires = true },
  { facts = { "brief.tasks" = ["prying"] }, fires = false },
]
"""


def question(*settings: str) -> Question:
    return Question(" ".join(settings), with_settings(Brief(), settings))


FOOD, PRYING = question("tasks.food-prep=1"), question("tasks.prying=1")


def rule(folder: Path, id_: str, kind: str, when: str, effect: str, *, title: str = "Planted") -> str:
    (folder / "rules").mkdir(parents=True, exist_ok=True)
    (folder / "pack.toml").write_text('id = "planted"\ntitle = "Planted"\nversion = "1"\n', encoding="utf-8")
    (folder / "rules" / f"{id_}.toml").write_text(
        f'id = "{id_}"\ntitle = "{title} {id_}"\nkind = "{kind}"\nstatus = "active"\nwhen = {when}\neffect = {effect}\n'
        f'because = "It is planted for a test."\nbasis = {{ level = "estimate" }}\n{EXAMPLES}',
        encoding="utf-8",
    )
    return str(folder)


def with_off(folder: Path, *ids: str) -> str:
    with (folder / "pack.toml").open("a", encoding="utf-8") as handle:
        handle.write(f"switch_off = {json.dumps(ids)}\n")
    return str(folder)


def test_a_goal_that_flips_a_brief_is_named(service: Service, tmp_path: Path) -> None:
    """The rule wants a kitchen blade that hardly bends: three times the steel, so another grind and a thicker bar."""
    new = rule(tmp_path / "new", "stiff", "goal", *STIFF)
    comparison = service.rules.comparison(None, new)
    assert [(c.kind, c.id, c.how) for c in comparison.changes] == [("rule", "stiff", "added")]
    changed = comparison(FOOD).changed
    assert changed is not None
    then = next(service.answers(FOOD.brief))
    now = next(Service(strict=True, packs=[new]).answers(FOOD.brief))
    assert (changed.then.grind, changed.now.grind) == (then.proposal.grind, now.proposal.grind)
    assert changed.then.grind != changed.now.grind
    assert changed.alone
    assert [through.change.id for through in changed.through] == ["stiff"]
    assert (changed.through[0].then_state, changed.through[0].now_state) == (None, "fired")
    moved = {d.name: (d.then, d.now) for d in changed.dimensions}
    assert moved["stock_thickness_mm"] == (then.proposal.stock_thickness_mm, now.proposal.stock_thickness_mm)
    assert moved["stock_thickness_mm"][0] < moved["stock_thickness_mm"][1]
    assert comparison(PRYING).changed is None


def test_the_other_way_round_it_is_removed(service: Service, tmp_path: Path) -> None:
    new = rule(tmp_path / "new", "stiff", "goal", *STIFF)
    there, back = service.rules.comparison(None, new)(FOOD).changed, service.rules.comparison(new, None)(FOOD).changed
    assert there is not None
    assert back is not None
    assert (back.then, back.now) == (there.now, there.then)
    assert back.through[0].change.how == "removed"


def test_of_several_changes_the_one_that_does_it_is_named(service: Service, tmp_path: Path) -> None:
    """Beside the strong goal a lean that speaks of every blade alike: it moves points and no blade."""
    rule(tmp_path / "new", "stiff", "goal", *STIFF)
    new = rule(tmp_path / "new", "alike", "lean", STIFF[0], "{ points = 12.5 }")
    changed = service.rules.comparison(None, new)(FOOD).changed
    assert changed is not None
    assert changed.alone
    assert [through.change.id for through in changed.through] == ["stiff"]


def test_changes_that_only_do_it_together_are_both_named(service: Service, tmp_path: Path) -> None:
    """Either of the two limits shuts out the answer, so neither alone, taken back, brings it again."""
    then = next(service.answers(FOOD.brief)).proposal
    bound = then.edge_thickness_mm + 0.3
    for name in ("one", "two"):
        effect = f'{{ field = "design.edge_thickness_mm", min = {bound} }}'
        new = rule(tmp_path / "new", name, "limit", STIFF[0], effect)
    changed = service.rules.comparison(None, new)(FOOD).changed
    assert changed is not None
    assert not changed.alone
    assert {through.change.id for through in changed.through} == {"one", "two"}


def test_words_move_nothing(service: Service, tmp_path: Path) -> None:
    shipped = """[[rule]]
id = "does-not-bend"
title = "Does not bend"
kind = "goal"
metric = "stiffness"
because = "Another reason."
basis = { level = "estimate" }
row = [{ task = "food-prep", from = 0.15, to = 0.6, weight = 1.0, title = "Stands up to a squash" }]
"""
    new = rule(tmp_path / "new", "said", "caution", STIFF[0], '{ text = "Mind.", audience = "everyone" }')
    (tmp_path / "new" / "rules" / "stiffness.toml").write_text(shipped, encoding="utf-8")
    comparison = service.rules.comparison(None, new)
    assert {(c.id, c.how, c.moves) for c in comparison.changes} == {
        ("does-not-bend/food-prep", "changed", False),
        ("said", "added", False),
    }
    assert comparison(FOOD).changed is None


def test_a_rule_switched_off_is_a_rule_removed(service: Service, tmp_path: Path) -> None:
    rule(tmp_path / "new", "said", "advice", STIFF[0], '{ text = "Mind.", audience = "everyone" }')
    new = with_off(tmp_path / "new", "food-prep-rigid")
    changes = {c.id: (c.how, c.moves) for c in service.rules.comparison(None, new).changes}
    assert changes == {"does-not-bend/food-prep": ("removed", True), "said": ("added", False)}


def test_a_table_counts_where_a_brief_uses_it(service: Service, tmp_path: Path) -> None:
    rule(tmp_path / "new", "said", "advice", STIFF[0], '{ text = "Mind.", audience = "everyone" }')
    tables = tmp_path / "new" / "tables" / "tasks"
    tables.mkdir(parents=True)
    text = (CORE / "tables" / "tasks" / "food-prep.toml").read_text(encoding="utf-8")
    thick, bars = re.subn(r"stock_thickness_mm = \{ low.*?\}", "stock_thickness_mm = { low = 4.0, high = 5.0 }", text)
    assert bars == 1
    (tables / "food-prep.toml").write_text(thick, encoding="utf-8")
    comparison = service.rules.comparison(None, str(tmp_path / "new"))
    changed = comparison(FOOD).changed
    assert changed is not None
    assert [(t.change.kind, t.change.id) for t in changed.through] == [("task", "food-prep")]
    moved = {d.name: d.now for d in changed.dimensions}
    assert moved["stock_thickness_mm"] >= 4.0
    assert comparison(PRYING).changed is None


def test_what_a_brief_rules_out_does_not_concern_it(service: Service, tmp_path: Path) -> None:
    """The shortcut holds: a brief that no change concerns has the same answer with both, and it is asked here."""
    new = rule(tmp_path / "new", "stiff", "goal", *STIFF)
    (change,) = service.rules.comparison(None, new).changes
    other = Service(strict=True, packs=[new])
    for asked, concerned in ((FOOD, True), (PRYING, False)):
        assert concerns(change, other.briefs.case(asked.brief)) is concerned
    one, two = (next(s.answers(PRYING.brief)) for s in (service, other))
    assert one.model_copy(update={"provenance": two.provenance}) == two


def test_a_brief_that_only_one_can_be_asked_says_so(service: Service, tmp_path: Path) -> None:
    rule(tmp_path / "new", "said", "advice", STIFF[0], '{ text = "Mind.", audience = "everyone" }')
    tables = tmp_path / "new" / "tables" / "tasks"
    tables.mkdir(parents=True)
    text = (CORE / "tables" / "tasks" / "food-prep.toml").read_text(encoding="utf-8")
    (tables / "mincing.toml").write_text(text.replace('id = "food-prep"', 'id = "mincing"'), encoding="utf-8")
    changed = service.rules.comparison(None, str(tmp_path / "new"))(question("tasks.mincing=1")).changed
    assert changed is not None
    assert changed.then.grind is None
    assert "unknown name 'mincing'" in str(changed.then.error)
    assert changed.now.grind is not None


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    new = rule(tmp_path / "new", "stiff", "goal", *STIFF)
    briefs = tmp_path / "briefs"
    briefs.mkdir()
    (briefs / "kitchen.toml").write_text("[tasks]\nfood-prep = 1\n", encoding="utf-8")
    (briefs / "pry.toml").write_text("[tasks]\nprying = 1\n", encoding="utf-8")
    over = ["--briefs", str(briefs), "--sample", "0", "--jobs", "1"]
    assert main(["rules", "diff", "-", new, *over, "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert (told["schema"], told["briefs"], told["unchanged"]) == ("bevelwright.rules-diff/1", 2, 1)
    assert [changed["brief"] for changed in told["changed"]] == ["kitchen"]
    assert main(["rules", "diff", "-", new, *over]) == 1
    text = capsys.readouterr().out
    assert "rule stiff, added" in text
    assert "edge angle per side" not in text or "edge angle included" in text
    again = tmp_path / "again"
    shutil.copytree(new, again)
    assert main(["rules", "diff", new, str(again), *over]) == 0
    assert "The same rules and tables." in capsys.readouterr().out
    assert main(["rules", "diff", "-", str(tmp_path / "none"), *over]) == 2
    assert "no pack" in capsys.readouterr().err


def test_how_far_a_rule_reaches_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One that no brief meets, one that is met and alike for every blade, one that decides: each says which."""
    briefs = tmp_path / "briefs"
    briefs.mkdir()
    for task in ("food-prep", "prying"):
        (briefs / f"{task}.toml").write_text(f"[tasks]\n{task} = 1\n", encoding="utf-8")
    rule(tmp_path / "new", "unmet", "lean", '{ field = "brief.tasks", has = "fish-filleting" }', "{ points = 5.0 }")
    rule(tmp_path / "new", "alike", "lean", STIFF[0], "{ points = 5.0 }")
    new = rule(tmp_path / "new", "stiff", "goal", *STIFF)
    file = tmp_path / "new" / "rules" / "unmet.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('"food-prep"', '"fish-filleting"'), encoding="utf-8")
    over = ["--briefs", str(briefs), "--sample", "0", "--jobs", "1"]
    assert main(["rules", "diff", "-", new, *over, "--json"]) == 1
    reaches = {r["change"]["id"]: r for r in json.loads(capsys.readouterr().out)["reaches"]}
    counted = {id_: (r["concerned"], r["found"], r["changed"]) for id_, r in reaches.items()}
    assert counted == {"unmet": (0, 0, 0), "alike": (1, 1, 0), "stiff": (1, 1, 1)}
    assert main(["rules", "diff", "-", new, *over]) == 1
    text = " ".join(capsys.readouterr().out.split())
    assert "rule unmet, added: its condition holds in none of the briefs." in text
    assert (
        "rule alike, added: its condition can hold in 1 of 2 briefs, and holds for the recommended blade in 1" in text
    )
    assert "The blade before: no such rule. The blade now: the rule holds for it" in text
    assert "silent" not in text


def test_steel_and_gear_of_the_usual_blade_concern_a_brief_in_another(service: Service) -> None:
    case = service.briefs.case(with_settings(Brief(), ["tasks.food-prep=1", "steel.grade=o1", "owner.gear=service"]))
    usual = service.knowledge.tasks["food-prep"].usual_blade
    assert usual is not None
    assert concerns(Change(kind="steel", id=usual.steel, how="changed", moves=True), case)
    assert concerns(Change(kind="gear", id=usual.gear[0], how="changed", moves=True), case)
    assert not concerns(Change(kind="steel", id="440c", how="changed", moves=True), case)
    assert not concerns(Change(kind="gear", id="pull-through", how="changed", moves=True), case)
