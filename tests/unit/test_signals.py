"""Signals treated in another way for a while."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time

import pytest

from recommender.signals import blocked, deferring, handling


@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
def test_what_was_there_before_is_there_after() -> None:
    before = signal.getsignal(signal.SIGUSR1)
    for handler in (lambda *_: None, signal.SIG_IGN):
        with handling(signal.SIGUSR1, handler):
            assert signal.getsignal(signal.SIGUSR1) is handler
        assert signal.getsignal(signal.SIGUSR1) is before


@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
def test_a_signal_that_is_put_off_comes_after() -> None:
    came: list[str] = []
    with handling(signal.SIGUSR1, lambda *_: came.append("signal")):
        with deferring(signal.SIGUSR1):
            os.kill(os.getpid(), signal.SIGUSR1)
            came.append("done")
        assert came == ["done", "signal"]
        with deferring(signal.SIGUSR1):
            pass
        assert came == ["done", "signal"]


@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
def test_what_comes_while_it_is_blocked_is_not_lost_and_reaches_no_process_started_then() -> None:
    came: list[str] = []
    # A thread that does not hold it back takes it: so do threads of libraries and of the test runner.
    over = threading.Event()
    other = threading.Thread(target=over.wait)
    other.start()
    with handling(signal.SIGUSR1, lambda *_: came.append("signal")):
        with blocked(signal.SIGUSR1):
            child = subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE)
            os.kill(os.getpid(), signal.SIGUSR1)
            child.send_signal(signal.SIGUSR1)  # would end it
            time.sleep(0.1)  # for another thread to take it
            came.append("done")
        over.set()
        other.join()
        assert came == ["done", "signal"]
    child.communicate(b"go on\n", timeout=60)
    assert child.returncode == 0


ENDED = """
import os, signal, sys
from recommender.signals import handling

class Told(Exception):
    pass

def end(*_):
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    raise Told

try:
    with handling(signal.SIGTERM, end):
        os.kill(os.getpid(), signal.SIGTERM)
        signal.pause()
except Told:
    pass
os.kill(os.getpid(), signal.SIGTERM)  # an impatient second one, while it ends
sys.exit(143)
"""


@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
def test_who_is_told_to_end_ends_as_he_said_however_often_he_is_told() -> None:
    assert subprocess.run([sys.executable, "-c", ENDED], timeout=60, check=False).returncode == 143
