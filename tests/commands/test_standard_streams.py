"""Standard streams that are closed or full: nothing goes to another one, and exit codes stay right."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

FULL = Path("/dev/full")


def shell(words: str, folder: Path) -> tuple[int, str]:
    """Run the command with redirections as a shell makes them; gives exit code and standard output."""
    line = words.replace("bevelwright", f"{sys.executable} -m recommender", 1)
    done = subprocess.run(["sh", "-c", line], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, cwd=folder, text=True)
    return done.returncode, done.stdout


@pytest.mark.parametrize(
    ("words", "code"),
    [("recommend --set steel.grade=nonsense", 2), ("nonsense", 2), ("tasks --nonsense", 2), ("tasks", 0)],
)
def test_with_standard_error_closed_nothing_of_it_is_in_the_answer(tmp_path: Path, words: str, code: int) -> None:
    answer = shell(f"bevelwright {words}", tmp_path)[1] if code == 0 else ""
    assert shell(f"bevelwright {words} 2>&-", tmp_path) == (code, answer)


def test_an_answer_to_a_closed_standard_output_is_told(tmp_path: Path) -> None:
    code, told = shell("bevelwright tasks 3>&1 >&- 2>&3", tmp_path)
    assert code == 2
    assert told == "bevelwright: the answer could not be written (standard output is closed)\n"


def test_a_file_opened_meanwhile_does_not_take_the_place_of_a_closed_stream(tmp_path: Path) -> None:
    """Without standard output and error, a drawing would be the first file opened, and be handed what is printed."""
    shell("bevelwright draw --svg blade.svg >&- 2>&- <&-", tmp_path)
    assert (tmp_path / "blade.svg").read_text().endswith("</svg>\n")


@pytest.mark.skipif(not os.path.exists(FULL), reason="a device that is always full")
@pytest.mark.parametrize(
    "words", ["tasks", "--help", "--version", "tasks --help", "grinds --json", "book list", "shop show"]
)
def test_a_full_device_is_told_in_one_line(tmp_path: Path, words: str) -> None:
    code, told = shell(f"bevelwright {words} 3>&1 >{FULL} 2>&3", tmp_path)
    assert (code, told) == (2, "bevelwright: the answer could not be written (No space left on device)\n")


@pytest.mark.skipif(not os.path.exists(FULL), reason="a device that is always full")
def test_messages_that_find_no_room_change_nothing(tmp_path: Path) -> None:
    assert shell(f"bevelwright nonsense 2>{FULL}", tmp_path) == (2, "")
    assert shell(f"bevelwright draw --svg blade.svg 2>{FULL}", tmp_path)[0] == 0
