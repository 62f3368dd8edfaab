"""Quotes that a later version made, with keys of its own, and schemas that nobody here knows.

Source: the charter. New keys stay within a schema; one removed, renamed or changed in meaning makes the next.
"""

from __future__ import annotations

import copy
import json
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

LATER = {"said": [1, 2.5, None, "Ü", {"deep": True}], "amount": "1.10"}


@pytest.fixture
def quotes(held) -> list[dict[str, Any]]:
    """Three of the held quotes, to be changed."""
    return copy.deepcopy(list(held.quotes.values())[:3])


@pytest.fixture
def imported(tmp_path: Path, run) -> Callable:
    """Import quotes into an empty book; gives the book and what the command gave."""

    def take_in(data: object) -> tuple[Path, Any]:
        file, book = tmp_path / "later.json", tmp_path / "later.sqlite3"
        file.write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        return book, run("book", "import", file, "--book", book)

    return take_in


def objects(node: Any, maps: set[str], path: str = "") -> Iterator[dict[str, Any]]:
    """Every JSON object with keys of the schema's, not those whose keys are free names."""
    if isinstance(node, dict):
        free = path in maps
        if not free:
            yield node
        for name, value in list(node.items()):
            yield from objects(value, maps, f"{path}.{'*' if free else name}".lstrip("."))
    elif isinstance(node, list):
        for value in node:
            yield from objects(value, maps, f"{path}[]")


def exported(answered, book: Path, file: Path) -> Any:
    answered("book", "export", "--book", book, "--json", file)
    return json.loads(file.read_bytes())


def test_one_more_key_in_an_answer_is_kept(quotes, imported, answered, tmp_path: Path) -> None:
    quotes[0]["answer"]["later"] = LATER
    book, done = imported(quotes)
    assert done.out == "3 quotes taken in, 0 there already.\n", done.err
    assert exported(answered, book, tmp_path / "again.json") == quotes
    assert json.loads(answered("book", "show", "1", "--book", book, "--json"))["answer"]["later"] == LATER


def test_more_keys_everywhere_are_kept_and_change_nothing(held, quotes, imported, answered, tmp_path: Path) -> None:
    """In the brief, order, shop, price, documents and every part of the answer."""
    plain, _ = imported(quotes)
    shown = [answered("book", part, "1", "--book", plain) for part in ("show", "reprint", "compare")]
    plain.unlink()
    maps = {path.removesuffix(".*") for path in held.json("keys.json")["bevelwright.quote/1"] if path.endswith(".*")}
    touched = 0
    for quote in quotes:
        for node in list(objects(quote, maps)):
            node["later_key"] = LATER
            touched += 1
        quote["status"] = quote.pop("status")  # an export puts it last
    assert touched > 500
    book, done = imported(quotes)
    assert done.code == 0, done.err
    assert [answered("book", part, "1", "--book", book) for part in ("show", "reprint", "compare")] == shown
    first = exported(answered, book, tmp_path / "first.json")
    assert first == quotes
    assert json.dumps(first) == json.dumps(quotes), "the order of keys too"


def test_asking_anew_says_which_wishes_it_does_not_know(held, quotes, imported, run) -> None:
    quotes[0]["brief"]["owner"]["eyesight"] = "sharp"
    quotes[0]["order"]["engraving"] = "J. M."
    book, _ = imported(quotes)
    shop = ("--shop", held.folder / "shops" / "deposit.toml")
    for part in ("compare", "revise"):
        done = run("book", part, "1", "--book", book, *shop)
        assert done.code == 0, done.err
        assert "brief.owner.eyesight and order.engraving" in done.err
        assert done.err.count("\n") == 1


def test_a_key_that_came_later_need_not_be_there(quotes, imported, answered, tmp_path: Path) -> None:
    """Of what has a default today: left out, it stays out of what is stored."""
    quote = quotes[0]
    for holder, name in (
        (quote["answer"]["provenance"], "blocked"),
        (quote["answer"]["provenance"], "overruled"),
        (quote["price"], "warnings"),
        (quote["price"], "deposit"),
        (quote["price"], "deposit_percent"),
        (quote["shop"]["business"], "deposit_percent"),
        (quote["brief"], "wishes"),
        (quote["order"], "reference"),
    ):
        del holder[name]
    book, done = imported(quotes)
    assert done.code == 0, done.err
    answered("book", "show", "1", "--book", book)
    assert exported(answered, book, tmp_path / "again.json") == quotes


def test_every_key_added_since_has_a_default(held, quote_schema) -> None:
    """Whatever this version must find in a stored quote, the held version wrote."""
    pinned = held.json("keys.json")["bevelwright.quote/1"]
    needed = set(required(quote_schema, "", quote_schema["$defs"]))
    assert len(needed) > 300
    assert needed <= set(pinned), needed - set(pinned)


