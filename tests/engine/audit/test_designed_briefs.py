"""The designed sample: every pair of things said comes up, the first briefs stay the same, names are the briefs."""

from __future__ import annotations

from itertools import combinations, product
from pathlib import Path

import pytest

from recommender.engine.audit.designed_briefs import briefs_in, designed
from recommender.errors import InputError
from recommender.models.brief import Brief
from recommender.service import Service, with_settings


@pytest.fixture(scope="module")
def every(service: Service) -> list[str]:
    return [question.name for question in designed(service.knowledge, service.grinds, 100_000)]


def test_each_task_comes_alone_and_each_grind_is_wished_for(service: Service, every: list[str]) -> None:
    assert every[:13] == [f"tasks.{task}=1" for task in sorted(service.knowledge.tasks)]
    wished = {word.partition("=")[2] for name in every for word in name.split() if word.startswith("wishes.grind")}
    assert wished == set(service.grinds)


def test_every_two_things_come_up_together(service: Service, every: list[str]) -> None:
    """Read off the names alone: each task with each gear, steel and task, each gear with each skill and so on."""
    said = [frozenset(name.split()) for name in every]
    together = {frozenset(pair) for words in said for pair in combinations(sorted(words), 2)}
    tasks, knowledge = sorted(service.knowledge.tasks), service.knowledge
    wanted = {
        "main": [f"tasks.{task}=1" for task in tasks],
        "gear": [f"owner.gear={gear}" for gear in knowledge.gear],
        "steel": [f"steel.grade={steel}" for steel in knowledge.steels],
        "skill": [f"owner.skill={skill}" for skill in ("beginner", "practised", "expert")],
        "climate": [f"owner.climate={climate}" for climate in ("dry", "wet", "salt")],
        "hand": ["owner.hand=left", "owner.hand=right"],
        "shop": ["workshop.wheels_mm=", "workshop.platen=no", "workshop.slack_belt=no"],
    }
    for one, other in combinations(wanted.values(), 2):
        missing = [pair for pair in product(one, other) if frozenset(pair) not in together]
        assert missing == []
    for one, other in combinations(tasks, 2):
        assert {
            frozenset({f"tasks.{one}=1", f"tasks.{other}=0.4"}),
            frozenset({f"tasks.{other}=1", f"tasks.{one}=0.4"}),
        } <= together


def test_a_smaller_sample_is_the_beginning_of_a_larger(service: Service, every: list[str]) -> None:
    some = designed(service.knowledge, reversed(list(service.grinds)), 40)
    assert [question.name for question in some] == every[:40]
    assert len(set(every)) > 0.95 * len(every)


def test_a_name_gives_the_brief(service: Service) -> None:
    for question in designed(service.knowledge, service.grinds, 60):
        assert with_settings(Brief(), question.name.split()) == question.brief
        assert service.briefs.resolve(question.brief).tasks


def test_a_folder_of_briefs_leaves_expectations_out(tmp_path: Path) -> None:
    (tmp_path / "b.toml").write_text("[tasks]\nprying = 1\n", encoding="utf-8")
    (tmp_path / "a.toml").write_text('title = "A"\n', encoding="utf-8")
    (tmp_path / "a.expected.toml").write_text("this is no brief", encoding="utf-8")
    found = briefs_in(tmp_path)
    assert [(question.name, question.brief.title, dict(question.brief.tasks)) for question in found] == [
        ("a", "A", {}),
        ("b", None, {"prying": 1.0}),
    ]


def test_a_folder_without_briefs_or_with_a_broken_one_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no brief"):
        briefs_in(tmp_path)
    with pytest.raises(InputError, match="cannot be read"):
        briefs_in(tmp_path / "none")
    (tmp_path / "a.toml").write_text("[task]\nprying = 1\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"a\.toml: task: unknown key"):
        briefs_in(tmp_path)
