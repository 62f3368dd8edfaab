"""What every reader costs at its byte limit: run as a program, prints a line of JSON for each reader and kind of file.

Each is read in a process of its own, forked from one that has imported everything, so that its peak above that is the
reader's own: `python -m tests.property.reader_peaks`. Kinds of file are what a parser's work or store grows fastest in.
"""

from __future__ import annotations

import contextlib
import gzip
import io
import json
import os
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from recommender.errors import InputError
from recommender.models.brief import Brief
from recommender.packs.load import read_pack
from recommender.plugin.block_list import blocked_names
from recommender.service import MAX_BRIEF_BYTES, Service, parse_readings, read_brief
from recommender.shop.quotes.quote_exchange import quotes_of
from recommender.shop.rates.shop_file import MOST_BYTES as MOST_SHOP_BYTES
from recommender.shop.rates.shop_file import shop_of
from recommender.tui.state.keys_file import keymap
from recommender.tui.state.session_state import SessionState

HELD = Path(__file__).parents[1] / "fixtures" / "v0.1" / "book" / "export.json.gz"
EXPORT_BYTES = int(os.environ.get("BEVELWRIGHT_EXPORT_BYTES", "10_000_000"))
"""As long as those of a shop of twenty years by command: BEVELWRIGHT_EXPORT_BYTES=200_000_000."""
MOST_MEMORY = 4_000_000_000
"""Of a process: what goes beyond is a MemoryError, and a peak that is told."""


