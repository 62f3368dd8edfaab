"""Plug-ins that break: named, left out, and the answer still comes."""

from __future__ import annotations

import dataclasses
import json
import math
import os
import subprocess
import sys
import types
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree

import numpy as np
import pytest
from bevelwright_builtin.grinds import flat

from recommender.drawing.text.answer.answer_text import answer_text
from recommender.errors import PluginError
from recommender.models.brief import Brief
from recommender.plugin.api import API_VERSION, Metric, Parameter, Refusal, Writer
from recommender.plugin.hooks import hookimpl
from recommender.service import Service, with_settings
from recommender.units import Unit


def plugin(**hooks) -> types.SimpleNamespace:
    return types.SimpleNamespace(BEVELWRIGHT_API=API_VERSION, **{n: hookimpl(f) for n, f in hooks.items()})


def metric(compute, id_: str = "cut_force_too") -> Metric:
    return Metric(id=id_, label="x", unit=Unit.NONE, better="higher", about="x", estimate=True, compute=compute)


def changed(item, **changes):
    return dataclasses.replace(item, **changes)


def knob(**changes) -> Parameter:
    return dataclasses.replace(Parameter("stock_thickness_mm", "stock thickness", Unit.MM, 1.0, 5.0, 0.5), **changes)


def installed(folder: Path, name: str, source: str | None) -> None:
    """Lay a distribution with a plug-in into a folder, as an installer does."""
    module = name.replace("-", "_")
    if source is not None:
        (folder / f"{module}.py").write_text(source, encoding="utf-8")
    info = folder / f"{module}-1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 1\n", encoding="utf-8")
    (info / "entry_points.txt").write_text(f"[bevelwright.plugins]\n{name} = {module}\n", encoding="utf-8")


def raises(error: BaseException):
    def hook():
        raise error

    return hook


def grind(**changes):
    """A flat of its own name with something changed."""
    return lambda: [dataclasses.replace(flat.GRINDS[0], id="another-flat", **changes)]


def failing_later(function, calls: int):
    """Works for some calls, then raises."""
    left = [calls]

    def wrapped(*args):
        left[0] -= 1
        if left[0] < 0:
            raise RuntimeError("worn out")
        return function(*args)

    return wrapped


FLAT = flat.GRINDS[0]


def turning_back(designs):
    """Faces that bulge past their own crest: heights meet them more than once."""
    outlines = FLAT.outlines(designs).copy()
    outlines[:, 1, 2] = 1.0
    return outlines


def reason(words, rows=lambda n: np.ones(n, dtype=bool)):
    """Refusals with something wrong in them."""
    return lambda designs, workshop: [Refusal(rows(len(designs)), words)]


def writing_into(sections, context):
    sections.designs["height_mm"][:] = 0.0
    return np.zeros(len(sections))


class WordlessError(Exception):
    """An error that cannot even be told."""

    def __str__(self) -> str:
        raise RuntimeError("no words")


class Hostile:
    """A plug-in whose very version breaks."""

    @property
    def BEVELWRIGHT_API(self) -> int:  # noqa: N802 - the name is given
        raise RuntimeError("no version here")


MEASURED = metric(lambda s, c: np.zeros(len(s)))


class Broken(NamedTuple):
    """A plug-in that breaks: while doing what, and what is said of it."""

    plugin: object
    doing: str
    says: str


def giving(hook: str, given, says: str) -> Broken:
    return Broken(plugin(**{hook: given}), f"giving {hook}", says)


def measuring(compute, says: str) -> Broken:
    return Broken(plugin(metrics=lambda: [metric(compute)]), "computing cut_force_too", says)


def drawing(outlines, says: str) -> Broken:
    return Broken(plugin(grinds=grind(outlines=outlines)), "drawing another-flat", says)


def judging(says: str, **changes) -> Broken:
    return Broken(plugin(grinds=grind(**changes)), "checking another-flat", says)


