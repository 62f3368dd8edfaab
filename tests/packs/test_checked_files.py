"""Checked packs are kept: the same as read anew, and read anew wherever what is kept cannot be trusted."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import bevelwright_rules
import pytest

from recommender.errors import PackError
from recommender.packs import checked_files
from recommender.packs.checked_files import MOST_BYTES, MOST_KEPT, kept_file
from recommender.packs.load import Pack, read_pack

CORE = Path(bevelwright_rules.__file__).parent / "core"
RULE = "rules/prying.toml"


@pytest.fixture
def pack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A pack of its own, and a cache that nothing is in."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    target = tmp_path / "core"
    shutil.copytree(CORE, target)
    return target


@pytest.fixture
def parsed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files that are parsed from now on."""
    seen: list[str] = []
    parse = checked_files.parse_toml

    def noted(raw: bytes, file: str, *rest: object) -> dict[str, object]:
        seen.append(file)
        return parse(raw, file, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(checked_files, "parse_toml", noted)
    return seen


def everything(pack: Pack) -> list[tuple[str, object]]:
    """All models as JSON with what was set in them, types told apart, in order."""
    models = [pack.info, *(t for kind in pack.tables.values() for t in kind.values()), *(r.rule for r in pack.rules)]
    return [(m.model_dump_json(exclude_unset=True) + m.model_dump_json(), m) for m in models]


def test_what_was_kept_is_what_is_read_anew(pack: Path, parsed: list[str]) -> None:
    anew = read_pack(pack)
    files = len(list(pack.rglob("*.toml")))
    assert len(parsed) == files > 100
    kept = read_pack(pack)
    assert len(parsed) == files
    assert everything(kept) == everything(anew)
    assert [(r.pack, r.file) for r in kept.rules] == [(r.pack, r.file) for r in anew.rules]


def test_a_file_that_changes_is_read_anew_and_no_other(pack: Path, parsed: list[str]) -> None:
    read_pack(pack)
    parsed.clear()
    path = pack / RULE
    before = path.stat()
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("to = 2.8", "to = 2.9"), encoding="utf-8")
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    (found,) = [r.rule for r in read_pack(pack).rules if r.rule.id == "prying-moment"]
    assert found.effect.to == 2.9  # type: ignore[union-attr]
    assert parsed == [f"core/{RULE}"]
    parsed.clear()
    read_pack(pack)
    assert parsed == []


def test_an_error_is_the_same_whether_other_files_are_known_or_not(pack: Path) -> None:
    read_pack(pack)
    path = pack / RULE
    path.write_text(path.read_text(encoding="utf-8").replace("weight", "wieght", 1), encoding="utf-8")
    with pytest.raises(PackError) as known:
        read_pack(pack)
    shutil.rmtree(kept_file(pack).parent)
    with pytest.raises(PackError) as anew:
        read_pack(pack)
    assert str(known.value) == str(anew.value)
    assert "prying-moment: wieght" in str(anew.value)


def _truncated(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:-1000])


