"""`sweep` as its users meet it: files, pipes, bad rows, several processes, results in order."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from recommender.cli import main
from recommender.drawing.text.workshop.sweep_csv import csv_line
from recommender.engine.batch.process_pool import in_order
from recommender.errors import BevelwrightError, PluginError
from recommender.models.answer.sweep import Swept

SAMPLE = Path(__file__).parents[3] / "scenarios" / "sweep-sample.csv"
COMMAND = [sys.executable, "-m", "recommender", "sweep"]

CSV = (
    "\ufeffid,title,tasks.food-prep,tasks.game-dressing,steel.grade,owner.gear,blade.height_mm,wishes.grind\r\n"
    'a,"Kitchen, ""plain""",1,,1084,"bench-stones,strop",45,\r\n'
    "\r\n"
    "b,,,1,440c,,,full-flat\r\n"
    "c,,,1,,,NaN,\r\n"
    "d,,,1,nonsuch,,,\r\n"
    "e,,,1\r\n"
    "f,,,1,,,1e300,\r\n"
    "g,,,,,,,\r\n"
)
BRIEFS: list[dict[str, Any]] = [
    {"id": "a", "title": 'Kitchen, "plain"', "tasks": {"food-prep": 1}, "steel": {"grade": "1084"},
     "owner": {"gear": ["bench-stones", "strop"]}, "blade": {"height_mm": 45}},
    {"id": "b", "tasks": {"game-dressing": 1}, "steel": {"grade": "440c"}, "wishes": {"grind": "full-flat"}},
    {"id": "g"},
]  # fmt: skip


def sweep(capsys: pytest.CaptureFixture[str], *argv: str) -> tuple[int, list[dict[str, Any]], str]:
    code = main(["sweep", *argv])
    out = capsys.readouterr()
    return code, [json.loads(line) for line in out.out.splitlines()], out.err


@pytest.fixture
def briefs(tmp_path: Path) -> Path:
    path = tmp_path / "briefs.csv"
    path.write_text(CSV, encoding="utf-8", newline="")
    return path


def test_csv_json_lines_and_single_answers_agree(
    capsys: pytest.CaptureFixture[str], briefs: Path, tmp_path: Path
) -> None:
    """Good rows among bad ones; the same as JSON Lines in two processes; the same as `recommend --json` one by one."""
    code, rows, err = sweep(capsys, str(briefs), "--jobs", "1")
    assert code == 2
    assert [row["outcome"] for row in rows] == ["answered", "answered", *["bad input"] * 4, "answered"]
    assert [(row["row"], row["line"], row["id"]) for row in rows] == [
        (1, 2, "a"), (2, 4, "b"), (3, 5, "c"), (4, 6, "d"), (5, 7, None), (6, 8, "f"), (7, 9, "g"),
    ]  # fmt: skip
    assert err == "7 briefs: 3 answered, 4 bad (rows 3, 4, 5, 6)\n"
    says = [row["error"] for row in rows if row["error"]]
    for error, place, word in zip(
        says, ("line 5", "line 6", "line 7", "line 8"), ("height_mm", "nonsuch", "8, as many", "height_mm"), strict=True
    ):
        assert place in error
        assert word in error

    lines = tmp_path / "briefs.jsonl"
    lines.write_text("".join(json.dumps(brief) + "\n" for brief in BRIEFS), encoding="utf-8")
    code, again, err = sweep(capsys, str(lines), "--jobs", "2")
    assert code == 0
    assert err == "3 briefs: 3 answered\n"
    good = [row for row in rows if row["outcome"] == "answered"]
    places = {"row", "line"}
    assert [{k: v for k, v in row.items() if k not in places} for row in good] == [
        {k: v for k, v in row.items() if k not in places} for row in again
    ]

    asked = ["--set", "tasks.game-dressing=1", "--set", "steel.grade=440c", "--set", "wishes.grind=full-flat"]
    assert main(["recommend", *asked, "--json"]) == 0
    single = json.loads(capsys.readouterr().out)
    assert good[1]["proposal"] == single["proposal"]
    assert good[1]["points"] == single["points"]["total"]
    assert good[1]["confidence"] == single["confidence"]["wins"]["full-flat"]
    assert good[1]["cautions"] == [caution["text"] for caution in single["cautions"]]
    others = [a for a in single["alternatives"] if a["behind"] is not None]
    assert good[1]["runner_up"]["points_behind"] == min(a["behind"] for a in others)


