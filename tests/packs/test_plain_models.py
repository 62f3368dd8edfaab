"""Models as plain data and back."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from recommender.models.base import Model
from recommender.models.knowledge.rule import Example, Goal, Rule
from recommender.packs import checked_files, plain_models
from recommender.packs.checked_files import kept_file
from recommender.packs.knowledge import PackInfo
from recommender.packs.load import TABLES
from recommender.packs.located import models_of, validated
from recommender.packs.plain_models import plain, rebuilt

RULE = {
    "id": "r",
    "kind": "goal",
    "status": "active",
    "title": "t",
    "because": "b",
    "when": {"all": [{"not": {"field": "a", "in": [1, 1.0, True, "x"]}}, {"any": [{"field": "b", "ge": 3}]}]},
    "basis": {"level": "estimate"},
    "effect": {"metric": "m", "from": 1, "to": 2, "weight": 1},
    "examples": [
        {"facts": {"a": [1, 2.5], "b": {"deep": ["x", False]}, "": ""}, "fires": True},
        {"facts": {}, "fires": False},
    ],
}


def typed(value: Any) -> Any:
    """A value with the types of all that is in it: 1, 1.0 and True are equal to each other, () and [] are not."""
    if isinstance(value, Model):
        fields = [name for name in value.__dict__ if name in type(value).model_fields]  # not what was computed since
        return type(value), value.model_fields_set, [(name, typed(getattr(value, name))) for name in fields]
    if isinstance(value, dict):
        return dict, [(key, typed(item)) for key, item in value.items()]
    if isinstance(value, (list, tuple)):
        return type(value), [typed(item) for item in value]
    return type(value), value


def test_a_model_comes_back_with_every_type_and_order() -> None:
    rule = validated(Rule, RULE, "rule")
    again = rebuilt(json.loads(json.dumps(plain(rule))))
    assert typed(again) == typed(rule)
    assert again == rule
    assert again.when.all[0].not_.tests == [("in", (1, 1.0, True, "x"))]
    assert again.model_copy(update={"title": "u"}).title == "u"
    assert validated(Rule, again.model_dump(by_alias=True, exclude_unset=True), "again") == rule


def test_what_is_made_anew_for_each_model_is_not_shared() -> None:
    given = plain(validated(PackInfo, {"id": "p", "title": "t", "version": "1"}, "pack"))
    one, other = rebuilt(given), rebuilt(given)
    assert one.usual_steels == {} == other.usual_steels
    assert one.usual_steels is not other.usual_steels


def test_no_default_that_is_shared_can_be_changed() -> None:
    for model in plain_models._models().values():
        defaults, _ = plain_models._open_fields(model)
        assert not [name for name, value in defaults.items() if isinstance(value, (dict, list, set))], model


def test_no_other_class_is_made() -> None:
    for name in ("Service", "dict ", "Answer", "os.system"):
        with pytest.raises(KeyError):
            rebuilt({"": name})


def _reachable(kind: Any) -> set[type]:
    found: set[type] = set()
    waiting = models_of(kind)
    while waiting:
        model = waiting.pop()
        if model not in found:
            found.add(model)
            waiting += [part for field in model.model_fields.values() for part in models_of(field.annotation)]
    return found


def test_every_model_of_a_pack_is_known_by_its_name() -> None:
    reachable = set().union(*(_reachable(kind) for kind in (Rule, PackInfo, *TABLES.values())))
    assert {Goal, Example} < reachable
    assert all(plain_models._models().get(model.__name__) is model for model in reachable)


@pytest.mark.parametrize("module", ["base", "rule", "tables", "knowledge"])
def test_what_one_version_of_the_models_checked_is_not_taken_by_another(
    module: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (found,) = [m for m in plain_models.MODULES if m.__name__.endswith(f".{module}")]
    before = kept_file(tmp_path)
    changed = tmp_path / "changed.py"
    changed.write_bytes(Path(str(found.__file__)).read_bytes() + b"\n")
    monkeypatch.setattr(found, "__file__", str(changed))
    assert kept_file(tmp_path) != before
    monkeypatch.setattr(checked_files.pydantic, "VERSION", "0")
    assert kept_file(tmp_path) != before


def test_a_process_that_has_validated_nothing_works_with_them(tmp_path: Path) -> None:
    """Written, compared, copied and validated as if they had just been checked."""
    code = (
        "from recommender.service import Service\n"
        "from recommender.models.knowledge.rule import Rule\n"
        "rules = Service(foreign=False).knowledge.rules\n"
        "import sys\n"
        "print('tomllib' in sys.modules)\n"
        "from recommender.packs.located import validated\n"
        "for id, loaded in sorted(rules.items()):\n"
        "    rule = loaded.rule\n"
        "    print(rule.model_dump_json(), rule.model_copy() == rule)\n"
        "    assert validated(Rule, rule.model_dump(by_alias=True, exclude_unset=True), id) == rule\n"
    )
    runs = [
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "XDG_CACHE_HOME": str(tmp_path)},
            capture_output=True, text=True, timeout=300, check=True,
        ).stdout.splitlines()
        for _ in range(2)
    ]  # fmt: skip
    assert [runs[0][0], runs[1][0]] == ["True", "False"]
    assert runs[0][1:] == runs[1][1:]
    assert len(runs[0]) > 200
