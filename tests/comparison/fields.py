"""A captured paper as data that can be compared field by field: JSON, lines of text, elements of drawings."""

from __future__ import annotations

import io
import json
import re
import xml.etree.ElementTree as ElementTree
from pathlib import PurePath

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_HANDLES = {5, 105, 1005, *range(320, 370), *range(390, 400), 480, 481}
"""Group codes of DXF under which a file numbers its parts: they shift where anything comes in before."""
_PER_FILE = re.compile(r"\$(TD|.*GUID$|HANDSEED|LASTSAVEDBY)")
"""Variables of DXF's header that say when and where a file was written, not what is drawn."""


def fields_of(paper: dict) -> dict[str, object]:
    """What a paper says, as nested dicts and lists of words and numbers."""
    files = {name: _of_file(name, text.encode("latin-1")) for name, text in paper["files"].items()}
    found = {"exit": paper["exit"], "printed": _of_text(paper["printed"]), "errors": paper["errors"].splitlines()}
    return found | {"files": files}


def _of_text(text: str) -> object:
    if text.startswith(("{", "[")):
        try:
            return json.loads(text)
        except ValueError:
            pass
    return text.splitlines()


def _of_file(name: str, content: bytes) -> object:
    match PurePath(name).suffix:
        case ".svg":
            return _of_svg(content.decode("utf-8"))
        case ".dxf":
            return _of_dxf(content.decode("utf-8"))
        case ".pdf":
            return _of_pdf(content)
        case _:
            return content.decode("utf-8", errors="surrogateescape").splitlines()


def _of_svg(text: str) -> list[dict[str, object]]:
    """Every element in drawing order, its attributes taken apart into words and numbers."""
    elements = []
    for element in ElementTree.fromstring(text).iter():
        named = {name: numbers_apart(value) for name, value in element.attrib.items()}
        elements.append({"tag": element.tag.rpartition("}")[2], "text": (element.text or "").strip(), **named})
    return elements


def numbers_apart(text: str) -> list[str | float]:
    """Words and numbers of a text in their order; blanks, commas and parentheses stand between them.

    >>> numbers_apart("M 1.5,-2 L 3e1 4")
    ['M', 1.5, -2.0, 'L', 30.0, 4.0]
    >>> numbers_apart("#e4e7e9")
    ['#e4e7e9']
    """
    return [float(word) if _NUMBER.fullmatch(word) else word for word in re.split(r"[\s,()]+", text) if word]


def _of_dxf(text: str) -> dict[str, list]:
    """Header variables, and of every other section but OBJECTS each part with its values by group code.

    OBJECTS only lists by handle what the other sections hold.
    """
    lines = text.splitlines()
    tags = [(int(code), value.strip()) for code, value in zip(lines[::2], lines[1::2], strict=False)]
    sections: dict[str, list] = {}
    current: list = []
    for index, (code, value) in enumerate(tags):
        if code == 0 and value == "SECTION":
            current = []
            sections[tags[index + 1][1]] = current
        elif code == 0:
            current.append({"part": value})
        elif code == 9:
            current.append({"variable": value})
        elif current and code not in _HANDLES:
            current[-1].setdefault(f"code {code}", []).append(_dxf_value(code, value))
    header = [each for each in sections.pop("HEADER", []) if not _PER_FILE.match(each.get("variable", ""))]
    return {"HEADER": header} | {name: parts for name, parts in sections.items() if name not in ("OBJECTS", "CLASSES")}


def _dxf_value(code: int, value: str) -> object:
    is_real = 10 <= code < 60 or 110 <= code < 150 or 210 <= code < 240 or 1010 <= code < 1060
    return float(value) if is_real else value


def _of_pdf(content: bytes) -> list[list[list[str | float]]]:
    """What is drawn on every page, line by line: the bytes around it hold no more than where it stands in the file."""
    from pypdf import PdfReader

    drawn = [page.get_contents() for page in PdfReader(io.BytesIO(content)).pages]
    # A page with nothing on it has no stream; a stream's own truth is that of its dictionary.
    texts = ["" if stream is None else stream.get_data().decode("latin-1") for stream in drawn]
    return [[numbers_apart(line) for line in text.splitlines()] for text in texts]
