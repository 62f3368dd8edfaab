"""Which rules matter: planted rules of known effect come out as what they are; every brief is accounted for."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from recommender.cli import main
from recommender.engine.audit.designed_briefs import Question
from recommender.models.brief import Brief
from recommender.models.knowledge.coverage import Coverage, RuleCoverage
from recommender.service import Service, with_settings

BRIEFS = ["", "tasks.wood-splitting=1", "tasks.fish-filleting=1 wishes.grind=scandi", "blade.height_mm=50"]
HARMLESS = ("never", "idle", "against", "for", "said")
IMPOSSIBLE = "wishes.grind=full-hollow blade.height_mm=50 workshop.wheels_mm=50"
PLANTED = {
    # No climate is both: it cannot fire.
    "never": (
        "lean",
        '{ all = [{ field = "brief.owner.climate", eq = "dry" }, { field = "brief.owner.climate", eq = "wet" }] }',
        "{ points = 5.0 }",
    ),
    # Cleared by every blade: nothing is 1000 mm thick.
    "idle": ("limit", "{ all = [] }", '{ field = "design.stock_thickness_mm", max = 1000.0 }'),
    # Against one grind that is not proposed: it speaks elsewhere alone.
    "against": ("lean", '{ field = "design.grind", eq = "compound" }', "{ points = -1.0 }"),
    # For one grind, as far as a lean can go, and the only such opinion.
    "for": ("lean", '{ field = "design.grind", eq = "convex" }', "{ points = 12.5 }"),
    "thick": ("limit", "{ all = [] }", '{ field = "design.edge_thickness_mm", min = 0.6 }'),
    # No knife is 1000 mm thick behind its edge: nothing fits.
    "shut": ("limit", "{ all = [] }", '{ field = "design.edge_thickness_mm", min = 1000.0 }'),
    "said": ("caution", "{ all = [] }", '{ text = "Mind your fingers.", audience = "everyone" }'),
}


def question(name: str) -> Question:
    return Question(name, with_settings(Brief(), name.split()))


def pack(folder: Path, *names: str) -> str:
    (folder / "rules").mkdir(parents=True)
    (folder / "pack.toml").write_text('id = "planted"\ntitle = "Planted"\nversion = "1"\n', encoding="utf-8")
    for name in names:
        kind, when, effect = PLANTED[name]
        (folder / "rules" / f"{name}.toml").write_text(
            f'id = "{name}"\ntitle = "Planted {name}"\nkind = "{kind}"\nstatus = "active"\nwhen = {when}\n'
            f'effect = {effect}\nbecause = "It is planted for a test."\nbasis = {{ level = "estimate" }}\n'
            "examples = [{ facts = {}, fires = true }, { facts = {}, fires = false }]\n",
            encoding="utf-8",
        )
    return str(folder)


def covered(service: Service, *names: str) -> Coverage:
    return service.rules.coverage(parts for _, parts in service.rules.parts_of_all([question(name) for name in names]))


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, RuleCoverage]:
    service = Service(strict=True, packs=[pack(tmp_path_factory.mktemp("packs") / "planted", *HARMLESS)])
    return {rule.rule: rule for rule in covered(service, *BRIEFS).rules}


def test_a_rule_that_cannot_fire_never_fires(found: dict[str, RuleCoverage]) -> None:
    never = found["never"]
    assert (never.matters, never.fired, never.elsewhere, never.decided) == ("never fires", 0, 0, 0)
    assert never.silent == len(BRIEFS)


def test_a_limit_that_everything_keeps_fires_and_decides_nothing(found: dict[str, RuleCoverage]) -> None:
    idle = found["idle"]
    assert (idle.matters, idle.fired, idle.decided, idle.most) == ("never decides", len(BRIEFS), 0, 0)


def test_a_lean_on_a_grind_speaks_of_it_wherever_it_stands(found: dict[str, RuleCoverage]) -> None:
    """A compound grind is the answer to none of these briefs, and convex is among the blades of all but the wished."""
    against = found["against"]
    assert against.fired == 0
    assert against.elsewhere > 0
    assert against.matters != "never fires"


def test_what_is_said_has_decided(found: dict[str, RuleCoverage]) -> None:
    assert (found["said"].fired, found["said"].decided) == (len(BRIEFS), len(BRIEFS))


def test_a_lean_without_which_another_grind_wins_decides(service: Service, tmp_path: Path) -> None:
    """Asked of the engine itself: with the lean convex is the answer, without it another grind."""
    with_it = Service(strict=True, packs=[pack(tmp_path / "planted", "for")])
    name = "tasks.food-prep=1"
    assert next(with_it.answers(question(name).brief)).proposal.grind == "convex"
    assert next(service.answers(question(name).brief)).proposal.grind != "convex"
    (rule,) = [rule for rule in covered(with_it, name).rules if rule.rule == "for"]
    assert (rule.fired, rule.decided, rule.decided_grind, rule.most) == (1, 1, 1, 12.5)


def test_a_limit_that_alone_shuts_out_the_winner_decides(tmp_path: Path) -> None:
    name = "tasks.food-prep=1"
    service = Service(strict=True, packs=[pack(tmp_path / "planted", "thick")])
    assert next(service.answers(question(name).brief)).proposal.edge_thickness_mm >= 0.6
    (rule,) = [rule for rule in covered(service, name).rules if rule.rule == "thick"]
    assert rule.decided == 1


def test_every_brief_is_accounted_for(service: Service, found: dict[str, RuleCoverage]) -> None:
    for rule in found.values():
        assert rule.fired + rule.silent + rule.blocked == len(BRIEFS), rule.rule
        assert rule.elsewhere <= rule.silent + rule.blocked
        assert rule.decided_grind <= rule.decided <= rule.fired + rule.elsewhere, rule.rule
    for name in [*BRIEFS, IMPOSSIBLE]:
        parts = service.rules.parts(question(name))
        assert set(parts.by_rule) == set(service.knowledge.rules)
        assert {part.state for part in parts.by_rule.values()} <= {"fired", "silent", "blocked"}


def test_what_alone_shuts_everything_out_decides(tmp_path: Path) -> None:
    told = covered(Service(strict=True, packs=[pack(tmp_path / "planted", "shut")]), "tasks.food-prep=1")
    assert (told.briefs, told.answered) == (1, 0)
    (rule,) = [rule for rule in told.rules if rule.rule == "shut"]
    assert (rule.decided, rule.decided_grind) == (1, 1)
    assert rule.most > 1000, "every candidate"


def test_the_least_that_matters_comes_first(found: dict[str, RuleCoverage]) -> None:
    order = [rule.decided for rule in found.values()]
    assert order == sorted(order)
    places = list(found)
    assert places.index("never") < places.index("idle") < places.index("said")


def test_never_is_for_a_pack_of_ones_own(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = pack(tmp_path / "planted", "never", "said")
    briefs = tmp_path / "briefs"
    briefs.mkdir()
    (briefs / "one.toml").write_text("[tasks]\nprying = 1\n", encoding="utf-8")
    argv = ["rules", "coverage", "--briefs", str(briefs), "--sample", "0", "--jobs", "1", "--packs", folder]
    assert main([*argv, "--never", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert (told["schema"], told["briefs"]) == ("bevelwright.coverage/1", 1)
    assert "never" in {rule["rule"] for rule in told["rules"]}
    assert {rule["fired"] + rule["elsewhere"] for rule in told["rules"]} == {0}
    assert main([*argv, "--never"]) == 1
    text = capsys.readouterr().out
    assert f"{len(told['rules'])} never fire." in text
    assert "said" not in text.split()
    assert main(argv) == 0
    text = capsys.readouterr().out
    assert text.index("never") < text.index("said")


def test_several_processes_say_the_same(service: Service) -> None:
    asked = [question(name) for name in BRIEFS[:2]]
    alone = [parts for _, parts in service.rules.parts_of_all(asked, 1)]
    assert [parts for _, parts in service.rules.parts_of_all(asked, 2)] == alone
