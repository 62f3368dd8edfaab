"""What users hold, as earlier versions made it, and the program through its outermost doors only.

Inner modules move; what they made stays. So these tests go through the command line and the interface as it is opened;
the one inner model that is needed is imported here.
"""

from __future__ import annotations

import asyncio
import contextlib
import gzip
import json
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from textual.app import App
from textual.pilot import Pilot

import recommender.tui
from recommender.cli import main
from recommender.models.workshop.quote import Quote

FIXTURES = Path(__file__).parents[1] / "fixtures"
VERSIONS = sorted(folder.name for folder in FIXTURES.iterdir() if folder.is_dir())


class Held(NamedTuple):
    """The folder of what one version made."""

    folder: Path

    def text(self, name: str) -> str:
        return (self.folder / name).read_text(encoding="utf-8")

    def json(self, name: str) -> Any:
        file = self.folder / name
        return json.loads(gzip.decompress(file.read_bytes()) if file.suffix == ".gz" else file.read_bytes())

    @property
    def quotes(self) -> dict[str, dict[str, Any]]:
        """Quotes as they were exported, by number and revision as `book` takes them."""
        exported = self.json("book/export.json.gz")
        names = set(self.json("book/history.json"))
        called = {f"{quote['number']}.{quote['revision']}": quote for quote in exported}
        return {name if name in names else name.partition(".")[0]: quote for name, quote in called.items()}


class Done(NamedTuple):
    """What a command gave."""

    code: int
    out: str
    err: str

    @property
    def line(self) -> str:
        """The one line with which it was refused."""
        assert (self.code, self.out) == (2, ""), self
        assert self.err.count("\n") == 1, self.err
        return self.err


@pytest.fixture(scope="session", params=VERSIONS)
def held(request: pytest.FixtureRequest) -> Held:
    return Held(FIXTURES / request.param)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Nobody's own folders."""
    for kind in ("CONFIG", "DATA", "STATE"):
        monkeypatch.setenv(f"XDG_{kind}_HOME", str(tmp_path / kind.lower()))
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., Done]:
    """Run a command."""

    def command(*argv: object) -> Done:
        capsys.readouterr()
        try:
            code = main([str(a) for a in argv])
        except SystemExit as stop:
            code = int(stop.code or 0)
        out = capsys.readouterr()
        return Done(code, out.out, out.err)

    return command


@pytest.fixture
def answered(run: Callable[..., Done]) -> Callable[..., str]:
    """What a command prints that does what it is asked."""

    def command(*argv: object) -> str:
        done = run(*argv)
        assert done.code == 0, done
        return done.out

    return command


@pytest.fixture
def book(held: Held, tmp_path: Path) -> Path:
    """The held quote book, to be used."""
    file = tmp_path / "held.sqlite3"
    file.write_bytes(gzip.decompress((held.folder / "book" / "quotes.sqlite3.gz").read_bytes()))
    return file


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[App[None], Pilot[None]], Awaitable[None]]], None]:
    """Open the interface as `bevelwright` alone does, and go through it."""

    def drive(flow: Callable[[App[None], Pilot[None]], Awaitable[None]]) -> None:
        apps: list[App[None]] = []
        with monkeypatch.context() as patch:
            patch.setattr(App, "run", lambda app: apps.append(app))
            recommender.tui.run()

        async def through() -> None:
            async with apps[0].run_test(size=(130, 60)) as pilot:
                await settled(pilot)
                await flow(apps[0], pilot)

        asyncio.run(through())

    return drive


async def settled(pilot: Pilot[None]) -> None:
    """Wait for everything that the interface has asked for."""
    await pilot.pause()
    while any(not worker.is_finished for worker in pilot.app.workers):
        with contextlib.suppress(Exception):  # a newer question makes the older one void
            await pilot.app.workers.wait_for_complete()
        await pilot.pause()


@pytest.fixture
def settle() -> Callable[[Pilot[None]], Awaitable[None]]:
    return settled


@pytest.fixture(scope="session")
def quote_schema() -> dict[str, Any]:
    """JSON Schema of what this version reads of a stored quote."""
    return Quote.model_json_schema(mode="validation")