UNSOUND = "outlines of a wrong shape"
BROKEN = {
    # at the door
    "no-version": Broken(types.SimpleNamespace(), "registering", "BEVELWRIGHT_API is None"),
    "wrong-version": Broken(types.SimpleNamespace(BEVELWRIGHT_API=99), "registering", "BEVELWRIGHT_API is 99"),
    "hostile-version": Broken(Hostile(), "registering", "RuntimeError: no version here"),
    "unknown-hook": Broken(plugin(colours=lambda: []), "registering", "colours"),
    # in a hook
    "grinds-raise": giving("grinds", raises(RuntimeError("boom \x1b[31m")), "RuntimeError: boom"),
    "metrics-raise": giving("metrics", raises(KeyError("gone")), "KeyError: 'gone'"),
    "packs-raise": giving("packs", raises(OSError("no disk")), "OSError: no disk"),
    "writers-raise": giving("writers", raises(WordlessError()), "WordlessError"),
    "exits": giving("metrics", raises(SystemExit(3)), "SystemExit: 3"),
    "speech-without-end": giving("metrics", raises(ValueError("x" * 10_000_000)), "xxx…"),
    "no-list": giving("metrics", lambda: 3, "int instead of a list"),
    "wrong-thing": giving("grinds", lambda: ["a grind"], "str instead of Grind"),
    # what a hook gives
    "unhashable-id": giving("metrics", lambda: [metric(lambda s, c: np.zeros(len(s)), ["x"])], "is no id"),
    "escape-in-id": giving("metrics", lambda: [metric(lambda s, c: np.zeros(len(s)), "x\x1b[31m")], "is no id"),
    "markup-in-id": giving("metrics", lambda: [metric(lambda s, c: np.zeros(len(s)), "[b]x[/b]")], "is no id"),
    "escape-in-label": giving("grinds", grind(label="\x1b[2Jflat"), "label holds what cannot be printed"),
    "override-in-about": giving("grinds", grind(about="to\u202eward"), "about holds what cannot be printed"),
    "escape-in-a-knob": giving("grinds", grind(parameters=(knob(label="\x9b31m"),)), "label holds what"),
    "escape-in-a-choice": giving("grinds", grind(parameters=(knob(choices=("a\x07",)),)), "no tuple of ids"),
    "text-without-end": giving("grinds", grind(made="x" * 10_000_000), "made is longer than"),
    "knob-without-range": giving("grinds", grind(parameters=(knob(low=math.nan),)), "has no range"),
    "no-knob": giving("grinds", grind(parameters=(3,)), "int instead of Parameter"),
    "no-function": giving("grinds", grind(outlines="drawn"), "outlines is no function"),
    "no-radius": giving("grinds", grind(plunge_radius_mm="round"), "plunge_radius_mm is no length"),
    "no-surfaces": giving("grinds", grind(surfaces=None), "surfaces is no frozenset"),
    "parent-of-its-own": giving("grinds", grind(parent="wavy"), "parent 'wavy' is none of"),
    "unit-of-its-own": giving("metrics", lambda: [changed(MEASURED, unit="furlong")], "'furlong' is no unit"),
    "figure-of-nothing": giving("metrics", lambda: [changed(MEASURED, of="blad")], "of 'blad'"),
    "sought-by-no-words": giving("metrics", lambda: [changed(MEASURED, also="keen")], "also is no tuple of words"),
    "sought-by-an-escape": giving("metrics", lambda: [changed(MEASURED, also=("a\x07",))], "also holds what cannot"),
    "never-computed": giving("metrics", lambda: [changed(MEASURED, compute=None)], "not one of compute and"),
    "duplicate": giving("metrics", lambda: [changed(MEASURED, id="cut_force")], "already taken by builtin"),
    "duplicate-of-itself": giving("metrics", lambda: [MEASURED, MEASURED], "cut_force_too is already taken"),
    "duplicate-writer": giving(
        "writers", lambda: [Writer("svg", "x", lambda answer: b"x")], "already taken by builtin"
    ),
    # its pack
    "no-pack-there": Broken(plugin(packs=lambda: [Path("/no/such/pack")]), "loading its pack", "cannot be read"),
    "no-folder": Broken(plugin(packs=lambda: ["/no/such/pack"]), "loading its pack", "TypeError"),
    # grinds at work
    "ragged-outlines": drawing(lambda d: [[1, 2], [3]], UNSOUND),
    "clockwise-outlines": drawing(lambda d: FLAT.outlines(d)[:, ::-1], UNSOUND),
    "flat-outlines": drawing(lambda d: FLAT.outlines(d) * 0.0, UNSOUND),
    "nan-outlines": drawing(lambda d: FLAT.outlines(d) * np.nan, UNSOUND),
    "too-few-outlines": drawing(lambda d: FLAT.outlines(d)[:3], UNSOUND),
    "no-outlines": drawing(lambda d: None, UNSOUND),
    "face-turns-back": drawing(turning_back, UNSOUND),
    "draws-no-single-one": drawing(lambda d: FLAT.outlines(d) if len(d) > 1 else 1 / 0, "ZeroDivisionError"),
    "tip-raises": Broken(plugin(grinds=grind(tip_outlines=lambda d: 1 / 0)), "drawing the tip of another-flat", "Zero"),
    "refusals-raise": judging("ZeroDivisionError", refusals=lambda d, w: 1 / 0),
    "refusal-without-words": judging("a refusal without a reason", refusals=reason(None)),
    "refusal-of-other-rows": judging("shape", refusals=reason("too thick for it", lambda n: np.ones(3, dtype=bool))),
    "complete-gives-nothing": Broken(
        plugin(grinds=grind(complete=lambda d: None)), "completing designs of another-flat", "NoneType"
    ),
    "complete-raises-later": Broken(
        plugin(grinds=grind(complete=failing_later(FLAT.complete, 2))),
        "completing designs of another-flat",
        "worn out",
    ),
    # metrics at work
    "computes-wrong-shape": measuring(lambda s, c: np.zeros(3), "shape (3,) instead of"),
    "computes-text": measuring(lambda s, c: "x", "shape () instead of"),
    "compute-raises": measuring(lambda s, c: 1 / 0, "ZeroDivisionError"),
    "compute-exits": measuring(lambda s, c: raises(SystemExit(1))(), "SystemExit: 1"),
    "compute-floods": measuring(lambda s, c: print("x" * 10_000_000) or np.zeros(len(s)), "printed more than 64,000"),
    "compute-writes-into-designs": measuring(writing_into, "read-only"),
}