def test_a_demand_that_fails_has_a_column(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "pries.csv"
    path.write_text("tasks.food-prep,tasks.prying\n0.85,0.15\n", encoding="utf-8")
    _, (row,), _ = sweep(capsys, str(path), "--jobs", "1")
    assert ("prying-bears-moment", "prying") in {(cost["rule"], cost["task"]) for cost in row["costs"]}
    assert main(["sweep", str(path), "--jobs", "1", "--to", "csv"]) == 0
    (told,) = csv.DictReader(io.StringIO(capsys.readouterr().out))
    assert "prying-bears-moment (prying) -" in told["costs"]


def test_settings_hold_for_rows_that_do_not_say_otherwise(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    briefs = tmp_path / "b.csv"
    briefs.write_text("tasks.prying,blade.height_mm\n,\n1,33\n", encoding="utf-8")
    code, rows, _ = sweep(capsys, str(briefs), "--set", "tasks.food-prep=1", "--set", "blade.height_mm=44")
    assert code == 0
    assert [row["proposal"]["blade_height_mm"] for row in rows] == [44, 33]


def test_nothing_fits_is_said_and_exits_1(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    brief = tmp_path / "b.jsonl"
    wish = {"wishes": {"grind": "full-hollow"}, "blade": {"height_mm": 45}, "workshop": {"wheels_mm": [100]}}
    brief.write_text(json.dumps(wish), encoding="utf-8")
    code, (row,), err = sweep(capsys, str(brief))
    assert code == 1
    assert row["outcome"] == "nothing fits"
    assert row["proposal"] is None
    assert row["blocked"]
    assert err == "1 brief: 0 answered, 1 nothing fits\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("title,steel.grad\na,b\n", "nearest: steel.grade"),
        ("tasks.foodprep\n1\n", "nearest: tasks.food-prep"),
        ("title,title\na,b\n", "twice"),
        ("title,\na,b\n", "column 2"),
        ("id;title\na;b\n", "commas"),
    ],
)
def test_a_header_that_is_wrong_is_one_error_before_anything(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, text: str, says: str
) -> None:
    briefs, out = tmp_path / "b.csv", tmp_path / "out.csv"
    briefs.write_text(text, encoding="utf-8")
    code, rows, err = sweep(capsys, str(briefs), "--out", str(out))
    assert (code, rows) == (2, [])
    assert says in err
    assert "b.csv: line 1" in err
    assert err.count("\n") == 1
    assert not out.exists()


@pytest.mark.parametrize("argv", [["missing.csv"], ["."], ["-", "--jobs", "0"], ["-", "--set", "steel.grad=1"]])
def test_wrong_usage_is_one_line_and_exit_2(argv: list[str]) -> None:
    done = subprocess.run([*COMMAND, *argv], input=b"{}\n", capture_output=True, timeout=60, check=False)
    assert done.returncode == 2
    assert done.stdout == b""
    assert done.stderr.count(b"\n") == 1


def test_a_line_too_long_is_a_bad_row_in_a_pipe_of_json() -> None:
    raw = b'{"title": "' + b"x" * 3_000_000 + b'"}\n{"id": 2, "wishes": {"grind": 3}}\n'
    done = subprocess.run([*COMMAND, "--jobs", "1"], input=raw, capture_output=True, timeout=60, check=False)
    assert done.returncode == 2
    first, second = map(json.loads, done.stdout.splitlines())
    assert "bytes" in first["error"]
    assert second["id"] == "2"
    assert second["line"] == 2


@pytest.mark.parametrize("jobs", ["1", "2"])
def test_the_first_result_comes_before_the_input_ends(jobs: str) -> None:
    with subprocess.Popen([*COMMAND, "--jobs", jobs], stdin=subprocess.PIPE, stdout=subprocess.PIPE) as running:
        assert running.stdin is not None
        assert running.stdout is not None
        running.stdin.write(b'{"id": "first"}\n')
        running.stdin.flush()
        assert json.loads(running.stdout.readline())["id"] == "first"
        running.stdin.write(b'{"id": "second"}\n')
        running.stdin.close()
        assert json.loads(running.stdout.readline())["id"] == "second"
    assert running.returncode == 0


@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
@pytest.mark.parametrize("jobs", ["1", "2"])
@pytest.mark.parametrize("told", ["SIGINT", "SIGTERM"])
def test_who_is_told_to_end_keeps_what_is_there_and_leaves_no_half_file(tmp_path: Path, jobs: str, told: str) -> None:
    number = getattr(signal, told)
    out = tmp_path / "results.jsonl"
    out.write_text("as it was", encoding="utf-8")
    for argv in ([], ["--out", str(out), "--force"]):
        # As in the foreground of a shell, wherever the tests were started.
        with sweeping("--jobs", jobs, *argv, interrupts=signal.SIG_DFL) as (running, put, stdout, stderr):
            put(b"{}\n")
            if argv:
                wait_for_a_file(tmp_path, ".*.part")
            else:
                assert json.loads(stdout.readline())["row"] == 1
            for _ in range(int(jobs)):  # impatient, where there is more to end
                os.killpg(running.pid, number) if told == "SIGINT" else running.send_signal(number)
            # The input stays open.
            assert running.wait(timeout=60) == 128 + number
            err = stderr.read().decode()
        assert "Traceback" not in err
    assert [p.name for p in tmp_path.iterdir()] == [out.name]
    assert out.read_text(encoding="utf-8") == "as it was"


@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
@pytest.mark.parametrize("jobs", ["1", "2"])
def test_one_started_in_the_background_says_how_to_end_it(jobs: str) -> None:
    """A shell without job control starts such jobs with SIGINT ignored (POSIX, Shell Command Language, 2.11)."""
    with sweeping("--jobs", jobs, interrupts=signal.SIG_IGN) as (running, put, stdout, stderr):
        put(b"{}\n")
        assert json.loads(stdout.readline())["row"] == 1
        os.killpg(running.pid, signal.SIGINT)
        put(b"{}\n")
        assert json.loads(stdout.readline())["row"] == 2, "it goes on"
        running.send_signal(signal.SIGTERM)
        assert running.wait(timeout=60) == 128 + signal.SIGTERM
        assert f"kill {running.pid}" in stderr.read().decode()


@contextlib.contextmanager
def sweeping(*argv: str, interrupts: signal.Handlers) -> Iterator[tuple[Any, Callable[[bytes], None], Any, Any]]:
    """A sweep in a session of its own, interrupts treated so from its start: process, input, output and errors."""
    with subprocess.Popen(
        [*COMMAND, *argv],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, interrupts),
    ) as running:
        assert running.stdin is not None
        stdin = running.stdin

        def put(raw: bytes) -> None:
            stdin.write(raw)
            stdin.flush()

        yield running, put, running.stdout, running.stderr


