"""Files of rules: topics, rows, former ids, and files of one rule each, which were the form of 0.1."""

from __future__ import annotations

import json
import tomllib
from itertools import chain
from pathlib import Path

import bevelwright_rules
import pytest

from recommender.cli import main
from recommender.errors import PackError
from recommender.models.brief import Brief
from recommender.models.knowledge.rule import GoalEffect, is_always
from recommender.packs.load import read_pack
from recommender.packs.written_rules.rule_conversion import convert_pack
from recommender.packs.written_rules.rule_files import rules_of
from recommender.packs.written_rules.rule_scaffold import new_rule
from recommender.service import Service, with_settings

CORE = Path(bevelwright_rules.__file__).parent / "core"
FIXTURES = Path(__file__).parents[1] / "fixtures" / "v0.1"
IDS = [line.split("\t") for line in (FIXTURES / "rule_ids.tsv").read_text(encoding="utf-8").splitlines()[1:]]
TABLE = """
[[rule]]
id = "gives"
title = "Gives"
kind = "goal"
metric = "stiffness"
because = "It has to follow the bone."
basis = { level = "common practice" }
numbers = { level = "estimate" }
row = [
  { task = "fish-filleting", from = 0.7, to = 0.2, weight = 2.0, title = "Gives along the bones" },
  { task = "food-prep", from = 0.9, to = 0.4, weight = 0.5, because = "A cook bends it.", formerly = ["old"] },
]

[[rule]]
id = "said"
title = "Said of every blade"
kind = "advice"
always = true
text = "Mind it."
because = "It was written for a test."
basis = { level = "estimate" }
"""


def pack(folder: Path, rules: str = "", more: str = "") -> str:
    (folder / "rules").mkdir(parents=True)
    (folder / "pack.toml").write_text(f'id = "{folder.name}"\ntitle = "x"\nversion = "1"\n{more}', encoding="utf-8")
    (folder / "rules" / "topic.toml").write_text(rules or TABLE, encoding="utf-8")
    return str(folder)


def goal(id_: str, weight: float = 1.0) -> str:
    return f"""[[rule]]
id = "{id_}"
title = "Another {id_.replace("/", " ")}"
kind = "goal"
tasks = ["prying"]
metric = "cut_force"
from = 4.0
to = 2.0
weight = {weight}
because = "It was written for a test."
basis = {{ level = "estimate" }}
"""


def test_each_row_is_a_rule_that_says_what_it_does_not_leave_to_the_table() -> None:
    (old_form, rules), problems = rules_of(tomllib.loads(TABLE), "topic.toml")
    assert (old_form, problems) == (False, [])
    bones, board, said = rules
    assert [rule.id for rule in rules] == ["gives/fish-filleting", "gives/food-prep", "said"]
    assert (bones.title, board.title) == ("Gives along the bones", "Gives")
    assert (bones.because, board.because) == ("It has to follow the bone.", "A cook bends it.")
    assert isinstance(board.effect, GoalEffect)
    assert (board.effect.metric, board.effect.from_, board.effect.to, board.effect.weight) == (
        "stiffness",
        0.9,
        0.4,
        0.5,
    )
    assert (board.basis.level, board.numbers.level if board.numbers else "") == ("common practice", "estimate")
    assert board.formerly == ("old",)
    assert is_always(said.when)


def test_every_problem_of_a_file_is_told(tmp_path: Path, service: Service) -> None:
    broken = TABLE.replace("weight = 2.0", "wieght = 2.0").replace("to = 0.4", "to = 0.9").replace("advice", "advise")
    with pytest.raises(PackError, match=r"gives/fish-filleting: wieght: unknown key .*and \d more problems"):
        read_pack(tmp_path / Path(pack(tmp_path / "mine", broken)).name)
    found = service.rules.check([str(tmp_path / "mine")]).findings
    told = {(f.rules, f.details.get("key")) for f in found}
    assert told >= {(("gives/fish-filleting",), "wieght"), (("gives/food-prep",), None), (("said",), "kind")}


