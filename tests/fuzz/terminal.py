"""What the terminal interface may find or be put through: kept state, a book, keys of the user's own, sizes, keys.

`cases` gives them without end, the same for the same seed; `run` puts one to the interface.
"""

from __future__ import annotations

import asyncio
import functools
import json
import os
import random
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal, NamedTuple
from unittest import mock

from textual.binding import Binding
from textual.command import CommandPalette

from recommender.errors import InputError
from recommender.models.answer.proposal import Answer
from recommender.models.answer.sharpening_life import Life
from recommender.models.brief import Brief
from recommender.service import Service
from recommender.service.briefs import Briefs
from recommender.shop.quotes.quote_book import Book
from recommender.shop.quotes.stored_quote import content_id
from recommender.tui.app import BevelwrightApp
from recommender.tui.state.keys_file import KEYS, keymap
from recommender.tui.state.session_state import LAST, ORDER, RECENT, VIEW, SessionState
from recommender.tui.tabs import TABS
from recommender.worker.in_process import InProcessEngine
from tests.fuzz.books import contents, sound_books

Outcome = Literal["answered", "refused"]
IDS = [binding.id for binding in BevelwrightApp.BINDINGS if isinstance(binding, Binding) and binding.id]
PRESSED = (
    *("up", "down", "left", "right", "tab", "shift+tab", "space", "enter", "backspace", "escape", "slash", "ctrl+p"),
    *("f1", "f2", "f3", "f4", "f5", "f6", "f7", "f8", "f9", "f12", "pageup", "pagedown", "home", "end", "delete"),
    *("s", "a", "d", "x", "u", "r", "w", "c", "1", ".", "é"),
)
DONE = (
    *("rulebook", "help_here", "open", "save", "save_as", "save_quote", "keep_trial"),
    *("audience", "inches", "theme_turn", "afresh"),
    *("copy_answer('json')", "save_answer('txt')", "save_answer('json')"),
    *["quote_book"] * 4,
    *(f"show_tab('{name}')" for name, *_ in TABS),
)
"""Actions of the palette."""
TEXTS = [
    "",
    "1",
    "-1",
    "nan",
    "1e999",
    "\x1b[31m",
    "\u202e",
    "\ud800",
    "[/b]",
    "[red]",
    "long " * 300,
    "\0",
    "a\nb",
    "½",
    "९",
]


class Do(NamedTuple):
    """Something done from the palette."""

    action: str


Step = tuple[int, int] | str | Do
"""A size of the terminal, a key, an action."""


class Case(NamedTuple):
    """What is put to the interface."""

    name: str
    kind: Literal["state", "keys", "screen"]
    files: dict[str, bytes] = {}  # noqa: RUF012 - never changed
    opened: bool = False
    """Whether the whole interface is opened on the files, which takes a while."""
    steps: tuple[Step, ...] = ()


def cases(seed: int) -> Iterator[Case]:
    """Cases of every kind without end; one in four drives the whole interface, and of the others one in ten."""
    chance = random.Random(seed)
    number = 0
    while True:
        number += 1
        name = f"{seed}-{number}"
        if number % 4 == 0:
            files = {file: _kept(chance, file) for file in (LAST, ORDER, VIEW) if chance.random() < 0.3}
            yield Case(name, "screen", files, opened=True, steps=_steps(chance))
        elif number % 8 in (3, 6):
            yield Case(name, "keys", {KEYS: _keys(chance)}, opened=number % 24 == 3)
        else:
            files = {file: _kept(chance, file) for file in (LAST, ORDER, VIEW, RECENT) if chance.random() < 0.7}
            yield Case(name, "state", files, opened=number % 16 == 1)


def _kept(chance: random.Random, file: str) -> bytes:
    """A file of kept state: sound, of wrong types, nested, huge, cut short, or any bytes."""
    sound: Any = {
        LAST: {"tasks.food-prep": "3", "owner.gear.strop": "1", "blade.height_mm": "30"},
        ORDER: {"pieces": "3", "handle": "none", "customer": "A. Smith"},
        VIEW: {"audience": "maker", "lengths": "inches", "theme": "light"},
        RECENT: ["/nowhere/brief.toml"],
    }[file]
    odd = lambda: chance.choice([*TEXTS, None, 1, -1.5, 10**30, True, [], {}, [[]], {"a": {}}])  # noqa: E731
    match chance.randrange(8):
        case 0:
            return chance.randbytes(chance.randrange(400))
        case 1:
            depth = chance.choice([100, 2_000, 30_000])
            return chance.choice([b"[" * depth + b"]" * depth, b"[" * depth, b'{"a":' * depth + b"1" + b"}" * depth])
        case 2:
            return json.dumps({f"tasks.{k}": "1" * 150 for k in range(chance.choice([300, 5_000]))}).encode()
        case 3:
            return json.dumps(odd()).encode()
        case 4 | 5 if isinstance(sound, dict):
            keys = [*sound, "tasks.nothing", "\x1b", "pieces", "shipping", "\ud800"]
            return json.dumps(sound | {chance.choice(keys): odd() for _ in range(3)}).encode()
        case 4 | 5:
            return json.dumps([*sound, odd(), "/" + "n" * 5_000, "/a\0b"]).encode()
        case 6:
            whole = json.dumps(sound).encode()
            return whole[: chance.randrange(len(whole))]
        case _:
            return json.dumps(sound).encode()


