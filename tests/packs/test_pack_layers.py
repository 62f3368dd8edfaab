"""Packs over each other: the last has the last word, visibly; a broken one of the user's own costs only itself."""

from __future__ import annotations

from pathlib import Path

import pytest

from recommender.errors import PackError
from recommender.models.brief import Brief
from recommender.packs.sources import own_folder
from recommender.packs.written_rules.rule_scaffold import new_rule
from recommender.service import Service, with_settings

BRIEF = with_settings(Brief(), ["tasks.fish-filleting=1"])


@pytest.fixture(autouse=True)
def own_data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


def active(folder: Path, id_: str, kind: str = "goal", switch_off: str = "") -> Path:
    file, pack = new_rule(id_, kind, folder, tasks=["fish-filleting"])
    file.write_text(file.read_text(encoding="utf-8").replace('"draft"', '"active"'), encoding="utf-8")
    if switch_off:
        with (pack / "pack.toml").open("a", encoding="utf-8") as handle:
            handle.write(f'switch_off = ["{switch_off}"]\n')
    return pack


def test_a_draft_does_not_count_and_an_active_one_does(tmp_path: Path) -> None:
    new_rule("fillet-knife-flexes", "goal", tmp_path / "mine", tasks=["fish-filleting"])
    assert "fillet-knife-flexes" not in Service(packs=[str(tmp_path / "mine")]).knowledge.rules
    active(tmp_path / "other", "fillet-knife-flexes")
    service = Service(packs=[str(tmp_path / "other")])
    assert service.knowledge.rules["fillet-knife-flexes"].pack == "other"
    answer = service.recommend(BRIEF, flips=False)
    assert "fillet-knife-flexes" in {reason.rule for reason in answer.reasons}
    assert answer.provenance.packs["other"] == "1"


@pytest.mark.parametrize("kind", ["limit", "goal", "lean", "caution", "advice"])
def test_what_new_writes_loads_once_it_is_active(tmp_path: Path, kind: str) -> None:
    pack = active(tmp_path / "mine", "a-rule", kind)
    assert Service(packs=[str(pack)]).knowledge.rules["a-rule"].rule.kind == kind


def test_a_later_pack_replaces_a_rule_and_the_answer_says_so(tmp_path: Path) -> None:
    pack = active(tmp_path / "mine", "fish-filleting-gives")
    service = Service(packs=[str(pack)])
    assert service.knowledge.rules["fish-filleting-gives"].pack == "mine"
    assert service.recommend(BRIEF, flips=False).provenance.overruled == [
        "mine replaces rule fish-filleting-gives of core"
    ]


def test_a_later_pack_switches_a_rule_off_and_the_answer_says_so(tmp_path: Path) -> None:
    before = Service().recommend(BRIEF, flips=False)
    assert "fish-filleting-gives" in {reason.rule for reason in before.reasons}
    pack = active(tmp_path / "mine", "a-rule", "advice", switch_off="fish-filleting-gives")
    answer = Service(packs=[str(pack)]).recommend(BRIEF, flips=False)
    assert "fish-filleting-gives" not in {reason.rule for reason in answer.reasons}
    assert answer.provenance.overruled == ["mine switches off rule fish-filleting-gives of core"]


def test_switching_off_what_is_not_there_names_the_nearest(tmp_path: Path) -> None:
    pack = active(tmp_path / "mine", "a-rule", switch_off="fish-filleting-give")
    with pytest.raises(PackError) as caught:
        _ = Service(packs=[str(pack)]).knowledge
    assert (caught.value.key, caught.value.nearest) == ("switch_off", "fish-filleting-gives")


def test_packs_lie_over_each_other_in_the_stated_order(tmp_path: Path) -> None:
    active(own_folder() / "a-first", "a-rule")
    active(own_folder() / "b-second", "a-rule")
    assert Service().knowledge.rules["a-rule"].pack == "b-second"
    given = active(tmp_path / "given", "a-rule")
    assert Service(packs=[str(given)]).knowledge.rules["a-rule"].pack == "given"
    assert list(Service(packs=[str(given)]).recommend(BRIEF, flips=False).provenance.packs) == [
        "core",
        "a-first",
        "b-second",
        "given",
    ]
    assert "a-rule" not in Service(own_packs=False).knowledge.rules


def test_a_folder_of_packs_counts_each(tmp_path: Path) -> None:
    active(tmp_path / "all" / "one", "rule-one")
    active(tmp_path / "all" / "two", "rule-two")
    assert {"rule-one", "rule-two"} <= set(Service(packs=[str(tmp_path / "all")]).knowledge.rules)


def test_a_broken_pack_of_ones_own_is_named_and_the_answer_comes(tmp_path: Path) -> None:
    pack = active(own_folder() / "mine", "a-rule")
    active(own_folder() / "sound", "sound-rule")
    file = pack / "rules" / "a-rule.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('kind = "goal"', 'kind = "gaol"'), encoding="utf-8")
    answer = Service().recommend(BRIEF, flips=False)
    assert answer.proposal is not None
    (left_out,) = answer.provenance.failed
    assert "mine/rules/a-rule.toml: a-rule: kind" in left_out
    assert "sound" in answer.provenance.packs
    with pytest.raises(PackError):
        _ = Service(strict=True).knowledge


def test_a_broken_pack_that_was_given_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PackError, match=r"no pack; expected a folder with a pack\.toml"):
        _ = Service(packs=[str(tmp_path)]).knowledge


def test_two_packs_of_one_id_are_refused(tmp_path: Path) -> None:
    one, two = active(tmp_path / "mine", "rule-one"), active(tmp_path / "again" / "mine", "rule-two")
    with pytest.raises(PackError, match="there is a pack mine already"):
        _ = Service(packs=[str(one), str(two)]).knowledge
