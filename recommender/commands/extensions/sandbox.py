"""A plug-in or pack checked in a process of its own, which has limits on time, memory and print."""

from __future__ import annotations

import contextlib
import importlib.metadata
import importlib.util
import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

import recommender
from recommender.commands.extensions.check_targets import Target
from recommender.plugin.kit.finding import Calls, Finding
from recommender.processes.process_limits import limit_memory

SECONDS = 120.0
MOST_PRINTED = 1 << 20
_WAIT_S = 5.0


@dataclass(frozen=True)
class SandboxReport:
    """What was found of a target, and how long it took."""

    target: Target
    findings: tuple[Finding, ...]
    seconds: float

    def as_json(self) -> dict[str, object]:
        """All of it as JSON data."""
        found = [{"where": f.where, "problem": f.problem} for f in self.findings]
        return {"target": self.target.name, "kind": self.target.kind, "findings": found, "seconds": self.seconds}


def check_apart(target: Target, seconds: float = SECONDS) -> SandboxReport:
    """Check a target in a process of its own; its endless loop, crash or flood of print is a finding."""
    start = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        notes, work = Path(folder, "notes"), Path(folder, "work")
        work.mkdir()
        notes.touch()
        ended = _run(target, notes, work, seconds)
        reports = [json.loads(line) for line in notes.read_text(encoding="utf-8").splitlines() if line.endswith("}")]
        left = sorted(path.name for path in work.iterdir())
    findings = [Finding(note["where"], note["problem"]) for note in reports if "problem" in note]
    doing = next((note["doing"] for note in reversed(reports) if "doing" in note), "starting")
    if ended is not None:
        findings.append(Finding(target.name, f"{ended} while {doing}"))
    elif not any(note.get("done") for note in reports):
        findings.append(Finding(target.name, f"ended the program while {doing}"))
    if left:
        findings.append(Finding(target.name, f"leaves files behind: {', '.join(left)}"))
    return SandboxReport(target, tuple(findings), round(time.monotonic() - start, 1))


def _run(target: Target, notes: Path, work: Path, seconds: float) -> str | None:
    """Run the check; how it ended where that was not by itself."""
    here = Path(recommender.__file__).parents[1]
    paths = [str(here), *(os.path.abspath(p) for p in os.environ.get("PYTHONPATH", "").split(os.pathsep) if p)]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(paths), "OPENBLAS_NUM_THREADS": "1"}
    command = [sys.executable, "-m", __name__, target.kind, target.name, target.value, os.getcwd(), str(notes)]
    with subprocess.Popen(
        command,
        cwd=work,
        env=env,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        start_new_session=True,
    ) as process:
        assert process.stdout is not None
        flood = _Flood(process.stdout, lambda: _kill(process))
        try:
            code = process.wait(seconds)
        except subprocess.TimeoutExpired:
            _kill(process)
            return f"was still busy after {seconds:g} s and was stopped"
        finally:
            _kill(process)  # what it has started
            flood.join(_WAIT_S)
    if flood.flooded:
        return f"printed more than {MOST_PRINTED:,} bytes and was stopped"
    if code < 0:
        return f"crashed ({signal.Signals(-code).name})"
    return f"ended the program with exit code {code}" if code else None


class _Flood(threading.Thread):
    """Reads what a process prints and throws it away; too much of it is the end of the process."""

    def __init__(self, stream: IO[bytes], stop: Callable[[], None]) -> None:
        super().__init__(daemon=True)
        self.stream, self.stop, self.printed = stream, stop, 0
        self.start()

    @property
    def flooded(self) -> bool:
        return self.printed > MOST_PRINTED

    def run(self) -> None:
        with contextlib.suppress(OSError, ValueError):
            while chunk := self.stream.read1(65536):  # type: ignore[attr-defined]
                self.printed += len(chunk)
                if self.flooded:
                    self.stop()
                    return


def _kill(process: subprocess.Popen[bytes]) -> None:
    """End a process with all that it has started."""
    with contextlib.suppress(OSError):
        if hasattr(os, "killpg"):
            os.killpg(process.pid, signal.SIGKILL)
        else:
            process.kill()


def _child(kind: str, name: str, value: str, home: str, notes: str) -> None:
    """Check a target here and note every step and finding."""
    limit_memory()
    with open(notes, "a", encoding="utf-8") as file:

        def note(**words: object) -> None:
            file.write(json.dumps(words) + "\n")
            file.flush()

        for finding in _findings(Target(kind, name, value), home, lambda doing: note(doing=doing)):
            note(where=finding.where, problem=finding.problem)
        note(done=True)


def _findings(target: Target, home: str, telling: Callable[[str], None]) -> list[Finding]:
    from recommender.plugin.testing import check_pack, check_plugin

    telling("loading it")
    if target.kind == "pack":
        return check_pack(target.value)
    calls = Calls(f"plug-in {target.name}")
    plugin = calls.call("loading it", _loaded, target, home)
    return [*calls.findings, *(check_plugin(plugin, telling) if plugin is not None else [])]


def _loaded(target: Target, home: str) -> Any:
    if target.kind == "file":
        spec = importlib.util.spec_from_file_location(target.name, target.value)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[target.name] = module
        spec.loader.exec_module(module)
        return module
    if target.kind == "folder":
        home, _, value = target.value.rpartition("::")
        sys.path[:0] = [str(Path(home) / "src"), home]
    else:
        sys.path.insert(0, home)
        value = target.value
    return importlib.metadata.EntryPoint(target.name, value, "bevelwright.plugins").load()


if __name__ == "__main__":
    _child(*sys.argv[1:])