@pytest.fixture
def nowhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, which stays empty."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


LATE = {"complete-raises-later", "draws-no-single-one", "compute-raises", "refusals-raise", "tip-raises"}
"""Those that go on being asked after the answer stands: their flips are looked for too."""
AT_THE_DOOR = [name for name, b in BROKEN.items() if b.doing.startswith(("registering", "giving", "loading"))]
AT_WORK = [name for name in BROKEN if name not in AT_THE_DOOR]


def check_what_is_said(name: str, failed: str) -> None:
    assert failed.startswith(f"plug-in {name} (given 0) failed while {BROKEN[name].doing}: ")
    assert BROKEN[name].says in failed
    assert len(failed) < 500
    assert not set(failed) & set("\x1b\x9b\x07\u202e\n")


def test_all_that_break_at_the_door_are_named_and_the_answer_comes(nowhere: Path) -> None:
    service = Service(plugins={name: BROKEN[name].plugin for name in AT_THE_DOOR})
    answer = service.recommend(with_settings(Brief(), ["tasks.food-prep=1"]), flips=False)
    assert answer.proposal is not None
    assert len(answer.provenance.failed) == len(AT_THE_DOOR)
    said = {failed.split()[1]: failed for failed in answer.provenance.failed}
    for name in AT_THE_DOOR:
        check_what_is_said(name, said[name])
    assert list(nowhere.iterdir()) == []


@pytest.mark.parametrize("name", AT_WORK)
def test_one_that_breaks_at_work_is_named_and_the_answer_comes(name: str, nowhere: Path) -> None:
    service = Service(plugins={name: BROKEN[name].plugin})
    answer = service.recommend(with_settings(Brief(), ["tasks.food-prep=1"]), flips=name in LATE)
    assert answer.proposal is not None
    (failed,) = answer.provenance.failed
    check_what_is_said(name, failed)
    assert list(nowhere.iterdir()) == []


@pytest.mark.parametrize("name", BROKEN)
def test_strict_raises(name: str) -> None:
    service = Service(plugins={name: BROKEN[name].plugin}, strict=True)
    with pytest.raises(PluginError, match=name):
        service.recommend(with_settings(Brief(), ["tasks.food-prep=1"]), flips=False)


WRITERS = {
    "writer-raises": (lambda answer: 1 / 0, "ZeroDivisionError: division by zero"),
    "writer-exits": (lambda answer: raises(SystemExit(0))(), "SystemExit: 0"),
    "writer-gives-text": (lambda answer: "text", "str came back instead of bytes"),
    "writer-gives-too-much": (lambda answer: bytes(100_000_000), "a document of 100,000,000 bytes"),
    "writer-floods": (lambda answer: print("x" * 10_000_000) or b"x", "printed more than 64,000 characters"),
}


@pytest.mark.parametrize("name", WRITERS)
def test_a_broken_writer_is_named_and_nothing_is_written(name: str, nowhere: Path, ask) -> None:
    write, says = WRITERS[name]
    service = Service(plugins={name: plugin(writers=lambda: [Writer("broken", "x", write)])})
    with pytest.raises(PluginError) as told:
        service.drawings.document(ask("tasks.food-prep=1"), "broken")
    assert str(told.value) == f"plug-in {name} (given 0) failed while writing broken: {says}"
    assert list(nowhere.iterdir()) == []
    assert service.drawings.document(ask("tasks.food-prep=1"), "svg")


