"""Packs and briefs of any bytes, or shipped ones with anything put in: loaded, or refused in one line.

Nothing but InputError and its kinds may come out, within the file that was changed, and nothing is written.
"""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import bevelwright_rules
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from recommender.errors import InputError, PackError
from recommender.models.brief import Brief
from recommender.packs.load import layered, read_pack
from recommender.service import Service, read_brief, with_settings

CORE = Path(bevelwright_rules.__file__).parent / "core"
SCENARIO = Path(__file__).parents[2] / "scenarios" / "left-handed-hunter.toml"
PIECES = st.sampled_from(
    [
        b"", b"\x00", b"\xff\xfe", b"nan", b"inf", b"1e999", b"-1", b"true", b"[]", b"{}", b"[[", b"]]", b'"', b"'''",
        b"\x1b[31m", "\u202e".encode(), b"\n", b"=", b"[tasks]", b"{ x = 1 }", b"9" * 400, b"a" * 3000, b"1979-05-27",
    ]
)  # fmt: skip


def changed(raw: bytes, data: st.DataObject) -> bytes:
    """The bytes with up to three pieces put in or over."""
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(raw)))
        cut = data.draw(st.integers(0, 12))
        piece = data.draw(PIECES | st.binary(max_size=20))
        raw = raw[:at] + piece + raw[at + cut :]
    return raw


def one_line(text: str) -> bool:
    return "\n" not in text and "\x1b" not in text and "\u202e" not in text


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=400))
@example(b"\xef\xbb\xbf[tasks]\nprying = 1\n")
def test_a_brief_of_any_bytes(raw: bytes) -> None:
    told = brief_or_words(raw)
    assert isinstance(told, Brief) or one_line(told)


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_a_shipped_brief_with_anything_put_in(data: st.DataObject) -> None:
    told = brief_or_words(changed(SCENARIO.read_bytes(), data))
    assert isinstance(told, Brief) or one_line(told)


@settings(max_examples=300, deadline=None)
@given(st.lists(st.text(max_size=40), max_size=4))
@example(["tasks.=1"])
@example(["steel.grade.x=1", "steel=3"])
def test_settings_of_any_text(given_settings: list[str]) -> None:
    try:
        told: Brief | str = with_settings(Brief(), given_settings)
    except InputError as error:
        told = str(error)
    assert isinstance(told, Brief) or one_line(told)


def brief_or_words(raw: bytes) -> Brief | str:
    try:
        return read_brief(raw, "x.toml")
    except InputError as error:
        return str(error)


@pytest.fixture(scope="module")
def pack(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small pack of each kind of file, quick to load."""
    folder = tmp_path_factory.mktemp("packs") / "core"
    shutil.copytree(CORE, folder)
    kept = {"prying-bears-moment.toml", "edge-keen.toml", "carry-law.toml", "flat-is-simplest.toml", "prying-eyes.toml"}
    for path in (folder / "rules").iterdir():
        if path.name not in kept:
            path.unlink()
    return folder


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_pack_with_anything_put_in(service: Service, pack: Path, data: st.DataObject) -> None:
    files = sorted(path for path in pack.rglob("*.toml"))
    file = files[data.draw(st.integers(0, len(files) - 1))]
    before = file.read_bytes()
    file.write_bytes(changed(before, data))
    try:
        told = pack_or_words(service, pack)
    finally:
        file.write_bytes(before)
    assert told is None or one_line(told)


def pack_or_words(service: Service, folder: Path) -> str | None:
    try:
        layered([read_pack(folder)], grinds=service.registry.grinds, metrics=service.registry.metrics)
    except PackError as error:
        return str(error)
    return None


def test_every_shipped_file_cut_short_anywhere_is_refused_or_still_sound(service: Service, pack: Path) -> None:
    """A file that was only half written: a random cut in each kind."""
    cuts = random.Random(7)
    for file in sorted(path for path in pack.rglob("*.toml")):
        before = file.read_bytes()
        file.write_bytes(before[: cuts.randrange(len(before))])
        try:
            told = pack_or_words(service, pack)
        finally:
            file.write_bytes(before)
        assert told is None or one_line(told), file