def required(
    node: dict[str, Any], path: str, models: dict[str, Any], within: frozenset[str] = frozenset()
) -> Iterator[str]:
    """The keys without a default in a JSON Schema; a model inside itself has them once."""
    if "$ref" in node:
        name = node["$ref"].rpartition("/")[2]
        if name in within:
            return
        node, within = models[name], within | {name}
    for part in (*node.get("anyOf", ()), *node.get("oneOf", ())):
        yield from required(part, path, models, within)
    for name, child in node.get("properties", {}).items():
        below = f"{path}.{name}".lstrip(".")
        if name in node.get("required", ()):
            yield below
        yield from required(child, below, models, within)
    for child in node.get("patternProperties", {}).values():
        yield from required(child, f"{path}.*", models, within)
    if isinstance(node.get("additionalProperties"), dict):
        yield from required(node["additionalProperties"], f"{path}.*", models, within)
    if isinstance(node.get("items"), dict):
        yield from required(node["items"], f"{path}[]", models, within)


@pytest.mark.parametrize(
    "key", ["proposal", "metrics", "flips", "relaxations", "brief_sources", "provenance", "schema_"]
)
def test_a_key_of_the_first_day_must_be_there(quotes, imported, key: str) -> None:
    del quotes[1]["answer"][key]
    book, done = imported(quotes)
    assert f"quote 2: answer.{key}" in done.line
    assert not book.exists()


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (lambda quote: quote.update(schema="bevelwright.quote/9"), "bevelwright.quote/1"),
        (lambda quote: quote.update(schema=None), "bevelwright.quote/1"),
        (lambda quote: quote["answer"].update(schema_="bevelwright.proposal/9"), "bevelwright.proposal/1"),
        (lambda quote: quote["answer"].update(schema_=["bevelwright.proposal/1"]), "bevelwright.proposal/1"),
    ],
)
def test_a_schema_that_is_unknown_is_refused_with_those_that_are_not(quotes, imported, change, named: str) -> None:
    change(quotes[2])
    book, done = imported(quotes)
    assert "later.json: quote 3: " in done.line
    assert "no schema" in done.line
    assert f"expected {named}" in done.line
    assert not book.exists()


def test_a_stored_quote_of_an_unknown_schema_still_prints(held, book: Path, run, answered, tmp_path: Path) -> None:
    """A book that a later version has written to: what cannot be read is listed, reprinted and exported."""
    before = exported(answered, book, tmp_path / "before.json")
    with sqlite3.connect(book) as raw:
        raw.execute("UPDATE quotes SET quote = replace(quote, 'bevelwright.proposal/1', 'bevelwright.proposal/9')")
    raw.close()
    line = run("book", "show", "1", "--book", book).line
    assert "quote 1 cannot be read" in line
    assert "bevelwright.proposal/9" in line
    assert "expected bevelwright.proposal/1" in line
    for part in ("revise", "compare"):
        assert "bevelwright.proposal/9" in run("book", part, "1", "--book", book).line
    assert answered("book", "reprint", "1", "--book", book) == held.text("book/documents/quote-1.md")
    assert len(json.loads(answered("book", "list", "--book", book, "--json"))) == len(before)
    after = exported(answered, book, tmp_path / "after.json")
    assert json.dumps(after).replace("bevelwright.proposal/9", "bevelwright.proposal/1") == json.dumps(before)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "cannot be read"),
        (b"no JSON", "cannot be read"),
        (b"{}", "a JSON list of quotes"),
        (b"[1]", "a quote as one JSON object"),
        (b"[{}]", "status"),
        (b'[{"status": "sent", "number": NaN}]', "finite"),
        (b'[{"status": "sent", "schema": "bevelwright.quote/1"}]', "missing"),
        (b"[" * 100_000, "cannot be read"),
    ],
)
def test_garbage_is_refused_as_ever(run, tmp_path: Path, content: bytes, said: str) -> None:
    file, book = tmp_path / "garbage.json", tmp_path / "garbage.sqlite3"
    file.write_bytes(content)
    assert said in run("book", "import", file, "--book", book).line
    assert not book.exists()


@pytest.mark.parametrize("text", ["\\ud800", "half \\udc00 a pair"])
def test_text_that_cannot_be_written_again_is_refused(quotes, run, tmp_path: Path, text: str) -> None:
    file = tmp_path / "half.json"
    file.write_text(json.dumps(quotes[:1]).replace('"schema_"', f'"later": "{text}", "schema_"', 1), encoding="utf-8")
    assert "cannot be read" in run("book", "import", file, "--book", tmp_path / "half.sqlite3").line


def test_files_that_a_user_writes_still_refuse_what_is_misspelt(held, run, tmp_path: Path) -> None:
    brief, shop = tmp_path / "brief.toml", tmp_path / "shop.toml"
    brief.write_text(held.text("briefs/every-field.toml").replace("climate", "climat"), encoding="utf-8")
    assert "nearest: climate" in run("recommend", brief).line
    shop.write_text(held.text("shops/deposit.toml").replace("kerf_mm", "kerv_mm"), encoding="utf-8")
    assert "nearest: kerf_mm" in run("shop", "show", "--shop", shop).line