def filled(start: str, part: str, end: str, size: int) -> bytes:
    """Text of at most that many bytes, with as many parts as it holds."""
    return (start + part * ((size - len(start) - len(end)) // len(part)) + end).encode()


TOML = {
    "dotted key": ("", "a.", "a=1\n"),
    "dotted table": ("[", "a.", "a]\n"),
    "dotted key in quotes": ("", '"a" . ', "a=1\n"),
    "dotted keys": ("", "a." * 20 + "a=1\n", ""),
    "dotted keys in an inline table": ("x={", "a." * 20 + "b=1,", "}\n"),
    "nested lists": ("x=", "[", ""),
    "nested inline tables": ("x=", "{x=", ""),
    "tables": ("", "[[x]]\n", ""),
    "dotted tables": ("", "[[" + "x." * 20 + "x]]\n", ""),
    "list of numbers": ("x=[", "1,", "]\n"),
    "list of tables": ("x=[", "{},", "]\n"),
    "one string": ('x="', "x", '"\n'),
    "strings that do not end": ("", 'x="""\\', ""),
    "one comment": ("#", "x.", "\n"),
    "one number": ("x=", "9", "\n"),
}
JSON = {
    "nested lists": ("", "[", ""),
    "nested objects": ("", '{"":', ""),
    "list of lists": ("[", "[],", "[]]"),
    "list of objects": ("[", '{"a":1},', "{}]"),
    "one string": ('"', "x", '"'),
    "one number": ("", "9", ""),
}


def many_quotes(size: int) -> bytes:
    """An export of as many quotes as there is room for."""
    sound = json.loads(gzip.decompress(HELD.read_bytes()))
    quotes = [quote for quote in sound if quote["revision"] == 1]
    texts: list[str] = []
    total = 2
    while total < size - 200_000:
        texts.append(json.dumps({**quotes[len(texts) % len(quotes)], "number": len(texts) + 1}))
        total += len(texts[-1]) + 2
    return f"[{', '.join(texts)}]".encode()


def keys(prefix: str, size: int) -> bytes:
    """As many different keys as there is room for."""
    lines, total = [], 0
    while total < size - 20:
        lines.append(f"{prefix}{len(lines):x}=1\n")
        total += len(lines[-1])
    return "".join(lines).encode()


def readers(folder: Path) -> dict[str, tuple[int, bool, Callable[[bytes], Any]]]:
    """Every reader: its byte limit, whether it reads JSON, and how it is given bytes."""

    def pack(raw: bytes) -> None:
        place = folder / "pack" / "rules"
        place.mkdir(parents=True, exist_ok=True)
        (folder / "pack" / "pack.toml").write_bytes(b'id = "x"\ntitle = "x"\nversion = "1"\n')
        (place / "x.toml").write_bytes(raw)
        read_pack(folder / "pack")

    def own_keys(raw: bytes) -> None:
        (folder / "keys.toml").write_bytes(raw)
        keymap(["app.quit"], folder)

    def kept(raw: bytes) -> None:
        (folder / "as-left.json").write_bytes(raw)
        (folder / "recent.json").write_bytes(raw)
        SessionState(folder).left_off()
        SessionState(folder).recent()

    def row(raw: bytes) -> None:
        for found in service.batch.rows(io.BytesIO(raw + b"\n"), Brief(), "jsonl"):
            if isinstance(found.asked, InputError):
                raise found.asked

    def blocked(raw: bytes) -> None:
        os.environ["XDG_CONFIG_HOME"] = str(folder)
        (folder / "bevelwright").mkdir(exist_ok=True)
        (folder / "bevelwright" / "blocked-plugins.txt").write_bytes(raw)
        blocked_names()

    service = Service()
    _ = service.knowledge
    return {
        "brief": (MAX_BRIEF_BYTES, False, lambda raw: service.briefs.case(read_brief(raw, "brief"))),
        "pack": (1_000_000, False, pack),
        "shop": (MOST_SHOP_BYTES, False, lambda raw: shop_of(raw, "shop")),
        "keys": (64_000, False, own_keys),
        "block list": (100_000, False, blocked),
        "readings": (64_000, False, lambda raw: parse_readings([raw.decode()])),
        "kept": (64_000, True, kept),
        "row": (64_000, True, row),
        "export": (EXPORT_BYTES, True, lambda raw: quotes_of(raw, "export")),
    }


def peak(read: Callable[[bytes], Any], raw: bytes) -> dict[str, Any]:
    """What one reading takes above this process: MB at most, seconds, and how it ended."""
    out, into = os.pipe()
    child = os.fork()
    if not child:
        with contextlib.suppress(BaseException):
            resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
            before, start = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, time.process_time()
            try:
                read(raw)
                ended = "read"
            except InputError as told:
                ended = f"refused: {str(told)[:100]}"
            except BaseException as cause:
                ended = f"failed: {type(cause).__name__}"
            above = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1000
            said = {"mb": round(above, 1), "s": round(time.process_time() - start, 2), "ended": ended}
            os.write(into, json.dumps(said).encode())
        os._exit(0)
    os.close(into)
    with open(out, "rb") as pipe:
        told = pipe.read()
    os.waitpid(child, 0)
    return json.loads(told) if told else {"mb": float("inf"), "s": 0.0, "ended": "failed: killed"}


def main() -> None:
    """Print every reader's peak for every kind of file."""
    with tempfile.TemporaryDirectory() as place:
        for name, (size, is_json, read) in readers(Path(place)).items():
            kinds = {kind: filled(*parts, size) for kind, parts in (JSON if is_json else TOML).items()}
            if name == "export":
                kinds["quotes"] = many_quotes(size)
                kinds["one long quote"] = filled('[{"a":"', "x", '"}]', size)
                kinds["quotes of 1 MB"] = filled("[", '{"a":[' + "0," * 45_000 + f'"{"x" * 850_000}"]}},', "{}]", size)
            if not is_json:
                kinds |= {"keys": keys("k", size), "tasks": b"[tasks]\n" + keys("k", size - 10)}
                kinds |= {"dotted keys, all different": keys("a." * 20 + "k", size)}
            for kind, raw in kinds.items():
                told = {"reader": name, "kind": kind, "bytes": len(raw), **peak(read, raw)}
                print(json.dumps(told), flush=True)


if __name__ == "__main__":
    sys.exit(main())
