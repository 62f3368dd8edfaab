"""No command writes over what it reads or keeps, nor over a file of somebody else's unless told to."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

import pytest

from recommender.cli import main
from recommender.commands.output_files import check_outputs
from recommender.folders import user_folder

BOOK = b"SQLite format 3\0" + bytes(100)
"""The head of a database (sqlite.org, Database File Format, 1.3); more is not looked at."""
BRIEF = "[tasks]\nfood-prep = 1\n"
WRITE = {
    "draw --svg": ["draw", "b.toml", "--svg"],
    "draw --dxf": ["draw", "b.toml", "--dxf"],
    "draw --pdf": ["draw", "b.toml", "--pdf"],
    "worksheet --out .txt": ["worksheet", "b.toml", "--out"],
    "worksheet --out .pdf": ["worksheet", "b.toml", "--out"],
    "quote --document .md": ["quote", "b.toml", "--document"],
    "quote --document .pdf": ["quote", "b.toml", "--document"],
    "quote --care .md": ["quote", "b.toml", "--care"],
    "sweep --out .csv": ["sweep", "rows.csv", "--out"],
    "sweep --out .jsonl": ["sweep", "rows.csv", "--out"],
    "book export --json": ["book", "export", "--book", "quotes.sqlite3", "--json"],
    "book export --csv": ["book", "export", "--book", "quotes.sqlite3", "--csv"],
}
"""What writes, the name of the file to follow; the file's ending where the command asks for one."""


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for variable in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(variable, str(tmp_path / variable))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "b.toml").write_text(BRIEF)
    (tmp_path / "rows.csv").write_text("tasks.food-prep\n1\n")
    return tmp_path


def output(how: str) -> str:
    ending = how.rpartition(".")[2]
    return f"out.{ending}" if "." in how else f"out.{how.rpartition('--')[2]}"


def refused(capsys: pytest.CaptureFixture[str], *words: str) -> None:
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert all(word in err for word in words), err


@pytest.mark.parametrize("how", WRITE)
def test_a_file_of_somebody_elses_is_left_alone(how: str, here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    theirs = here / output(how)
    theirs.write_text("a letter to my aunt")
    assert main([*WRITE[how], theirs.name]) == 2
    refused(capsys, theirs.name, "not written by Bevelwright", "--force")
    assert theirs.read_text() == "a letter to my aunt"


def test_what_was_written_before_may_be_written_anew(here: Path) -> None:
    commands = [
        ["quote", "b.toml", "--save", "--book", "quotes.sqlite3", "--document", "q.md", "--document", "q.pdf"],
        ["book", "reprint", "1", "--book", "quotes.sqlite3", "--care", "c.md", "--document", "q.pdf"],
        ["draw", "b.toml", "--svg", "d.svg", "--dxf", "d.dxf", "--pdf", "d.pdf"],
        ["worksheet", "b.toml", "--out", "w.pdf"],
        ["worksheet", "b.toml", "--out", "w.txt"],
        ["sweep", "rows.csv", "--out", "s.csv"],
        ["sweep", "rows.csv", "--out", "s.jsonl"],
        ["book", "export", "--book", "quotes.sqlite3", "--csv", "e.csv", "--json", "e.json"],
    ]
    for command in commands:
        assert main(command) == 0
    written = [str(path) for path in here.glob("?.*") if path.suffix != ".toml"]
    assert len(written) == 12
    check_outputs(argparse.Namespace(force=False), written)
    assert main(commands[-1]) == 0, "and one of them truly"


def test_force_writes_over_a_file_but_never_over_what_is_read(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (here / "a.csv").write_text("mine")
    assert main(["sweep", "rows.csv", "--out", "a.csv", "--force"]) == 0
    assert (here / "a.csv").read_bytes().startswith(b"row,id,outcome")
    capsys.readouterr()
    assert main(["draw", "b.toml", "--svg", "b.toml", "--force"]) == 2
    refused(capsys, "b.toml", "is read by this command")
    assert (here / "b.toml").read_text() == BRIEF


@pytest.mark.parametrize("link", [os.link, os.symlink])
def test_another_name_of_what_is_read_is_no_other_file(
    link: object, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    link(here / "b.toml", here / "b.svg")  # type: ignore[operator]
    assert main(["draw", "b.toml", "--svg", "b.svg", "--force"]) == 2
    refused(capsys, "b.svg", "is read by this command")
    assert (here / "b.toml").read_text() == BRIEF


@pytest.mark.parametrize("how", ["book export --json", "book export --csv"])
def test_a_quote_book_is_never_its_own_export(how: str, here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (here / "quotes.sqlite3").write_bytes(BOOK)
    book = (here / "quotes.sqlite3").read_bytes()
    assert main([*WRITE[how], "quotes.sqlite3", "--force"]) == 2
    refused(capsys, "quotes.sqlite3")
    assert (here / "quotes.sqlite3").read_bytes() == book


def test_another_quote_book_is_no_place_for_a_drawing(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (here / "other.sqlite3").write_bytes(BOOK)
    assert main(["draw", "b.toml", "--svg", "other.sqlite3", "--force"]) == 2
    refused(capsys, "other.sqlite3", "kept by Bevelwright")


def test_nothing_of_the_users_folders_is_written_over(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = user_folder("config") / "shop.toml"
    shop.parent.mkdir(parents=True)
    shop.write_text("mine")
    assert main(["draw", "b.toml", "--svg", str(shop), "--force"]) == 2
    refused(capsys, "shop.toml", "kept by Bevelwright")
    assert shop.read_text() == "mine"


def test_a_shop_file_that_is_read_is_not_written(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["shop", "new", "shop.toml"]) == 0
    shop = (here / "shop.toml").read_bytes()
    (here / "shop.md").symlink_to("shop.toml")
    capsys.readouterr()
    assert main(["quote", "b.toml", "--shop", "shop.toml", "--document", "shop.md", "--force"]) == 2
    refused(capsys, "shop.md", "is read by this command")
    assert (here / "shop.toml").read_bytes() == shop


def test_two_documents_need_two_files(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", "b.toml", "--svg", "same.out", "--pdf", "./same.out"]) == 2
    refused(capsys, "same.out", "written twice")
    assert not (here / "same.out").exists()


def test_nothing_is_saved_where_a_document_cannot_be_written(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (here / "q.md").write_text("mine")
    assert main(["quote", "b.toml", "--save", "--book", "quotes.sqlite3", "--document", "q.md"]) == 2
    refused(capsys, "q.md")
    assert not (here / "quotes.sqlite3").exists()


@pytest.mark.skipif(os.name != "posix", reason="XDG is for POSIX systems")
@pytest.mark.parametrize(
    ("variable", "kind", "usual"),
    [
        ("XDG_CONFIG_HOME", "config", ".config"),
        ("XDG_DATA_HOME", "data", ".local/share"),
        ("XDG_STATE_HOME", "state", ".local/state"),
    ],
)
@pytest.mark.parametrize("named", ["relative/folder", ".", "~/x", ""])
def test_a_relative_xdg_folder_is_ignored(
    variable: str, kind: str, usual: str, named: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """XDG Base Directory Specification 0.8: "All paths set in these environment variables must be absolute. If an
    implementation encounters a relative path [...] it should consider the path invalid and ignore it." The usual
    folders are those of the same text.
    """
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv(variable, named)
    assert user_folder(kind) == tmp_path / usual / "bevelwright"  # type: ignore[arg-type]
    monkeypatch.setenv(variable, str(tmp_path / "elsewhere"))
    assert user_folder(kind) == tmp_path / "elsewhere" / "bevelwright"  # type: ignore[arg-type]