def wait_for_a_file(folder: Path, pattern: str) -> None:
    for _ in range(600):
        if list(folder.glob(pattern)):
            return
        time.sleep(0.1)
    raise AssertionError(f"no {pattern} in {folder}")


@pytest.mark.parametrize("jobs", ["1", "2"])
def test_a_reader_that_goes_away_ends_an_endless_input_quietly(jobs: str) -> None:
    line = f"set -o pipefail; yes '{{}}' | {' '.join(COMMAND)} --jobs {jobs} | head -n 1; echo ${{PIPESTATUS[1]}}"
    # Where the tests run in the background interrupts are ignored, and `sweep` says how to end it.
    heard = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)
    done = subprocess.run(["bash", "-c", line], capture_output=True, timeout=60, check=False, preexec_fn=heard)
    first, code = done.stdout.splitlines()
    assert json.loads(first)["row"] == 1
    assert code == b"0"
    assert done.stderr == b""


def test_out_is_written_whole_and_as_its_name_says(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    out = tmp_path / "results.csv"
    code, rows, err = sweep(capsys, str(SAMPLE), "--out", str(out))
    assert (code, rows) == (0, [])
    assert err == "4 briefs: 4 answered\n"
    found = list(csv.DictReader(io.StringIO(out.read_text(encoding="utf-8"), newline="")))
    assert [row["id"] for row in found] == ["kitchen-1", "field-1", "bench-1", "open-1"]
    for row in found:
        assert float(row["edge_angle_included_deg"]) == 2 * float(row["edge_angle_per_side_deg"])
    assert [p.name for p in tmp_path.iterdir()] == ["results.csv"]
    assert "no-such-folder" in sweep(capsys, str(SAMPLE), "--out", str(tmp_path / "no-such-folder" / "x"))[2]


def test_the_sample_says_that_it_is_invented() -> None:
    assert all("Invented" in row["title"] for row in csv.DictReader(SAMPLE.open(encoding="utf-8")))


# Characters that start a formula: OWASP, "CSV Injection".
@pytest.mark.parametrize("start", ["=", "+", "-", "@", " =", "\t=", "\r=", "\n@", "＝"])
def test_no_text_is_a_formula_to_a_spreadsheet(start: str) -> None:
    swept = Swept(row=1, line=2, id=f"{start}cmd|x", outcome="bad input", error=f"{start}1+1")
    (cells,) = csv.reader(io.StringIO(csv_line(swept), newline=""))
    assert cells[1].startswith("'")
    assert cells[-1].startswith("'")
    assert cells[0] == "1"


def test_what_a_plugin_writes_in_a_worker_never_reaches_the_results(tmp_path: Path) -> None:
    (tmp_path / "loud.py").write_text(
        "import os\n"
        "from recommender.plugin.hooks import hookimpl\n"
        "BEVELWRIGHT_API = 1\n"
        "@hookimpl\n"
        "def metrics():\n"
        "    print('plainly')\n"
        "    os.write(1, b'past python')\n"
        "    return []\n",
        encoding="utf-8",
    )
    info = tmp_path / "loud-1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: loud\nVersion: 1\n", encoding="utf-8")
    (info / "entry_points.txt").write_text("[bevelwright.plugins]\nloud = loud\n", encoding="utf-8")
    path = os.pathsep.join([str(tmp_path), os.environ.get("PYTHONPATH", "")])
    done = subprocess.run(
        [*COMMAND, "--jobs", "2"],
        input=b'{"id": 1}\n{"id": 2}\n',
        capture_output=True,
        timeout=60,
        check=True,
        env={**os.environ, "PYTHONPATH": path},
    )
    assert [json.loads(line)["id"] for line in done.stdout.splitlines()] == ["1", "2"]
    assert done.stderr.count(b"past python") == 3, "the first process and both workers"