IMPORTED = {
    "raises-importing": ("import nothing_of_that_name", "ModuleNotFoundError: No module named 'nothing_of_that_name'"),
    "bad-syntax": ("def", "SyntaxError"),
    "exits-importing": ("raise SystemExit(0)", "SystemExit: 0"),
    "floods-importing": ("print('x' * 1_000_000)\nBEVELWRIGHT_API = 1", "printed more than 64,000 characters"),
    "nothing-there": (None, "ModuleNotFoundError"),
}


@pytest.mark.parametrize("name", IMPORTED)
def test_one_that_cannot_be_imported_is_named(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    source, says = IMPORTED[name]
    installed(tmp_path, name, source)
    monkeypatch.syspath_prepend(tmp_path)
    service = Service()
    answer = service.recommend(with_settings(Brief(), ["tasks.food-prep=1"]), flips=False)
    assert answer.proposal is not None
    (failed,) = answer.provenance.failed
    assert failed.startswith(f"plug-in {name} ({name} 1) failed while loading: {says}")
    (told,) = (t for t in service.loaded.plugin_statuses() if t.plugin == name)
    assert (told.state, told.failed, told.given) == ("failed", (failed,), {})


MARKUP = "[bold]<b>&amp;[/] $(x) `y` %s {0}"


def test_markup_is_shown_as_it_is() -> None:
    """Brackets and angle brackets are only characters: on the page, in JSON and in a drawing."""
    words = grind(label=MARKUP, about=MARKUP, made=MARKUP, sharpened=MARKUP)
    service = Service(plugins={"marked": plugin(grinds=words)}, strict=True)
    answer = service.recommend(with_settings(Brief(), ["wishes.grind=another-flat"]), flips=False)
    page = answer_text(answer, service.drawings.outline_of(answer), audience="maker", width=100)
    assert f"As wished: {MARKUP} (" in page
    assert json.loads(json.dumps(answer.as_json()))["proposal"]["grind_label"] == MARKUP
    drawn = ElementTree.fromstring(service.drawings.document(answer, "svg"))
    assert any(MARKUP in (text or "").replace("\n", " ") for text in drawn.itertext())


def test_what_is_printed_cannot_move_a_cursor(capsys: pytest.CaptureFixture[str]) -> None:
    assert Service(plugins={"loud": plugin(metrics=lambda: print("\x1b[2J\x07 loud") or [])}).knowledge
    err = capsys.readouterr().err
    assert "loud" in err
    assert not set(err) & {"\x1b", "\x07"}


def test_what_a_plugin_prints_never_reaches_json(capsys: pytest.CaptureFixture[str]) -> None:
    def noisy():
        print("hello from a plug-in")
        return [metric(lambda s, c: print("again") or np.zeros(len(s)))]

    answer = Service(plugins={"noisy": plugin(metrics=noisy)}).recommend(Brief(), flips=False)
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "hello from a plug-in" in captured.err
    assert json.loads(json.dumps(answer.as_json()))["metrics"]["cut_force_too"]["value"] == 0.0


def test_results_carry_the_plugin_that_gave_them() -> None:
    service = Service(plugins={"mine": plugin(metrics=lambda: [metric(lambda s, c: np.ones(len(s)))])})
    assert service.registry.metrics["cut_force_too"].origin.plugin == "mine"
    assert service.registry.grinds["full-flat"].origin.distribution == "bevelwright"


def test_what_a_plugin_writes_past_python_never_reaches_json(tmp_path: Path) -> None:
    """A C library, a child process, os.write: file descriptor 1 is kept for the answer alone."""
    installed(
        tmp_path,
        "loud",
        "import os, subprocess, sys\n"
        "from recommender.plugin.hooks import hookimpl\n"
        "BEVELWRIGHT_API = 1\n"
        "@hookimpl\n"
        "def metrics():\n"
        "    os.write(1, b'past python ')\n"
        "    subprocess.run([sys.executable, '-c', \"print('from a child')\"])\n"
        "    return []\n",
    )
    found = subprocess.run(
        [sys.executable, "-m", "recommender", "grinds", "--json"],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(tmp_path), os.environ.get("PYTHONPATH", "")])},
    )
    assert {row["id"] for row in json.loads(found.stdout)} >= {"full-flat", "scandi"}
    assert "past python" in found.stderr
    assert "from a child" in found.stderr
