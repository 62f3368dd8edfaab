"""The commands' own words and codes, and that what is captured is the code of the commit and of no other."""

from __future__ import annotations

import shutil

import pytest

from .__main__ import main
from .capturing import capture, captured
from .checkout import Checkout, ComparisonError
from .papers import Item

PROGRAM = """
import datetime, os, sys

def main(argv):
    print("{word}", datetime.date.today(), argv, sorted(name for name in os.environ if name.startswith("XDG")))
    open("out/note.txt", "w").write("written")
    if argv == ["refuse"]:
        print("refused", file=sys.stderr)
        return 2
    return 0
"""


@pytest.fixture
def checkout(tmp_path):
    """A program whose command line prints where it comes from."""

    def make(word: str, search_path=None) -> Checkout:
        package = tmp_path / word / "recommender"
        package.mkdir(parents=True)
        (package / "__init__.py").touch()
        (package / "cli.py").write_text(PROGRAM.format(word=word))
        (tmp_path / word / "scenarios").mkdir()
        return Checkout(word, word, tmp_path / word, (search_path or tmp_path / word,), ("recommender",))

    return make


def test_each_side_runs_its_own_code_on_a_fixed_day(checkout, tmp_path):
    item = Item("brief", "scenarios", {"recommend": ("recommend", "--json"), "quote": ("refuse",)})
    for word in ("old", "new"):
        side = checkout(word)
        papers = captured(capture(side, [item], side.scenarios, tmp_path / "captures", 2), item)
        assert papers["recommend"]["printed"].startswith(f"{word} 2026-01-15 ['recommend', '--json'] ['XDG_CACHE_HOME'")
        assert papers["recommend"]["files"] == {"note.txt": "written"}
        assert (papers["quote"]["exit"], papers["quote"]["errors"]) == (2, "refused\n")


def test_code_from_anywhere_else_is_refused(checkout, tmp_path):
    other = checkout("other")
    strayed = checkout("strayed", search_path=other.folder)
    with pytest.raises(ComparisonError, match=r"imported from .*other"):
        capture(
            strayed,
            [Item("brief", "scenarios", {"recommend": ("recommend",)})],
            strayed.scenarios,
            tmp_path / "captures",
            1,
        )


def test_what_is_kept_of_a_commit_is_not_captured_again(checkout, tmp_path):
    item = Item("brief", "scenarios", {"recommend": ("recommend",)})
    side = checkout("old")
    folder = capture(side, [item], side.scenarios, tmp_path / "captures", 1)
    shutil.rmtree(side.folder / "recommender")
    assert capture(side, [item], side.scenarios, tmp_path / "captures", 1) == folder


@pytest.mark.parametrize(
    "call", ["compare no-such-commit", "compare HEAD --nonsense", "check --only hat", "check HEAD --briefs hat"]
)
def test_a_bad_call_ends_with_2(call, capsys):
    try:
        code = main(call.split())
    except SystemExit as end:  # argparse ends by itself
        code = end.code
    assert code == 2
    assert capsys.readouterr().err