def _worker(doing: str):
    """What a worker does with a number; for the tests below."""

    def work(item: int) -> int:
        if item == 3 and doing == "die":
            os._exit(9)
        if item == 3 and doing == "fail":
            raise PluginError("mine", "mine 1", "measuring", "worn out")
        # The later an item, the sooner it is done.
        time.sleep((20 - item) / 500)
        return item

    return work


def test_results_keep_the_order_of_the_items() -> None:
    assert list(in_order(iter(range(20)), partial(_worker, "work"), 3)) == [(k, k) for k in range(20)]


def test_a_worker_that_dies_is_one_error_and_no_hang() -> None:
    with pytest.raises(BevelwrightError, match="worker process died"):
        list(in_order(range(1000), partial(_worker, "die"), 2))


def test_an_error_comes_back_whole_from_a_worker() -> None:
    with pytest.raises(PluginError, match="failed while measuring: worn out"):
        list(in_order(range(8), partial(_worker, "fail"), 2))


def test_what_reading_raises_is_raised_after_the_results_before_it() -> None:
    def items():
        yield 1
        raise OSError("the disk went away")

    found = in_order(items(), partial(_worker, "work"), 2)
    assert next(found) == (1, 1)
    with pytest.raises(OSError, match="disk"):
        next(found)
