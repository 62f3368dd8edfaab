"""Plug-ins that do harm: whatever they do, the core's answer is the one without them, and they are named.

The answer without them is what the outside can say: a plug-in that adds no rule and no grind moves no blade.
"""

from __future__ import annotations

import dataclasses
import decimal
import io
import json
import subprocess
import sys
import types
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from bevelwright_builtin.grinds import flat

from recommender.cli import main
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.plugin.api import Grind, Metric, Refusal
from recommender.plugin.hooks import hookimpl
from recommender.plugin.lending import digest, twin
from recommender.plugin.testing import check_grind, check_metric
from recommender.service import Service, with_settings
from recommender.units import Unit

BRIEF = with_settings(Brief(), ["tasks.food-prep=1"])
FLAT = flat.GRINDS[0]


def metric(compute: Callable[..., Any], id: str = "mine", **changes: Any) -> Metric:
    return Metric(id, "mine", Unit.MM, "higher", "A figure of the test.", False, compute, **changes)


def another_flat(id: str = "another-flat", **changes: Any) -> Grind:
    return dataclasses.replace(FLAT, id=id, label="another flat", **changes)


def giving(**hooks: Any) -> types.SimpleNamespace:
    given = {name: hookimpl(lambda items=items: list(items)) for name, items in hooks.items()}
    return types.SimpleNamespace(BEVELWRIGHT_API=1, **given)


def service_with(*metrics: Metric, grinds: tuple[Grind, ...] = ()) -> Service:
    return Service(plugins={"hostile": giving(metrics=metrics, grinds=grinds)}, own_packs=False)


@pytest.fixture(scope="module")
def alone() -> Answer:
    return Service(own_packs=False).recommend(BRIEF, flips=False)


def ours(answer: Answer) -> dict[str, Any]:
    """An answer without what is said of plug-ins, and without the figure of the hostile one."""
    data = answer.as_json()
    data.pop("provenance")
    data["metrics"] = {name: value for name, value in data["metrics"].items() if not name.startswith("mine")}
    return json.loads(json.dumps(data))


def no_number(sections: Any) -> Any:
    return np.zeros(len(sections))


# What each does, and what is said of it; None where it harms nobody and need not be found.

Hostile = tuple[Callable[..., Any], str | None]


def carbides(sections: Any, context: Any) -> Any:
    for name in context.steel.carbides:
        context.steel.carbides[name] = 90.0
    return no_number(sections)


def carbides_past_the_proxy(sections: Any, context: Any) -> Any:
    import gc

    (behind,) = gc.get_referents(context.steel.carbides)
    behind.update(dict.fromkeys(behind, 90.0))
    return no_number(sections)


def steel(sections: Any, context: Any) -> Any:
    object.__setattr__(context.steel, "yield_mpa", 1.0)
    return no_number(sections)


def task(sections: Any, context: Any) -> Any:
    for load in context.tasks:
        vars(load.task)["thickest_edge_mm"] = 99.0
        vars(load.material.friction)["likely"] = 99.0
    return no_number(sections)


WRITING: dict[str, Hostile] = {
    "carbides": (carbides, "TypeError"),
    "carbides past the proxy": (carbides_past_the_proxy, "changed the Context that it was lent"),
    "the steel": (steel, "changed the Context that it was lent"),
    "a task": (task, "changed the Context that it was lent"),
}


def base_of_outlines(sections: Any, context: Any) -> Any:
    base = sections.drawn
    while isinstance(base.base, np.ndarray):
        base = base.base
    base[...] = 1.0
    return no_number(sections)


def flags(sections: Any, context: Any) -> Any:
    column = sections.designs["height_mm"]
    column.flags.writeable = True
    column[:] = 1.0
    return no_number(sections)


def flags_of_a_base(sections: Any, context: Any) -> Any:
    column = sections.designs["edge_thickness_mm"]
    while isinstance(column.base, np.ndarray):
        column = column.base
    column.flags.writeable = True
    column[:] = 5.0
    return no_number(sections)


def kept_figures(sections: Any, context: Any) -> Any:
    sections.apex_included_rad[:] = 3.0
    sections.sides.w[:] = 0.5
    sections.designs.edge_bevel_height_mm[:] = 9.0
    sections.designs.chord_angle_rad[:] = 1.0
    return no_number(sections)


def figures_of_others(sections: Any, context: Any) -> Any:
    def planted(sections: Any) -> Any:
        return np.full(len(sections), 3.0)

    planted.__module__ = "recommender.plugin.api.sections"
    sections.figure("apex", planted)
    return no_number(sections)


