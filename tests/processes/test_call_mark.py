"""The mark of a plug-in's call: what its maker reads is what the worker wrote, whatever happened to the worker."""

from __future__ import annotations

import mmap
import os
import subprocess
import sys
import threading
from types import SimpleNamespace

import pytest

from recommender.plugin import foreign_calls
from recommender.plugin.foreign_calls import foreign_call, watch_foreign_calls
from recommender.plugin.guard import Guard, Origin
from recommender.processes import shared_page
from recommender.processes.call_mark import GRACE_S, CallLimit, CallMark, ended
from recommender.processes.command_mark import CommandMark
from recommender.worker import launch

CALL = ("hostile", "hostile-dist", "3", "drawing “it”")


@pytest.fixture(params=["file", "memory"])
def marks(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> tuple[CallMark, CallMark]:
    """A mark as its maker has it and as the worker has it: as on POSIX, and as on Windows, of which this is a trial."""
    if request.param == "file":
        maker = CallMark()
        return maker, CallMark(str(os.dup(int(maker.name))))
    shared: dict[str, mmap.mmap] = {}

    def named(_: int, size: int, tagname: str) -> mmap.mmap:
        return shared.setdefault(tagname, mmap.mmap(-1, size))

    monkeypatch.setattr(shared_page, "sys", SimpleNamespace(platform="win32"))
    monkeypatch.setattr(shared_page, "mmap", SimpleNamespace(mmap=named))
    maker = CallMark()
    assert maker.handed_down == ()
    return maker, CallMark(maker.name)


def test_it_is_there_while_the_call_is(marks: tuple[CallMark, CallMark]) -> None:
    maker, worker = marks
    assert maker.call() is None
    worker.entered(*CALL)
    first = maker.call()
    assert first is not None
    assert (first.plugin, first.distribution, first.version, first.doing) == CALL
    worker.left()
    assert maker.call() is None
    worker.entered(*CALL)
    second = maker.call()
    assert second is not None
    assert second.number != first.number, "another call, though to the same thing"
    maker.wipe()
    assert maker.call() is None


def test_names_of_any_length_do_not_break_it(marks: tuple[CallMark, CallMark]) -> None:
    maker, worker = marks
    worker.entered("p" * 9_000, "d" * 9_000, "1", "doing" * 3_000)
    call = maker.call()
    assert call is not None
    assert call.plugin == "p" * 80
    worker.left()
    worker.entered(*CALL)
    call = maker.call()
    assert call is not None
    assert call.plugin == "hostile"


def test_a_mark_that_was_being_written_is_none(marks: tuple[CallMark, CallMark]) -> None:
    maker, worker = marks
    worker.write((1).to_bytes(8, "big") + b'["half')
    assert maker.call() is None


@pytest.mark.skipif(sys.platform == "win32", reason="a file without a name")
def test_another_process_finds_it_by_its_name() -> None:
    maker = CallMark()
    code = f"from recommender.processes.call_mark import CallMark; CallMark({maker.name!r}).entered(*{CALL!r})"
    subprocess.run([sys.executable, "-c", code], check=True, pass_fds=maker.handed_down)
    call = maker.call()
    assert call is not None
    assert call.doing == CALL[3]
    maker.close()


def test_one_that_lasts_is_asked_to_stop_and_then_killed() -> None:
    mark = CallMark()
    limit = CallLimit(mark, 3.0)
    assert [limit.look(now) for now in (0.0, 1.0)] == ["", ""]
    mark.entered(*CALL)
    assert [limit.look(now) for now in (2.0, 3.0, 4.0, 5.0)] == ["", "", "", ""]
    assert limit.look(5.5) == "ask"
    assert limit.stopped == mark.call()
    assert limit.look(5.6) == ""
    assert limit.look(5.6 + GRACE_S) == "kill"
    assert ended(limit, -9) == (limit.stopped, "was still busy after 3 s")


def test_one_that_stops_when_it_is_asked_to_is_not_called_again() -> None:
    mark = CallMark()
    limit = CallLimit(mark, 1.0)
    mark.entered(*CALL)
    assert [limit.look(now) for now in (0.0, 1.0, 1.1)] == ["", "", "ask"]
    mark.left()
    assert limit.look(1.2) == "kill"


def test_many_short_calls_are_no_long_one() -> None:
    mark = CallMark()
    limit = CallLimit(mark, 1.0)
    for now in range(100):
        mark.entered(*CALL)
        assert limit.look(now / 2) == ""
        mark.left()


def test_time_in_which_nobody_looked_does_not_count() -> None:
    mark = CallMark()
    limit = CallLimit(mark, 10.0)
    mark.entered(*CALL)
    assert [limit.look(now) for now in (0.0, 1.0, 3_600.0)] == ["", "", ""]


def test_how_far_a_command_got() -> None:
    maker = CommandMark()
    command = CommandMark(str(os.dup(int(maker.name))))
    assert (maker.had_side_effect, maker.exit_code) == (False, None)
    command.done(0)
    assert (maker.had_side_effect, maker.exit_code) == (False, 0)
    command.side_effect()
    command.done(143)
    assert (maker.had_side_effect, maker.exit_code) == (True, 143)


class Watcher:
    """Remembers what it is told."""

    def __init__(self) -> None:
        self.told: list[str] = []

    def entered(self, plugin: str, distribution: str, version: str, doing: str) -> None:
        self.told.append(f"+{plugin} {doing}")

    def left(self) -> None:
        self.told.append("-")


@pytest.fixture
def watcher() -> Watcher:
    watcher = Watcher()
    watch_foreign_calls(watcher)
    try:
        yield watcher
    finally:
        watch_foreign_calls(None)


def test_only_the_outermost_call_of_a_foreign_plug_in_is_told(watcher: Watcher) -> None:
    guard, foreign, shipped = Guard(), Origin("a", "a-dist", "1"), Origin("builtin", "bevelwright", "0")

    def nested() -> None:
        guard.run(Origin("b", "b-dist", "1"), "inside", int)
        guard.run(shipped, "ours inside", int)

    guard.run(shipped, "ours", int)
    guard.run(foreign, "outside", nested)
    guard.call(foreign, "failing", lambda: 1 / 0)
    guard.run(shipped, "ours around", lambda: guard.run(foreign, "within ours", int))
    assert watcher.told == ["+a outside", "-", "+a failing", "-", "+a within ours", "-"]


def test_two_threads_are_never_in_foreign_calls_at_once(watcher: Watcher) -> None:
    inside, go = threading.Event(), threading.Event()

    def first() -> None:
        with foreign_call("a", "a-dist", "1", "first"):
            inside.set()
            assert go.wait(60)

    def second() -> None:
        with foreign_call("b", "b-dist", "1", "second"):
            pass

    threads = [threading.Thread(target=first), threading.Thread(target=second)]
    threads[0].start()
    assert inside.wait(60)
    threads[1].start()
    assert foreign_calls._turn.locked()
    assert watcher.told == ["+a first"]
    go.set()
    for thread in threads:
        thread.join()
    assert watcher.told == ["+a first", "-", "+b second", "-"]


def test_on_windows_a_worker_gets_no_descriptors_and_a_group_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """A trial of what is asked of the system there, not of the system."""
    windows = SimpleNamespace(CREATE_NO_WINDOW=0x08000000, CREATE_NEW_PROCESS_GROUP=0x200)
    monkeypatch.setattr(launch, "sys", SimpleNamespace(platform="win32"))
    monkeypatch.setattr(launch, "subprocess", windows)
    assert launch._apart(()) == {"creationflags": 0x08000200}
