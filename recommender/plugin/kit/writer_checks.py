"""The contract of a writer: bytes, not too many, the same every time, and nothing printed."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from recommender.plugin.api import MOST_DOCUMENT_BYTES, Writer
from recommender.plugin.declaration_checks import declaration_fault
from recommender.plugin.kit.finding import Calls, Finding


def check_writer_on(writer: Writer, answers: Sequence[Mapping[str, Any]]) -> list[Finding]:
    """Everything that a writer does not keep to with the answers given, as it would get them."""
    calls = Calls(f"writer {getattr(writer, 'id', '?')}")
    problem = declaration_fault(writer, Writer)
    if problem:
        calls.find(problem)
        return calls.findings
    for answer in answers:
        given = {key: value if key == "sheet" else copy.deepcopy(value) for key, value in answer.items()}
        written = calls.call("write", writer.write, given, gives=bytes)
        if written is None:
            continue
        if not written or len(written) > MOST_DOCUMENT_BYTES:
            calls.find(f"gives a document of {len(written):,} bytes, of at most {MOST_DOCUMENT_BYTES:,}")
        if given != answer:
            calls.find("changes the answer that it is given")
        elif calls.call("write", writer.write, given) != written:
            calls.find("does not give the same document again")
    return calls.findings