BASES: dict[str, Hostile] = {
    "base of outlines": (base_of_outlines, "read-only"),
    "flags": (flags, "WRITEABLE"),
    "flags of a base": (flags_of_a_base, "WRITEABLE"),
    "kept figures": (kept_figures, None),
    "figures of others": (figures_of_others, None),
}
NUMBERS: dict[str, Hostile] = {
    "inf": (lambda s, c: np.full(len(s), np.inf), "infinite"),
    "one inf": (lambda s, c: np.where(np.arange(len(s)) == 0, -np.inf, 1.0), "infinite"),
    "too large for a float": (lambda s, c: np.array([10**400] * len(s), dtype=object), "OverflowError"),
}


class NoException(BaseException):
    """Nothing that anybody catches by its name."""


class SpeechlessError(BaseException):
    """Not even told without raising."""

    def __str__(self) -> str:
        raise SystemExit(0)


def raising(error: BaseException) -> Callable[..., Any]:
    def compute(*_: Any) -> Any:
        raise error

    return compute


def endless(*_: Any) -> Any:
    return endless()


RAISING: dict[str, Hostile] = {
    "a BaseException": (raising(NoException("out")), "NoException: out"),
    "GeneratorExit": (raising(GeneratorExit()), "GeneratorExit"),
    "SystemExit of success": (raising(SystemExit(0)), "SystemExit: 0"),
    "a speechless one": (raising(SpeechlessError()), "SpeechlessError"),
    "recursion": (endless, "RecursionError"),
    "memory": (lambda s, c: np.zeros(10**15), "MemoryError"),
}
PRINTING: dict[str, Hostile] = {
    "a flood": (lambda s, c: print("x" * 1000, end="\n" * 100_000) or no_number(s), "printed more than"),
    "escapes": (lambda s, c: print("\x1b[2J\x9b31m\u202e") or no_number(s), None),
}


def another_output(sections: Any, context: Any) -> Any:
    sys.stdout = io.StringIO()
    return no_number(sections)


def numpy_raises(sections: Any, context: Any) -> Any:
    np.seterr(all="raise")
    decimal.getcontext().prec = 1
    return no_number(sections)


SETTING: dict[str, Hostile] = {"another output": (another_output, None), "numpy raises": (numpy_raises, None)}
SHAPES: dict[str, Hostile] = {
    "a table": (lambda s, c: np.zeros((len(s), 3)), "shape"),
    "a number": (lambda s, c: 1.0, "shape ()"),
    "huge": (lambda s, c: np.zeros(3_000_000_000, dtype=np.int8), "shape (3000000000,)"),
    "text": (lambda s, c: np.full(len(s), "x"), "ValueError"),
}
METRICS = {**WRITING, **BASES, **NUMBERS, **RAISING, **PRINTING, **SETTING, **SHAPES}


@pytest.fixture(scope="module")
def hostile() -> Answer:
    """One question with all of them, each a plug-in of its own, which the next would suffer from."""
    precision, out = decimal.getcontext().prec, sys.stdout
    plugins = {
        name: giving(metrics=[metric(compute, id=f"mine-{place}")])
        for place, (name, (compute, _)) in enumerate(METRICS.items())
    }
    with np.errstate():
        answer = Service(plugins=plugins, own_packs=False).recommend(BRIEF, flips=False)
        assert np.geterr()["under"] == "ignore"
    assert decimal.getcontext().prec == precision
    assert sys.stdout is out or getattr(sys.stdout, "stream", None) is out
    return answer


def test_metrics_change_nothing_of_the_core_answer(hostile: Answer, alone: Answer) -> None:
    assert ours(hostile) == ours(alone)


@pytest.mark.parametrize("name", METRICS)
def test_a_metric_that_does_harm_is_named(name: str, hostile: Answer) -> None:
    says = METRICS[name][1]
    own = [failed for failed in hostile.provenance.failed if failed.startswith(f"plug-in {name} (given 0) failed")]
    assert all(" while computing mine-" in failed and "\n" not in failed for failed in own)
    assert (says is None and own == []) or (says is not None and says in " ".join(own))


def test_what_is_printed_is_cleaned_and_never_on_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    service_with(metric(METRICS["escapes"][0])).recommend(BRIEF, flips=False)
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err
    assert not set(printed.err) & set("\x1b\x9b\u202e")


@pytest.mark.parametrize("name", [*WRITING, *BASES, *NUMBERS, *RAISING, "a flood", *SHAPES])
def test_the_kit_does_not_call_such_a_metric_sound(name: str) -> None:
    compute, says = METRICS[name]
    found = " ".join(map(str, check_metric(metric(compute))))
    assert found or says is None
    # What the kit tries others on is as it was.
    assert check_metric(metric(lambda s, c: s.apex_included_rad * 1.0)) == []


def moving_designs(designs: Any) -> Any:
    columns = dict(designs.columns)
    object.__setattr__(designs, "columns", {**columns, "edge_thickness_mm": columns["edge_thickness_mm"] * 9})
    return FLAT.complete(designs)