def test_old_ids_and_new_ones_name_every_shipped_rule(service: Service) -> None:
    """The rules of 0.1 are those of today under the ids of the table, and no two became one."""
    assert len({new for _, new in IDS}) == len(IDS) == 245
    for old, new in IDS:
        assert [loaded.rule.id for loaded in service.knowledge.rules_called(old)] == [new]
    assert {new for _, new in IDS} <= set(service.knowledge.rules)


def test_the_id_of_a_goal_of_one_task_says_of_what_it_speaks(service: Service) -> None:
    for loaded in service.knowledge.of_kind("goal"):
        if len(loaded.tasks) == 1:
            (task,) = loaded.tasks
            assert loaded.rule.id.startswith(f"{task}-") or loaded.rule.id.endswith(f"/{task}") or task in ("prying",)


def test_a_pack_replaces_a_single_row(tmp_path: Path) -> None:
    row = goal("cuts-easily/prying", 1.7)
    for rules in (row, row.replace("cuts-easily/prying", "prying-still-cuts")):  # by its id, and by a former one
        knowledge = Service(packs=[pack(tmp_path / str(len(rules)), rules)], own_packs=False).knowledge
        changed = knowledge.rules["cuts-easily/prying"]
        assert (changed.pack, changed.rule.effect.weight) == (str(len(rules)), 1.7)  # type: ignore[union-attr]
        assert knowledge.rules["cuts-easily/food-prep"].pack == "core"
        assert "prying-still-cuts" not in knowledge.rules
        assert [(o.id, o.how) for o in knowledge.overruled] == [("cuts-easily/prying", "replaced")]


def test_a_pack_adds_a_row_or_replaces_them_all(tmp_path: Path) -> None:
    rows = {id_ for id_ in Service().knowledge.rules if id_.startswith("tip-survives/")}
    more = TABLE.replace('id = "gives"', 'id = "tip-survives"').replace("fish-filleting", "fine-slicing")
    added = Service(packs=[pack(tmp_path / "more", more)]).knowledge.rules
    assert rows | {"tip-survives/fine-slicing"} <= set(added)
    whole = Service(packs=[pack(tmp_path / "whole", goal("tip-survives"))]).knowledge.rules
    assert [id_ for id_ in whole if id_.startswith("tip-survives")] == ["tip-survives"]


@pytest.mark.parametrize("name", ["tip-survives/prying", "prying-tip"])
def test_a_row_is_switched_off_by_either_id(tmp_path: Path, name: str) -> None:
    place = pack(tmp_path / "mine", more=f'switch_off = ["{name}"]\n')
    knowledge = Service(packs=[place]).knowledge
    assert "tip-survives/prying" not in knowledge.rules
    assert "tip-survives/pocket-carry" in knowledge.rules


def test_a_rule_with_rows_is_switched_off_whole(tmp_path: Path) -> None:
    place = pack(tmp_path / "mine", more='switch_off = ["tip-survives"]\n')
    assert not [id_ for id_ in Service(packs=[place]).knowledge.rules if id_.startswith("tip-survives")]


def test_what_always_holds_is_said_of_a_blade_and_not_where_there_is_none(service: Service) -> None:
    nothing = with_settings(Brief(), ["tasks.prying=1", "wishes.edge_angle_per_side_deg=5"])
    answer = service.recommend(nothing, flips=False)
    assert answer.proposal is None
    always = {loaded.rule.id for loaded in service.knowledge.rules.values() if is_always(loaded.rule.when)}
    assert always & {"edge-keen", "grinding-sparks"}
    assert not always & {words.id for words in (*answer.cautions, *answer.advice)}


def test_shown_by_former_id_title_and_part_of_one(capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("prying-still-cuts", "Still cuts", "cuts-easily/prying"):
        assert main(["rules", "show", name]) == 0
        assert "goal “cuts-easily/prying”, pack core, core/rules/cutting.toml" in capsys.readouterr().out
    assert main(["rules", "show", "cracking them"]) == 0
    assert "food-prep-no-cracking" in capsys.readouterr().out
    assert main(["rules", "show", "tip-survives"]) == 0
    assert capsys.readouterr().out.count("Formerly") == 3
    assert main(["rules", "show", "keen"]) == 2
    assert "stays-keen/prying" in capsys.readouterr().err
    assert main(["rules", "show", "prying-stil-cuts"]) == 2
    assert "nearest: prying-still-cuts" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("game-dressing", "bears-an-accident"),  # in a condition
        ("tip_push", "tip-goes-in/pocket-carry"),  # a metric's id
        ("strength where a third", "tip-survives/prying"),  # what it is called
        ("nobody within 3 m", "impact-clear-circle"),  # a line of a caution
        ("prying-tip", "tip-survives/prying"),  # a former id
    ],
)
def test_listed_by_all_that_a_rule_says(word: str, expected: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "list", word]) == 0
    assert f"{expected}:" in capsys.readouterr().out