def _keys(chance: random.Random) -> bytes:
    """A file of keys: with ids and keys that there are, or not, or of any bytes."""
    match chance.randrange(5):
        case 0:
            return chance.randbytes(chance.randrange(200))
        case 1:
            return chance.choice([b"a." * 20_000 + b"a = 1", b"help = " + b"[" * 9_000, b"#" * 200_000, b"help = {}"])
        case _:
            names = [chance.choice([*IDS, *IDS, *IDS, "halp", '"\\u001b"']) for _ in range(chance.randrange(1, 4))]
            keys = [*PRESSED, "f5,ctrl+t", ",", "ctrl+", "++", "no such key", "é" * 50, *TEXTS]
            lines = [f"{name} = {json.dumps(chance.choice(keys))}" for name in dict.fromkeys(names)]
            return "\n".join(lines).encode(errors="surrogatepass")


def _steps(chance: random.Random) -> tuple[Step, ...]:
    """Some sizes, most of them small, actions, and bursts of keys between them."""
    steps: list[Step] = []
    for _ in range(chance.randrange(4, 9)):
        if chance.random() < 0.5:
            most = chance.choice([(3, 3), (24, 8), (60, 30), (250, 2), (2, 70), (200, 60)])
            steps.append((chance.randint(1, most[0]), chance.randint(1, most[1])))
        if chance.random() < 0.7:
            steps.append(Do(chance.choice(DONE)))
        steps += chance.choices(PRESSED, k=chance.randrange(5))
    return tuple(steps)


def run(case: Case) -> Outcome:
    """Put a case to the interface. Raises AssertionError where it does not stand, or loses something."""
    try:
        with tempfile.TemporaryDirectory() as folder:
            for name, data in case.files.items():
                Path(folder, name).write_bytes(data)
            own = {f"XDG_{kind}_HOME": str(Path(folder, kind)) for kind in ("CONFIG", "DATA", "STATE")}
            with mock.patch.dict(os.environ, own):
                return {"state": _run_state, "keys": _run_keys, "screen": _run_screen}[case.kind](case, Path(folder))
    except AssertionError:
        raise
    except Exception as error:
        raise AssertionError(f"{case.name}: {type(error).__name__}: {error}") from error


def _run_state(case: Case, folder: Path) -> Outcome:
    session = SessionState(folder)
    told = session.set_aside()
    assert told.isprintable(), f"{case.name}: not one printable line"
    if case.opened:
        asyncio.run(_drive(session, folder, ()))
    else:
        BevelwrightApp(InProcessEngine(service()), Brief(), session=session, folder=folder)
    session.settle()
    lies = {path.read_bytes() for path in folder.iterdir() if path.is_file()}
    for name, data in case.files.items():
        assert data in lies, f"{case.name}: {name} is lost"
    assert not SessionState(folder).set_aside(), f"{case.name}: it hurts twice"
    return "refused" if told else "answered"


def _run_keys(case: Case, folder: Path) -> Outcome:
    try:
        keys = keymap(IDS, folder)
    except InputError as error:
        return _refused(case, str(error))
    if case.opened:
        asyncio.run(_drive(SessionState(folder), folder, ("f1", "escape"), keys))
    return "answered"


def _refused(case: Case, words: str) -> Outcome:
    assert words.isprintable(), f"{case.name}: not one printable line"
    return "refused"


def _run_screen(case: Case, folder: Path) -> Outcome:
    book = Book()
    book.file.parent.mkdir(parents=True)
    book.file.write_bytes(sound_books()["new"])
    asyncio.run(_drive(SessionState(folder), folder, case.steps))
    kept, damaged = book.everything()
    assert [*damaged, *book.check()] == [], f"{case.name}: the book is damaged"
    assert contents() <= {content_id(each.data) for each in kept}, f"{case.name}: a quote is lost"
    return "answered"


async def _drive(
    session: SessionState, folder: Path, steps: tuple[Step, ...], keys: dict[str, str] | None = None
) -> None:
    """Open the interface, go through the steps, and see the form once there is room for it again."""
    app = BevelwrightApp(InProcessEngine(service()), Brief(), session=session, folder=folder, flips=False, keys=keys)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.1)
        for step in steps:
            if isinstance(step, str):
                await pilot.press(step)
            elif isinstance(step, Do):
                if CommandPalette.is_open(app):  # it closes before it does anything
                    app.pop_screen()
                await app.run_action(step.action)
            else:
                await pilot.resize_terminal(*step)
        while len(app.screen_stack) > 1:
            app.pop_screen()
        await pilot.resize_terminal(130, 40)
        await pilot.pause()
        assert app.is_running, "it has ended"
        assert app.main.query_one("#ask").size.width > 20, "the form has not come back"


class _Prepared(Briefs):
    """Gives one answer to every question: it is the interface that is tried."""

    @functools.cached_property
    def known(self) -> tuple[Answer, Life]:
        (*_, answer) = super().answers(Brief(), flips=False)
        return answer, super().life_of(answer, Brief())

    def answers(self, brief: Brief, file: str = "brief", *, flips: bool = True) -> Iterator[Answer]:
        yield self.known[0]

    def life_of(self, answer: Answer, brief: Brief) -> Life:
        return self.known[1]


@functools.cache
def service() -> Service:
    """The shipped plug-ins and rules, with an answer at hand."""
    service = Service(strict=True)
    service.briefs = _Prepared(service.loaded)
    return service
