"""One command run in this process, and whether it kept what every command promises."""

from __future__ import annotations

import contextlib
import io
import os
import re
import tempfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any
from unittest import mock

import recommender.service
import recommender.service.batch
from recommender.cli import main
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.service import Service
from recommender.service.briefs import Briefs

CODES = (0, 1, 2)
BAD_INPUT = 2
_CONTROL = {
    *map(chr, range(32)),
    *map(chr, range(0x7F, 0xA0)),
    *"\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069",
}
_CONTROL -= set("\n\t\r")


class QuickBriefs(Briefs):
    """Reads and refuses as ever, and says the answer to an empty brief of whatever it takes: no search each time."""

    def answers(self, brief: Brief, file: str = "brief", *, flips: bool = True) -> Iterator[Answer]:
        case = self.case(brief, file)
        yield _answer().model_copy(update={"brief": case.resolved.brief})


def _quick(**said: Any) -> Service:
    service = Service(own_packs=False, **said)
    service.briefs = QuickBriefs(service.loaded)
    return service


@cache
def _shared() -> Service:
    return _quick()


@cache
def _answer() -> Answer:
    return list(Service(own_packs=False).answers(Brief()))[-1]


def _service(**said: Any) -> Service:
    # What is loaded does not change from case to case, unless packs are given.
    return _quick(**said) if said.get("packs") else _shared()


def outcome(argv: list[str], files: dict[str, bytes], *, quick: bool = True) -> str:
    """Run a command in a folder of its own with some files in it: "answered" or "refused".

    Raises AssertionError for another exit code, a refusal that is not one line, a traceback, files written or changed,
    and control characters on standard output.
    """
    printed, err = io.BytesIO(), io.StringIO()
    out = io.TextIOWrapper(printed, encoding="utf-8", errors="replace", newline="")
    with tempfile.TemporaryDirectory() as place:
        folder, home = Path(place), os.getcwd()
        for name, raw in files.items():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(raw)
        with contextlib.ExitStack() as stack:
            os.chdir(folder)
            stack.callback(os.chdir, home)
            stack.enter_context(contextlib.redirect_stdout(out))
            stack.enter_context(contextlib.redirect_stderr(err))
            if quick:
                stack.enter_context(mock.patch.object(recommender.service, "Service", _service))
                stack.enter_context(mock.patch.object(recommender.service.batch, "Briefs", QuickBriefs))
            try:
                code: Any = main(argv)
            except SystemExit as ended:  # of the parser of options
                code = ended.code
            out.flush()
        left = {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    assert code in CODES, f"exit code {code}: {err.getvalue()[-600:]}"
    assert left == files, f"files written or changed: {sorted(left)}"
    told, said = err.getvalue(), printed.getvalue().decode()
    assert "Traceback" not in told, told[-600:]
    assert not _CONTROL & set(said), f"control characters on standard output: {_CONTROL & set(said)}"
    assert not _CONTROL & set(told), f"control characters on standard error: {_CONTROL & set(told)}"
    if argv[0] == "sweep" and said:  # which says every row's own refusal on standard output
        return "answered" if re.search(r"^\d+ briefs?: [1-9]", told, re.MULTILINE) else "refused"
    if code != BAD_INPUT:
        assert said or argv[0] == "sweep", f"exit code {code} and nothing said"  # a file may hold no row
        return "answered"
    assert told.count("\n") == 1, f"a refusal of {told.count(chr(10))} lines: {told[:300]}"
    assert said == "", "a refusal with something on standard output"
    return "refused"