def test_rules_that_are_called_so_come_before_those_that_mention_it(
    service: Service, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["rules", "list", "scandi", "--json"]) == 0
    found = [rule["id"] for rule in json.loads(capsys.readouterr().out)]
    called = [id_ for id_ in found if "scandi" in f"{id_} {service.knowledge.rules[id_].rule.title}".casefold()]
    assert 0 < len(called) < len(found)
    assert found[: len(called)] == called


@pytest.mark.parametrize(("word", "nearest"), [("stiffnes", None), ("stifness", "stiffness"), ("prylng", "prying")])
def test_a_word_that_no_rule_says(word: str, nearest: str | None, capsys: pytest.CaptureFixture[str]) -> None:
    """The beginning of a word finds it; another is told the nearest that rules say."""
    assert main(["rules", "list", word]) == (2 if nearest else 0)
    told = capsys.readouterr()
    assert f"nearest: {nearest}" in told.err if nearest else "does-not-bend/food-prep" in told.out


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("440c", "440c is a steel, in core/tables/steels/440c.toml; no rule names it."),
        ("skinning", "game-dressing is a task (game dressing), in core/tables/tasks/game-dressing.toml."),
        ("full hollow", "full-hollow is a grind (full hollow)"),
        ("tip_flex", "tip_flex is a figure (stiffness near the tip)"),
    ],
)
def test_what_is_no_rule_is_told_as_what_it_is(word: str, told: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "list", word]) == 0
    assert told in " ".join(capsys.readouterr().out.split())


def test_of_a_steel_the_facts_that_rules_ask_are_told(service: Service, capsys: pytest.CaptureFixture[str]) -> None:
    steel = service.knowledge.steels["440c"]
    assert main(["rules", "list", "440C"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert f"derived.steel_family = {steel.family}" in said
    assert f"derived.corrosion_class = {steel.corrosion.class_}" in said


def test_every_rule_that_names_a_task_is_listed(service: Service) -> None:
    listed = {loaded.rule.id for loaded in chain(*service.knowledge.rules_saying(["game-dressing"], {}))}
    named = {id_ for id_, loaded in service.knowledge.rules.items() if "game-dressing" in loaded.tasks}
    assert len(named) > 15
    assert named <= listed


def test_a_pack_of_0_1_is_converted_and_says_what_it_said(tmp_path: Path) -> None:
    import shutil

    before, after = tmp_path / "valley", tmp_path / "again" / "valley"
    for folder in (before, after):
        shutil.copytree(FIXTURES / "pack", folder)
    commented = after / "rules" / "edge-cork-slips.toml"
    commented.write_text("# Seen in March.\n" + commented.read_text(encoding="utf-8"), encoding="utf-8")
    old = read_pack(before)
    done = convert_pack(str(after))
    assert done.rules == len(done.before) == 8
    assert len(done.after) < 8
    assert sorted(path.name for path in (after / "rules").iterdir()) == sorted(done.after)
    assert "# Seen in March." in (after / "rules" / "edge.toml").read_text(encoding="utf-8")
    new = read_pack(after)
    assert [r.rule.id for r in old.rules] == [r.rule.id for r in new.rules]
    told = [[r.rule.model_dump(exclude={"when", "tasks", "examples"}) for r in each.rules] for each in (old, new)]
    assert told[0] == told[1]
    brief = with_settings(Brief(), ["tasks.cork-trimming=1"])
    answers = [Service(packs=[str(folder)]).recommend(brief, flips=False) for folder in (before, after)]
    assert answers[0].model_dump(exclude={"provenance"}) == answers[1].model_dump(exclude={"provenance"})
    assert convert_pack(str(after)).rules == 0


def test_nothing_is_touched_where_a_file_cannot_be_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import shutil

    folder = tmp_path / "valley"
    shutil.copytree(FIXTURES / "pack", folder)
    (folder / "rules" / "edge-cork-slips.toml").write_text("half a", encoding="utf-8")
    names = sorted(path.name for path in (folder / "rules").iterdir())
    assert main(["rules", "convert", str(folder)]) == 2
    assert "edge-cork-slips.toml" in capsys.readouterr().err
    assert sorted(path.name for path in (folder / "rules").iterdir()) == names


def test_a_pack_of_the_old_form_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "list", "cork", "--packs", str(FIXTURES / "pack")]) == 0
    assert "rules convert" in " ".join(capsys.readouterr().out.split())
    assert main(["recommend", "--set", "tasks.cork-trimming=1", "--packs", str(FIXTURES / "pack"), "--json"]) == 0
    said = capsys.readouterr()
    assert "rules convert" in said.err
    assert json.loads(said.out)["proposal"]