def closing_shop(designs: Any, workshop: Any) -> Any:
    object.__setattr__(workshop, "platen", False)
    object.__setattr__(workshop, "slack_belt", False)
    object.__setattr__(workshop, "wheels_mm", ())
    return FLAT.refusals(designs, workshop)


def infinite_line(designs: Any) -> Any:
    return FLAT.complete(designs).changed(own_mm=np.inf)


def ragged(designs: Any) -> Any:
    whole = FLAT.complete(designs)
    object.__setattr__(whole, "columns", {**whole.columns, "own_mm": np.zeros((len(designs), 2))})
    return whole


class Held:
    """Keeps what it has given, and changes it later."""

    def __init__(self) -> None:
        self.given: list[Any] = []

    def outlines(self, designs: Any) -> Any:
        for old in self.given:
            old *= 1.5
        drawn = np.array(FLAT.outlines(designs), order="F")
        self.given.append(drawn)
        return drawn


LENT: dict[str, tuple[dict[str, Any], str]] = {
    "designs": ({"complete": moving_designs}, "changed the Designs that it was lent"),
    "the workshop": ({"refusals": closing_shop}, "changed the Workshop that it was lent"),
}
GIVEN: dict[str, tuple[dict[str, Any], str]] = {
    "infinite": ({"complete": infinite_line}, "own_mm is infinite"),
    "a column of another shape": ({"complete": ragged}, "own_mm of a wrong shape"),
    "out of nothing": ({"outlines": raising(NoException("out"))}, "NoException"),
    "a plane of outlines": ({"outlines": lambda d: np.zeros((30_000_000, 9, 3), dtype=np.int8)}, "of a wrong shape"),
    "rows of another batch": (
        {"refusals": lambda d, w: [Refusal(np.zeros((len(d), 2), dtype=bool), "too thick for it")]},
        "rows of shape",
    ),
}
GRINDS = {**LENT, **GIVEN}


@pytest.mark.parametrize("kind", [LENT, GIVEN], ids=["lent", "given"])
def test_grinds_that_do_harm_are_named_and_have_no_part_in_the_answer(kind: Any, alone: Answer) -> None:
    plugins = {
        name: giving(grinds=[another_flat(f"another-{place}", **changes)])
        for place, (name, (changes, _)) in enumerate(kind.items())
    }
    answer = Service(plugins=plugins, own_packs=False).recommend(BRIEF, flips=False)
    for name, (_, says) in kind.items():
        own = [f for f in answer.provenance.failed if f.startswith(f"plug-in {name} (given 0) failed while ")]
        assert says in " ".join(own), name
    blades = [answer.proposal, *(other.proposal for other in answer.alternatives)]
    assert not [blade.grind for blade in blades if blade is not None and blade.grind.startswith("another")]
    if kind is LENT:  # asked again without them: the very answer of before
        assert ours(answer) == ours(alone)


@pytest.mark.parametrize("name", [name for name in GRINDS if "plane" not in name])
def test_the_kit_does_not_call_such_a_grind_sound(name: str) -> None:
    assert check_grind(another_flat(**GRINDS[name][0]))


def test_outlines_that_a_grind_keeps_and_changes_later_are_those_it_gave() -> None:
    fair = service_with(grinds=(another_flat(),)).recommend(BRIEF, flips=False)
    held = service_with(grinds=(another_flat(outlines=Held().outlines),)).recommend(BRIEF, flips=False)
    assert ours(held) == ours(fair)


def test_one_that_is_left_out_is_asked_again_in_the_next_question() -> None:
    """What failed in one answer has no part in the next: the same brief has the same answer, whatever came before."""

    def sometimes(sections: Any, context: Any) -> Any:
        if context.tasks[0].task.id == "prying":
            object.__setattr__(context.steel, "yield_mpa", 1.0)
        return np.ones(len(sections))

    service = service_with(metric(sometimes))
    prying = service.recommend(with_settings(Brief(), ["tasks.prying=1"]), flips=False)
    assert "changed the Context" in " ".join(prying.provenance.failed)
    assert "hostile" not in {used.plugin for used in prying.provenance.plugins}
    assert "mine" not in prying.metrics
    kitchen = service.recommend(BRIEF, flips=False)
    assert kitchen.provenance.failed == []
    assert kitchen.metrics["mine"].value == 1.0


def test_a_wish_for_a_grind_that_is_left_out_fails_with_its_name(capsys: pytest.CaptureFixture[str]) -> None:
    from recommender.errors import PluginError

    service = service_with(grinds=(another_flat(complete=moving_designs),))
    with pytest.raises(PluginError, match=r"hostile .* changed the Designs"):
        service.recommend(with_settings(Brief(), ["wishes.grind=another-flat"]), flips=False)


