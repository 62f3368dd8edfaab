"""The command line: every answer without a terminal interface."""

from __future__ import annotations

import argparse
import io
import os
import re
import signal
import sys
from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any, NoReturn

from recommender import __version__
from recommender.commands.families import COMMANDS, LateCommands, commands_text, plugin_arguments
from recommender.errors import BevelwrightError, InputError, describe
from recommender.side_effects import side_effect
from recommender.signals import handling, raising_once
from recommender.standard_streams import discard_output, open_closed_streams
from recommender.text import clean, nearest, shorten

if TYPE_CHECKING:
    from recommender.processes.left_out import LeftOut

EXIT_BAD_INPUT, EXIT_FAILED = 2, 3
_DESCRIPTION = """Recommends how a blade should be ground. Without a command it opens the interface.

"""
_EXAMPLES = """examples:
  bevelwright recommend --set tasks.food-prep=1 --set owner.gear=pull-through
  bevelwright recommend scenarios/left-handed-hunter.toml
  bevelwright tasks
"""

_INVALID_CHOICE = re.compile(r"invalid choice: '(.*?)' \(choose from (.*)\)")


class _Parser(argparse.ArgumentParser):
    """Errors in one line, with the nearest valid name, exit 2."""

    def error(self, message: str) -> NoReturn:
        chosen = _INVALID_CHOICE.search(message)
        close = nearest(chosen[1], [name.strip("'") for name in chosen[2].split(", ")]) if chosen else None
        hint = f"; nearest: {close}" if close else ""
        self.exit(2, f"{self.prog}: {clean(message + hint, one_line=True)}\n")

    def _print_message(self, message: str, file: Any = None) -> None:
        """Write help or version; argparse passes over what cannot be written."""
        stream = file or sys.stderr
        stream.write(message)
        stream.flush()


def _parser() -> _Parser:
    parser = _Parser(
        prog="bevelwright",
        usage="%(prog)s [options] [COMMAND ...]",
        description=_DESCRIPTION + commands_text(),
        epilog=_EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"bevelwright {__version__}")
    parser.add_subparsers(
        dest="command",
        metavar="COMMAND",
        help=argparse.SUPPRESS,
        prog="bevelwright",
        parser_class=_Parser,
        action=LateCommands,
    )
    plugin_arguments(parser, before_command=True)
    parser.add_argument(
        "--plugin-seconds",
        type=_seconds,
        metavar="S",
        help="how long one call of a plug-in may take (10)",
    )
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code: 0 answered, 1 nothing fits, 2 bad input, 3 failed without an answer.

    With arguments of its own, as a program calls it, all is done in this process.
    """
    _set_up()
    given = list(sys.argv[1:] if argv is None else argv)
    return _exit_code(lambda: _command(given, _answer if argv is not None else partial(_supervised, given)))


def main_of_child(argv: Sequence[str], marks: Sequence[str], left_out: Sequence[dict[str, str]]) -> int:
    """Run one command for a supervisor that could not fork; as `main`."""
    from recommender.processes.left_out import LeftOut
    from recommender.processes.supervised_command import marks_of, run_as_child

    _set_up()
    lost = [LeftOut(**each) for each in left_out]
    return run_as_child(marks_of(marks), lambda: _exit_code(lambda: _command(argv, partial(_answer, left_out=lost))))


def _set_up() -> None:
    # One thread is faster for arrays this small; it has to be said before numpy is imported.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Nor does pydantic have to look for plug-ins of its own in every distribution that is installed.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    open_closed_streams()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def _command(given: Sequence[str], answer: Callable[[argparse.Namespace, dict[str, Any]], int]) -> int:
    """Run the command that the arguments ask for, or the interface."""
    if given and not given[0].startswith("-") and given[0] not in COMMANDS:
        raise InputError(
            f"unknown command {shorten(given[0])}",
            expected=f"one of {', '.join(COMMANDS)}",
            given=given[0],
            valid=COMMANDS,
        )
    args = _parser().parse_args(given)
    loading = _loading(args)
    return _interface(loading, args.plugin_seconds) if args.command is None else answer(args, loading)


def _exit_code(work: Callable[[], int]) -> int:
    """Do it; what ends it early is said in one line and has an exit code."""
    try:
        return work()
    except BevelwrightError as error:
        print(f"bevelwright: {error}", file=sys.stderr)
        return error.exit_code
    except BrokenPipeError:
        # The reader went away (a pager closed); nothing is wrong with the answer.
        discard_output()
        return 0
    except OSError as error:
        print(f"bevelwright: the answer could not be written ({error.strerror})", file=sys.stderr)
        discard_output()
        return 2
    except _ToldToEnd:
        return 128 + signal.SIGTERM
    except KeyboardInterrupt:
        return 128 + signal.SIGINT


def _supervised(given: Sequence[str], args: argparse.Namespace, loading: dict[str, Any]) -> int:
    """Run the command, in a child process where plug-ins from outside would be loaded."""
    from recommender.plugin.installed import any_foreign

    if not loading["foreign"] or not any_foreign(loading["without"]):
        return _answer(args, loading)
    from recommender.processes.call_mark import CALL_SECONDS
    from recommender.processes.supervised_command import supervise

    def run(left_out: Sequence[LeftOut]) -> int:
        return _exit_code(lambda: _answer(args, loading, left_out))

    seconds = args.plugin_seconds or CALL_SECONDS
    return supervise(run, given, strict=loading.get("strict", False), call_seconds=seconds)


def _loading(args: argparse.Namespace) -> dict[str, Any]:
    """What is loaded and what is not, as `Service` takes it. Raises InputError for a plug-in that is not there."""
    without = [*args.without_before_command, *getattr(args, "without", [])]
    if without:  # before anything is imported, and by commands too that load no plug-ins
        from recommender.plugin.registry import must_be_there

        must_be_there(without)
    foreign = not (args.no_plugins_before_command or getattr(args, "no_plugins", False))
    options = {name: getattr(args, name) for name in ("strict", "packs", "shop") if hasattr(args, name)}
    return {**options, "without": without, "foreign": foreign}


def _answer(args: argparse.Namespace, loading: dict[str, Any], left_out: Sequence[LeftOut] = ()) -> int:
    """Run the command; what fails by nobody's input, or ends the program without an answer, is exit code 3."""
    _keep_answers_apart()
    if left_out:
        from recommender.processes.left_out import failures_of

        loading = {**loading, "left_out": failures_of(left_out)}
    from recommender.service import Service

    try:
        # A command that is told to end puts away what it has half written.
        with handling(signal.SIGTERM, raising_once(_ToldToEnd)):
            code: int = args.run(Service(**loading), args)
        sys.stdout.flush()
        return code
    except (BevelwrightError, OSError, KeyboardInterrupt):
        raise
    except BaseException as cause:
        if isinstance(cause, SystemExit) and cause.code == EXIT_BAD_INPUT:
            raise  # of a parser, which has said why
        import traceback

        traceback.print_exc()
        print(f"bevelwright: failed, and no answer was written ({describe(cause)})", file=sys.stderr)
        return EXIT_FAILED