@pytest.mark.parametrize("kind", ["limit", "goal", "lean", "caution", "advice"])
def test_what_new_writes_has_an_effect_at_once(tmp_path: Path, kind: str) -> None:
    """Every template moves points, shuts something out or says something for the task that it names."""
    file, folder = new_rule("first-try", kind, tmp_path / "mine", tasks=["fish-filleting"])
    file.write_text(file.read_text(encoding="utf-8").replace('"draft"', '"active"'), encoding="utf-8")
    brief = with_settings(Brief(), ["tasks.fish-filleting=1"])
    service = Service(packs=[str(folder)])
    answer = service.recommend(brief, flips=False)
    if kind in ("caution", "advice"):
        assert "first-try" in {words.id for words in (*answer.cautions, *answer.advice)}
    elif kind == "limit":
        (trace,) = [t for t in service.briefs.rule_traces(brief, answer) if t.loaded.rule.id == "first-try"]
        assert trace.state == "fired"
    else:
        assert any(r.rule == "first-try" and r.points for r in answer.reasons)


def test_a_rule_is_added_to_a_topic(tmp_path: Path) -> None:
    one, folder = new_rule("one", "goal", tmp_path / "mine", "stiffness")
    two, _ = new_rule("two", "lean", tmp_path / "mine", "stiffness")
    assert one == two == folder / "rules" / "stiffness.toml"
    (_, rules), problems = rules_of(tomllib.loads(one.read_text(encoding="utf-8")), "stiffness.toml")
    assert ([rule.id for rule in rules], problems) == (["one", "two"], [])


@pytest.mark.parametrize("kind", ["limit", "goal", "lean", "caution", "advice"])
@pytest.mark.parametrize("about", [["--always"], ["--task", "prying"], ["--task", "prying", "--task", "wood-carving"]])
def test_a_draft_is_about_the_tasks_that_are_named(kind: str, about: list[str], tmp_path: Path) -> None:
    folder = tmp_path / "mine"
    assert main(["rules", "new", "first-try", "--kind", kind, *about, "--pack", str(folder)]) == 0
    text = (folder / "rules" / "first-try.toml").read_text(encoding="utf-8")
    (written,) = tomllib.loads(text)["rule"]
    assert written.get("tasks", []) == [word for word in about if not word.startswith("--")]
    assert "fish-filleting" not in text
    (_, rules), problems = rules_of(tomllib.loads(text), "first-try.toml")
    assert ([rule.id for rule in rules], problems) == (["first-try"], [])


@pytest.mark.parametrize(
    ("about", "told"),
    [
        ([], "no task is named; expected --always, or --task with one of"),
        (["--task", "skinning"], "nearest: game-dressing"),
        (["--task", "Filleting fish"], "nearest: fish-filleting"),
    ],
)
def test_a_draft_without_a_task_is_refused(
    about: list[str], told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["rules", "new", "first-try", *about, "--pack", str(tmp_path / "mine")]) == 2
    assert told in capsys.readouterr().err
    assert not (tmp_path / "mine").exists()