def _flipped(file: Path) -> None:
    raw = bytearray(file.read_bytes())
    raw[len(raw) // 2] ^= 1
    file.write_bytes(raw)


def _sealed(body: bytes) -> bytes:
    return hashlib.sha256(body).hexdigest().encode() + b"\n" + body


def _a_link(file: Path) -> None:
    file.rename(file.with_suffix(".elsewhere"))
    file.symlink_to(file.with_suffix(".elsewhere"))


def _a_folder(file: Path) -> None:
    file.unlink()
    file.mkdir()


UNTRUSTED = {
    "truncated": _truncated,
    "flipped": _flipped,
    "empty": lambda file: file.write_bytes(b""),
    "a list": lambda file: file.write_bytes(_sealed(b"[]")),
    "not a number": lambda file: file.write_bytes(_sealed(b'{"a": NaN}')),
    "no JSON": lambda file: file.write_bytes(_sealed(b"{")),
    "nested": lambda file: file.write_bytes(_sealed(b"[" * 100_000)),
    "a link": _a_link,
    "a folder": _a_folder,
    "anybody may write to it": lambda file: file.chmod(0o622),
    "anybody may write to its folder": lambda file: file.parent.chmod(0o722),
}


@pytest.mark.parametrize("spoil", UNTRUSTED.values(), ids=UNTRUSTED.keys())
def test_what_cannot_be_trusted_is_read_anew_without_a_word(
    spoil: object, pack: Path, parsed: list[str], capfd: pytest.CaptureFixture[str]
) -> None:
    anew = everything(read_pack(pack))
    parsed.clear()
    spoil(kept_file(pack))  # type: ignore[operator]
    assert everything(read_pack(pack)) == anew
    assert len(parsed) == len(list(pack.rglob("*.toml")))
    assert capfd.readouterr() == ("", "")


def test_somebody_elses_is_read_anew(pack: Path, parsed: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    read_pack(pack)
    parsed.clear()
    monkeypatch.setattr(os, "getuid", lambda: 12_345_678)
    read_pack(pack)
    assert len(parsed) > 100


def test_a_link_is_not_written_through(pack: Path, tmp_path: Path) -> None:
    other = tmp_path / "mine.txt"
    other.write_text("mine")
    file = kept_file(pack)
    file.parent.mkdir(parents=True, mode=0o700)
    file.symlink_to(other)
    read_pack(pack)
    assert other.read_text() == "mine"
    assert not file.is_symlink()


def test_where_nothing_can_be_kept_all_goes_on(
    pack: Path, tmp_path: Path, parsed: list[str], capfd: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "cache").write_text("a file where the folder would be")
    for _ in range(2):
        parsed.clear()
        assert read_pack(pack).info.id == "core"
        assert len(parsed) > 100
    assert capfd.readouterr() == ("", "")


def test_another_version_does_not_take_it(pack: Path, parsed: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    read_pack(pack)
    parsed.clear()
    monkeypatch.setattr(checked_files, "__version__", "9.9")
    read_pack(pack)
    assert len(parsed) > 100


def _small(folder: Path, more: str = "") -> Path:
    folder.mkdir(parents=True)
    toml = f'id = "{folder.name}"\ntitle = "small"\nversion = "1"\nusual_steels = {{}}\n{more}'
    (folder / "pack.toml").write_text(toml, encoding="utf-8")
    return folder


def test_no_more_is_kept_than_is_bounded(pack: Path, tmp_path: Path) -> None:
    packs = [_small(tmp_path / "many" / f"p{k}") for k in range(MOST_KEPT + 5)]
    for at, folder in enumerate(packs):
        read_pack(folder)
        os.utime(kept_file(folder), (at, at))
    kept = sorted(path.name for path in kept_file(pack).parent.iterdir())
    assert len(kept) == MOST_KEPT
    assert kept_file(packs[-1]).name in kept
    assert kept_file(packs[0]).name not in kept


def test_a_huge_pack_is_not_kept(pack: Path, tmp_path: Path) -> None:
    folder = _small(tmp_path / "huge")
    (folder / "rules").mkdir()
    source = (CORE / RULE).read_text(encoding="utf-8")
    for k in range(MOST_BYTES // 400_000 + 1):
        text = source.replace('id = "', f'id = "r{k}-') + "#" * 400_000
        (folder / "rules" / f"r{k}.toml").write_text(text, encoding="utf-8")
    assert len(read_pack(folder).rules) == 3 * (MOST_BYTES // 400_000 + 1)
    assert not kept_file(folder).exists()


def test_what_json_does_not_have_is_not_kept(pack: Path) -> None:
    path = pack / RULE
    dated = path.read_text(encoding="utf-8").replace(
        'tasks = ["prying"]',
        'when = { field = "brief.tasks", has = "prying" }\n'
        "examples = [{ facts = { day = 1979-05-27 }, fires = true }, { facts = {}, fires = false }]",
        1,
    )
    assert "1979" in dated
    path.write_text(dated, encoding="utf-8")
    first, second = read_pack(pack), read_pack(pack)
    assert everything(first) == everything(second)
    assert not kept_file(pack).exists()


def test_commands_answer_alike_with_and_without(tmp_path: Path) -> None:
    """Every rule as it is shown, from a cold cache and from a warm one, and where the cache is no folder."""
    (tmp_path / "file").write_text("")
    printed = []
    for home in ("cache", "cache", "file"):
        done = subprocess.run(
            [sys.executable, "-m", "recommender", "rules", "list", "--json"],
            env={**os.environ, "XDG_CACHE_HOME": str(tmp_path / home)},
            capture_output=True, text=True, timeout=300, check=True,
        )  # fmt: skip
        assert done.stderr == ""
        printed.append(done.stdout)
    assert len(json.loads(printed[0])) > 200
    assert printed[0] == printed[1] == printed[2]