def test_where_it_does_not_apply_a_figure_may_be_infinite() -> None:
    half = metric(
        lambda s, c: np.where(np.arange(len(s)) % 2, np.inf, 1.0), applies=lambda s: np.arange(len(s)) % 2 == 0
    )
    assert service_with(half).recommend(BRIEF, flips=False).provenance.failed == []


def test_a_twin_has_no_part_in_what_it_is_a_twin_of() -> None:
    (measured, *_) = Service(own_packs=False).briefs.specimens(BRIEF, 5, 20)
    for shared in (measured.sections, measured.context, measured.context.tasks):
        own = twin(shared)
        assert digest(own) == digest(shared)
        assert own is not shared
    own = twin(measured.sections)
    assert own.drawn_tips is own.drawn
    assert np.array_equal(own.outlines, measured.sections.outlines)
    assert not any(np.shares_memory(own.designs[c], measured.designs[c]) for c in own.designs.columns)


# The command line.


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Installs a plug-in `hostile` of the source given."""
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.syspath_prepend(tmp_path)
    info = tmp_path / "hostile-3.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: hostile\nVersion: 3\n", encoding="utf-8")
    (info / "entry_points.txt").write_text("[bevelwright.plugins]\nhostile = hostile_plugin\n", encoding="utf-8")
    yield lambda source: (tmp_path / "hostile_plugin.py").write_text(source, encoding="utf-8")
    sys.modules.pop("hostile_plugin", None)


LEAVING = """
import sys
from recommender.models.answer.proposal import Answer
BEVELWRIGHT_API = 1
Answer.as_json = lambda self: sys.exit(0)
"""


def test_no_answer_is_never_exit_code_0(site: Callable[[str], None], tmp_path: Path) -> None:
    """A plug-in that ends the program where nobody calls it: an empty page is no answer."""
    site(LEAVING)
    command = [sys.executable, "-m", "recommender", "recommend", "--json", "--set", "tasks.food-prep=1"]
    ended = subprocess.run(command, capture_output=True, text=True, check=False, cwd=tmp_path)
    assert ended.stdout == ""
    assert ended.returncode == 3, ended.stderr
    assert "no answer was written (SystemExit: 0)" in ended.stderr.splitlines()[-1]


MARKING = "from pathlib import Path\nPath(__file__).with_name('mark').touch()\nBEVELWRIGHT_API = 1\n"
COMMANDS = [
    ["tasks", "--json"],
    ["rules", "list"],
    ["plugins", "list"],
    ["fields"],
    [
        "section",
        "--grind",
        "full-flat",
        "--stock",
        "3",
        "--height",
        "30",
        "--line",
        "30",
        "--edge-thickness",
        "0.4",
        "--edge-angle-per-side",
        "15",
    ],
    ["rules", "show", "food-prep-no-cracking"],
    ["shop", "show"],
]


@pytest.mark.parametrize(
    ("options", "before"), [(["--no-plugins"], True), (["--no-plugins"], False), (["--without", "hostile"], True)]
)
@pytest.mark.parametrize("command", COMMANDS, ids=lambda c: c[0])
def test_every_command_can_do_without_plugins(
    command: list[str],
    options: list[str],
    before: bool,
    site: Callable[[str], None],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    site(MARKING)
    code = main([*options, *command] if before else [*command, *options])
    said = capsys.readouterr()
    assert code == 0, said.err
    assert said.out
    assert not (tmp_path / "mark").exists()
    if command[0] == "plugins":
        assert f"hostile (hostile 3), disabled by {options[0]}: not imported" in said.out
        assert "builtin" in said.out
        assert "pack: core" in said.out


@pytest.mark.parametrize("command", [["recommend"], ["shop", "show"], ["tasks"], []], ids=" ".join)
def test_a_plugin_that_is_not_there_cannot_be_left_out(
    command: list[str], site: Callable[[str], None], capsys: pytest.CaptureFixture[str]
) -> None:
    site(MARKING)
    assert main(["--without", "hostil", *command]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "there is no plug-in 'hostil'" in said.err
    assert "nearest: hostile" in said.err


def test_the_interface_can_do_without_plugins(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is said before a command or without one reaches the engine's process before it is started."""
    import recommender.worker.launch as launch

    class NoScreenError(Exception):
        pass

    def launcher(without: Sequence[str], *, foreign: bool) -> None:
        opened.append((foreign, list(without)))
        raise NoScreenError

    opened: list[tuple[bool, list[str]]] = []
    monkeypatch.setattr(launch, "Launcher", launcher)
    for stream in (sys.stdin, sys.stdout):
        monkeypatch.setattr(stream, "isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm")
    with pytest.raises(NoScreenError):
        main(["--no-plugins", "--without", "builtin"])
    assert opened == [(False, ["builtin"])]
