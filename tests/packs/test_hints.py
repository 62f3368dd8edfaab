"""Where people got stuck: what an error says to somebody who writes letters, not programs."""

from __future__ import annotations

from pathlib import Path

import pytest

from recommender.errors import InputError, PackError
from recommender.models.brief import Brief
from recommender.parsing import parse_toml
from recommender.plugin.scaffold import new_plugin
from recommender.service import Service, with_settings

RULE = """[[rule]]
id = "{id}"
title = "A hint"
kind = "lean"
tasks = ["{task}"]
when = {{ field = "design.parent", eq = "{parent}" }}
points = 1.0
because = "It was written for a test."
basis = {{ level = "estimate" }}
examples = [
  {{ facts = {{ "brief.tasks" = ["prying"], "design.parent" = "flat" }}, fires = true }},
  {{ facts = {{ "brief.tasks" = [], "design.parent" = "flat" }}, fires = false }},
]
"""


def pack(folder: Path, more: str = "", **values: str) -> str:
    (folder / "rules").mkdir(parents=True)
    (folder / "pack.toml").write_text(f'id = "{folder.name}"\ntitle = "x"\nversion = "1"\n{more}', encoding="utf-8")
    text = RULE.format(**{"id": f"hint-{folder.name}", "task": "prying", "parent": "flat", **values})
    (folder / "rules" / "hint.toml").write_text(text, encoding="utf-8")
    return str(folder)


def refused(*places: str) -> PackError:
    with pytest.raises(PackError) as caught:
        _ = Service(packs=places, own_packs=False).knowledge
    return caught.value


def test_a_task_is_found_by_what_people_call_it(tmp_path: Path) -> None:
    assert refused(pack(tmp_path / "mine", task="skinning")).nearest == "game-dressing"


def test_a_field_of_few_values_lists_them(tmp_path: Path) -> None:
    problem = refused(pack(tmp_path / "mine", parent="round"))
    assert (problem.rule, problem.key) == ("hint-mine", "when.eq")
    assert problem.expected == "one of convex, flat, hollow"


@pytest.mark.parametrize(
    ("line", "hint"),
    [("title = “Mine”", "straight quotes"), ("weight = 1,5", "a point in numbers"), ("weight = = 1", "TOML")],
)
def test_quotes_and_commas_of_letters(line: str, hint: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_toml(f'[[rule]]\nid = "a"\n{line}\n'.encode(), "mine.toml")
    assert hint in str(caught.value.expected)


def test_switching_off_ones_own_rule_or_in_a_circle_says_so(tmp_path: Path) -> None:
    own = refused(pack(tmp_path / "mine", 'switch_off = ["hint-mine"]\n'))
    assert "a rule of this pack itself" in str(own)
    one = pack(tmp_path / "one", 'switch_off = ["hint-two"]\n')
    two = pack(tmp_path / "two", 'switch_off = ["hint-one"]\n')
    assert "lies over this pack, which switches off a rule of this one in turn" in str(refused(one, two))


def test_a_rule_that_guards_people_is_not_switched_off_in_silence(tmp_path: Path) -> None:
    off = 'switch_off = [{ id = "prying-bears-moment", because = "Ours are tested to breaking." }]\n'
    answer = Service(packs=[pack(tmp_path / "mine", off)]).recommend(
        with_settings(Brief(), ["tasks.prying=1"]), flips=False
    )
    (told,) = [words for words in answer.cautions if words.id == "prying-bears-moment"]
    assert told.pack == "mine"
    assert "Ours are tested to breaking." in told.text
    assert told.short is not None
    assert len(told.short) <= 76
    assert any("which guards people" in line for line in answer.provenance.overruled)


def test_every_reason_and_caution_names_its_rule_and_pack(service: Service) -> None:
    answer = service.recommend(with_settings(Brief(), ["tasks.prying=1"]), flips=False)
    for reason in answer.reasons:
        assert service.knowledge.rules[reason.rule].pack == reason.pack
    for words in (*answer.cautions, *answer.advice):
        assert service.knowledge.rules[words.id].pack == words.pack


def test_an_answer_tells_packs_and_plugins_by_their_content(tmp_path: Path) -> None:
    place = pack(tmp_path / "mine")
    first = Service(packs=[place]).recommend(Brief(), flips=False).provenance
    again = Service(packs=[place]).recommend(Brief(), flips=False).provenance
    file = tmp_path / "mine" / "rules" / "hint.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("points = 1.0", "points = 0.5"), encoding="utf-8")
    changed = Service(packs=[place]).recommend(Brief(), flips=False).provenance
    assert first.pack_digests == again.pack_digests
    assert set(first.pack_digests) == set(first.packs) == {"core", "mine"}
    assert first.pack_digests["core"] == changed.pack_digests["core"]
    assert first.pack_digests["mine"] != changed.pack_digests["mine"]
    assert first.grind_from == "builtin"
    assert all(len(used.digest) == 12 for used in first.plugins)


def test_no_folder_hides_the_package_in_it(tmp_path: Path) -> None:
    folder, *files = new_plugin("rivers", "pack", tmp_path)
    assert {file.relative_to(folder).parts[0] for file in files} >= {"rivers_plugin"}
    assert ">=" in (folder / "pyproject.toml").read_text(encoding="utf-8")
