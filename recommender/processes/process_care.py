"""What a worker process does with its descriptors, and how it ends with the process that started it."""

from __future__ import annotations

import contextlib
import os
import signal
import sys


def take_pipes() -> tuple[int, int]:
    """Move the pipes to and from the interface away from standard input and output; gives them.

    Afterwards standard input is empty, and standard output goes where standard error goes: whatever a plug-in prints,
    by whatever way, never gets between messages. Processes that a plug-in starts do not get the pipes.
    """
    questions, answers = os.dup(0), os.dup(1)
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    os.close(nothing)
    os.dup2(2, 1)
    if sys.platform == "win32":
        import msvcrt

        for pipe in (questions, answers):
            msvcrt.setmode(pipe, os.O_BINARY)
    return questions, answers


class CallStoppedError(BaseException):
    """A call of a plug-in took too long and was asked to stop."""

    def __str__(self) -> str:
        return "took longer than a call may"


def end_with(parent: int) -> None:
    """Have the system end this process when the thread that started it is gone, where it can (Linux).

    The end of a pipe does so anywhere, but not while a plug-in's C code holds the interpreter.
    """
    if sys.platform.startswith("linux"):
        import ctypes

        with contextlib.suppress(OSError, AttributeError):
            ctypes.CDLL(None).prctl(1, signal.SIGKILL)  # PR_SET_PDEATHSIG
        if os.getppid() != parent:  # it was gone before that
            os._exit(0)


def end_with_pipe(pipe: int) -> None:
    """Wait in a thread until the other end of a pipe is gone, and end this process then."""
    with contextlib.suppress(OSError):
        os.read(pipe, 1)
    os._exit(1)


def stop_thread(thread: int, error: type[BaseException]) -> None:
    """Raise an exception in another thread, at its next step in Python."""
    import ctypes

    ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread), ctypes.py_object(error))