class _ToldToEnd(KeyboardInterrupt):
    """Told by SIGTERM; no SystemExit, which a plug-in's call would take for the plug-in's own."""


def _seconds(text: str) -> float:
    from recommender.commands.common import size

    seconds = size(text)
    if seconds <= 0:
        raise argparse.ArgumentTypeError(f"{seconds:g} is too short")
    return seconds


def _interface(loading: dict[str, Any], plugin_seconds: float | None) -> int:
    """Open the terminal interface; without a terminal say what to run instead."""
    if not (sys.stdin and sys.stdin.isatty() and sys.stdout.isatty()) or os.environ.get("TERM") in (None, "", "dumb"):
        print(
            "bevelwright: no terminal to draw on; try: bevelwright recommend --set tasks.food-prep=1, "
            "or bevelwright --help",
            file=sys.stderr,
        )
        return 2
    from recommender.tui import run

    return run(loading["without"], foreign=loading["foreign"], call_seconds=plugin_seconds)


def _keep_answers_apart() -> None:
    """Keep standard output for answers alone, to the end.

    What plug-ins write to file descriptor 1, by whatever way and however late it is flushed, goes to standard error.
    """
    try:
        if sys.stdout.fileno() != 1:
            return  # somebody else has it already
        kept = os.dup(1)
    except (OSError, ValueError, AttributeError):  # no file behind it
        return
    os.dup2(2, 1)
    stream = io.BufferedWriter(_Answers(kept, "w"))
    sys.stdout = io.TextIOWrapper(stream, sys.stdout.encoding, errors="replace", line_buffering=os.isatty(kept))


class _Answers(io.FileIO):
    """Standard output, of which nothing can be called back."""

    def write(self, data: Any) -> int:
        side_effect()
        return super().write(data) or 0


if __name__ == "__main__":
    sys.exit(main())
