"""The guide for those who have never programmed: every command and file on the page, in the page's order."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import bevelwright_rules

GUIDE = Path(bevelwright_rules.__file__).parent / "CONVENTIONS.md"
STEP = re.compile(r"(?:<!-- file: (?P<file>\S+) -->\n)?```(?P<kind>\w+)\n(?P<body>.*?)```", re.DOTALL)


def test_every_step_of_the_guide_works(tmp_path: Path) -> None:
    steps = [step.groupdict() for step in STEP.finditer(GUIDE.read_text(encoding="utf-8"))]
    assert {step["kind"] for step in steps} == {"sh", "toml", "text"}
    (tmp_path / "bin").mkdir()
    program = tmp_path / "bin" / "bevelwright"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m recommender "$@"\n', encoding="utf-8")
    program.chmod(0o755)
    environment = {
        **os.environ,
        "PATH": f"{program.parent}{os.pathsep}{os.environ['PATH']}",
        "XDG_DATA_HOME": str(tmp_path / "data"),
    }
    said = ""
    for step in steps:
        if step["kind"] == "text":  # shown, and no step
            continue
        if step["kind"] == "toml":
            assert step["file"] is not None, "a file of the guide says where it goes"
            target = tmp_path / step["file"]
            assert target.exists(), "the guide fills in what a command has written"
            target.write_text(step["body"], encoding="utf-8")
            continue
        ran = subprocess.run(
            ["bash", "-euo", "pipefail", "-c", step["body"]],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            timeout=600,
            check=False,
        )
        assert ran.returncode == 0, f"{step['body']}\n{ran.stdout}\n{ran.stderr}"
        said += ran.stdout
    assert "Bends to the backbone" in said
    assert "It brought +" in said
    assert "fillet-knife-flexes" in said
