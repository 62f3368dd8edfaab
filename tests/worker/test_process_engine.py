"""The engine as a process: it answers as the service does, and whatever ends it, the next question is answered."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import pytest

from recommender.models.brief import Brief
from recommender.service import Service, with_settings
from recommender.worker.client import EngineRefusedError
from recommender.worker.messages import Done, Failed, Refused
from recommender.worker.parts import AnswerPart, LifePart
from recommender.worker.questions import AnswerQuestion

SETTINGS = ("tasks.strap-cutting=1",)
QUESTION = AnswerQuestion(settings=SETTINGS, flips=False)
WAIT_S = 120.0


def test_it_answers_as_the_service_does(engine, asked) -> None:
    process = engine()
    replies = asked(process, QUESTION).all()
    answers = [reply.answer for reply in replies if isinstance(reply, AnswerPart)]
    brief = with_settings(Brief(), SETTINGS)
    assert answers == list(Service().answers(brief, flips=False))
    assert any(isinstance(reply, LifePart) for reply in replies)
    assert isinstance(replies[-1], Done)
    assert not process.pending
    assert process.troubles == []


def test_what_makes_no_sense_is_refused_in_the_same_words(engine, asked) -> None:
    process = engine()
    (refused,) = asked(process, AnswerQuestion(settings=("steel.hardness_hrc=99",))).all()
    assert isinstance(refused, Refused)
    assert "steel.hardness_hrc" in refused.words


def test_a_bad_block_list_is_refused_before_anything_is_asked(engine, tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    (tmp_path / "bevelwright").mkdir()
    (tmp_path / "bevelwright" / "blocked-plugins.txt").write_bytes(b"\xff")
    with pytest.raises(EngineRefusedError, match="is not UTF-8"):
        engine().catalogue()


def test_of_a_group_only_the_newest_question_is_answered(engine, asked) -> None:
    process = engine()
    older = [asked(process, AnswerQuestion(settings=(f"tasks.prying={k}",))) for k in range(1, 30)]
    newest = asked(process, QUESTION).all()
    assert isinstance(newest[-1], Done)
    assert all(replies.came.empty() for replies in older[1:]), "an older one was answered"


def test_a_worker_that_is_killed_is_started_again_and_the_question_answered(engine, asked) -> None:
    process = engine()
    process.catalogue()
    replies = asked(process, QUESTION)
    os.kill(process.process_id, signal.SIGKILL)
    assert isinstance(replies.all()[-1], Done)
    (trouble,) = process.troubles
    assert "SIGKILL" in trouble.words
    assert trouble.plugin is None


def test_a_question_that_ends_it_twice_is_given_up_and_another_is_answered(engine, asked, monkeypatch) -> None:
    monkeypatch.setenv("PYTHONPATH", "")
    process = engine()
    process.catalogue()
    first = process.process_id
    replies = asked(process, AnswerQuestion(settings=SETTINGS))
    os.kill(first, signal.SIGABRT)
    end = time.monotonic() + WAIT_S
    while process.process_id in (None, first):
        assert time.monotonic() < end
        time.sleep(0.01)
    os.kill(process.process_id, signal.SIGABRT)
    failed = replies.all()[-1]
    assert isinstance(failed, Failed)
    assert "SIGABRT" in failed.words
    assert isinstance(asked(process, QUESTION).all()[-1], Done)


HOSTILE = {
    "exits": ("import os; os._exit(0)", "exit code 0"),
    "crashes": ("import ctypes; ctypes.string_at(0)", "SIGSEGV"),
    "aborts": ("import os; os.abort()", "SIGABRT"),
    "ends the process": ("import os, signal; os.kill(os.getpid(), signal.SIGKILL)", "SIGKILL"),
}


@pytest.mark.parametrize("when", ["at_import", "at_call"])
@pytest.mark.parametrize("how", HOSTILE)
def test_a_plug_in_that_ends_the_process_is_named_and_left_out(install, engine, asked, how: str, when: str) -> None:
    code, words = HOSTILE[how]
    install(**{when: code})
    process = engine()
    replies = asked(process, QUESTION).all()
    assert isinstance(replies[-1], Done)
    *_, answer = (reply.answer for reply in replies if isinstance(reply, AnswerPart))
    (failed,) = answer.provenance.failed
    (trouble,) = process.troubles
    for told in (failed, trouble.words):
        assert "hostile (hostile-dist 3)" in told
        assert words in told
    assert trouble.plugin is not None
    assert trouble.plugin.plugin == "hostile"


SILENT = {
    "in Python": """
    while True: pass""",
    "asleep": "import time; time.sleep(1e6)",
    "in C": "import collections, itertools; collections.deque(itertools.count(), maxlen=0)",
    "deaf": """import time
    while True:
        try: time.sleep(0.01)
        except BaseException: pass""",
}


@pytest.mark.parametrize("how", SILENT)
def test_a_plug_in_that_does_not_return_is_named_and_left_out(install, engine, asked, how: str) -> None:
    install(at_call=SILENT[how])
    process = engine(call_seconds=1.0)
    replies = asked(process, QUESTION).all()
    assert isinstance(replies[-1], Done)
    (trouble,) = process.troubles
    assert "hostile (hostile-dist 3) was still busy after 1 s while computing hostile_figure" in trouble.words


TIDY = """import time
    try:
        while True: time.sleep(0.01)
    finally:
        open({note!r}, "w").close()"""


def test_one_that_is_asked_to_stop_may_put_its_things_away(install, engine, asked, tmp_path) -> None:
    note = tmp_path / "put away"
    install(at_call=TIDY.format(note=str(note)))
    process = engine(call_seconds=1.0)
    assert isinstance(asked(process, QUESTION).all()[-1], Done)
    assert note.exists()


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="no bound on memory")
def test_one_that_eats_memory_fails_alone(install, engine, asked) -> None:
    install(at_call="eaten = [np.ones(10_000_000) for _ in range(1000)]")
    process = engine()
    replies = asked(process, QUESTION).all()
    (failed,) = next(r.answer for r in replies if isinstance(r, AnswerPart)).provenance.failed
    assert "hostile (hostile-dist 3)" in failed
    assert "Unable to allocate" in failed
    assert process.troubles == []


CHATTY = """import os, sys, subprocess
    print("printed"); sys.stdout.flush(); sys.__stdout__.write("printed"); sys.__stdout__.flush()
    os.write(1, b"written"); os.write(2, b"written"); os.system("echo from a process")
    assert os.read(0, 1) == b"", "standard input is empty"
    os.ftruncate(2, 0); open("/dev/stderr", "w").close()"""


def test_what_a_plug_in_prints_gets_nowhere_near_the_messages(install, engine, asked) -> None:
    install(at_call=CHATTY)
    process = engine()
    replies = asked(process, QUESTION).all()
    assert isinstance(replies[-1], Done)
    assert all(r.answer.provenance.failed == [] for r in replies if isinstance(r, AnswerPart))
    assert process.troubles == []


def test_plug_ins_that_were_not_wanted_are_not_imported(install, engine, asked) -> None:
    install(at_import="import os; os._exit(7)")
    process = engine(foreign=False)
    assert isinstance(asked(process, QUESTION).all()[-1], Done)
    assert process.troubles == []


PARENT = """
import signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored where the tests run in the background,
signal.signal(signal.SIGHUP, signal.SIG_DFL)  # and this where they are to outlive a terminal
from recommender.worker.launch import Launcher
from recommender.worker.process_engine import ProcessEngine
from recommender.worker.questions import AnswerQuestion
engine = ProcessEngine(Launcher())
engine.catalogue()
engine.ask(AnswerQuestion(settings=("tasks.prying=1",)), print)
time.sleep(float(sys.argv[1]))
print(engine.process_id, flush=True)
time.sleep(1000)
"""


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM, signal.SIGHUP, signal.SIGINT], ids=lambda n: n.name)
def test_it_ends_with_its_parent_while_it_computes(number: signal.Signals) -> None:
    _ends_with_its_parent(number, 0.0)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="nothing ends it there while C code holds Python")
def test_it_ends_with_its_parent_while_a_plug_in_holds_the_interpreter(install) -> None:
    install(at_call=SILENT["in C"])
    _ends_with_its_parent(signal.SIGKILL, 3.0)


def _ends_with_its_parent(number: signal.Signals, busy_s: float) -> None:
    parent = subprocess.Popen(
        [sys.executable, "-c", PARENT, str(busy_s)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        start_new_session=True,
    )
    assert parent.stdout is not None
    lines = iter(parent.stdout)
    worker = int(next(line for line in lines if line.strip().isdigit()))
    os.killpg(parent.pid, number)  # as from a terminal: to the group, which the worker is not in
    parent.wait(WAIT_S)
    end = time.monotonic() + WAIT_S
    while _is_there(worker):
        assert time.monotonic() < end, "the worker is an orphan"
        time.sleep(0.01)


def _is_there(process: int) -> bool:
    try:
        with open(f"/proc/{process}/stat") as stat:
            return stat.read().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        pass
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return not sys.platform.startswith("linux")
