"""Plug-ins that break: named, left out, and the answer still comes."""

from __future__ import annotations

import dataclasses
import json
import os
import subprocess
import sys
import types
from pathlib import Path

import numpy as np
import pytest
from bevelwright_builtin import flat

from recommender.errors import PluginError
from recommender.models.brief import Brief
from recommender.plugin.api import API_VERSION, Metric
from recommender.plugin.hooks import hookimpl
from recommender.service import Service, with_settings
from recommender.units import Unit


def plugin(**hooks) -> types.SimpleNamespace:
    return types.SimpleNamespace(BEVELWRIGHT_API=API_VERSION, **{n: hookimpl(f) for n, f in hooks.items()})


def metric(compute, id_: str = "cut_force_too") -> Metric:
    return Metric(id=id_, label="x", unit=Unit.NONE, better="higher", about="x", estimate=True, compute=compute)


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


BROKEN = {
    "unhashable-id": plugin(metrics=lambda: [metric(lambda s, c: np.zeros(len(s)), ["x"])]),
    "escape-in-id": plugin(metrics=lambda: [metric(lambda s, c: np.zeros(len(s)), "x\x1b[31m")]),
    "unit-of-its-own": plugin(metrics=lambda: [dataclasses.replace(metric(lambda s, c: None), unit="furlong")]),
    "no-surfaces": plugin(grinds=grind(surfaces=None)),
    "ragged-outlines": plugin(grinds=grind(outlines=lambda d: [[1, 2], [3]])),
    "clockwise-outlines": plugin(grinds=grind(outlines=lambda d: FLAT.outlines(d)[:, ::-1])),
    "flat-outlines": plugin(grinds=grind(outlines=lambda d: FLAT.outlines(d) * 0.0)),
    "nan-outlines": plugin(grinds=grind(outlines=lambda d: FLAT.outlines(d) * np.nan)),
    "figure-of-nothing": plugin(metrics=lambda: [dataclasses.replace(metric(lambda s, c: None), of="blad")]),
    "draws-no-single-one": plugin(grinds=grind(outlines=lambda d: FLAT.outlines(d) if len(d) > 1 else 1 / 0)),
    "face-turns-back": plugin(grinds=grind(outlines=turning_back)),
    "refusals-raise": plugin(grinds=grind(refusals=lambda d, w: 1 / 0)),
    "complete-raises-later": plugin(grinds=grind(complete=failing_later(FLAT.complete, 2))),
    "no-pack-there": plugin(packs=lambda: [Path("/no/such/pack")]),
    "wrong-version": types.SimpleNamespace(BEVELWRIGHT_API=99),
    "no-version": types.SimpleNamespace(),
    "raises": plugin(grinds=raises(RuntimeError("boom \x1b[31m"))),
    "exits": plugin(metrics=raises(SystemExit(3))),
    "no-list": plugin(metrics=lambda: 3),
    "wrong-thing": plugin(grinds=lambda: ["a grind"]),
    "duplicate": plugin(metrics=lambda: [metric(lambda s, c: np.zeros(len(s)), "cut_force")]),
    "computes-wrong-shape": plugin(metrics=lambda: [metric(lambda s, c: np.zeros(3))]),
    "computes-text": plugin(metrics=lambda: [metric(lambda s, c: "x")]),
    "compute-raises": plugin(metrics=lambda: [metric(lambda s, c: 1 / 0)]),
    "compute-exits": plugin(metrics=lambda: [metric(lambda s, c: raises(SystemExit(1))())]),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_plugin_is_named_and_the_answer_comes(name: str) -> None:
    answer = Service(plugins={name: BROKEN[name]}).recommend(with_settings(Brief(), ["tasks.food-prep=1"]))
    assert answer.proposal is not None
    assert len(answer.provenance.failed) == 1
    assert f"plug-in {name} " in answer.provenance.failed[0]
    assert "\x1b" not in answer.provenance.failed[0]


@pytest.mark.parametrize("name", BROKEN)
def test_strict_raises(name: str) -> None:
    with pytest.raises(PluginError, match=name):
        Service(plugins={name: BROKEN[name]}, strict=True).recommend(with_settings(Brief(), ["tasks.food-prep=1"]))


def test_what_a_plugin_prints_never_reaches_json(capsys: pytest.CaptureFixture[str]) -> None:
    def noisy():
        print("hello from a plug-in")
        return [metric(lambda s, c: print("again") or np.zeros(len(s)))]

    answer = Service(plugins={"noisy": plugin(metrics=noisy)}).recommend(Brief())
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
    (tmp_path / "loud.py").write_text(
        "import os, subprocess, sys\n"
        "from recommender.plugin.hooks import hookimpl\n"
        "BEVELWRIGHT_API = 1\n"
        "@hookimpl\n"
        "def metrics():\n"
        "    os.write(1, b'past python ')\n"
        "    subprocess.run([sys.executable, '-c', \"print('from a child')\"])\n"
        "    return []\n",
        encoding="utf-8",
    )
    info = tmp_path / "loud-1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: loud\nVersion: 1\n", encoding="utf-8")
    (info / "entry_points.txt").write_text("[bevelwright.plugins]\nloud = loud\n", encoding="utf-8")
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
