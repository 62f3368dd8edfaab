"""The command line as its users meet it: exit codes, one-line errors, hostile briefs, clean output."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from recommender.cli import main
from recommender.drawing.text.answer.answer_text import answer_text
from recommender.drawing.text.answer.one_screen import screen_text
from recommender.service import Service, read_brief

ROOT = Path(__file__).parents[2]
SCENARIOS = ROOT / "scenarios"


def run(capsys: pytest.CaptureFixture[str], *argv: str) -> tuple[int, str, str]:
    try:
        code = main(argv)
    except SystemExit as stop:
        code = int(stop.code or 0)
    out = capsys.readouterr()
    return code, out.out, out.err


def refused(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    code, out, err = run(capsys, *argv)
    assert code == 2
    assert out == ""
    assert err.startswith("bevelwright")
    assert err.count("\n") == 1, err
    return err


def test_recommend_json_has_the_promised_keys(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "recommend", "--set", "tasks.food-prep=1", "--json")
    data = json.loads(out)
    assert code == 0
    assert data["schema"] == "bevelwright.proposal/1"
    assert next(iter(data)) == "schema"
    assert {
        "brief", "brief_sources", "proposal", "metrics", "reasons", "cautions", "alternatives", "points", "confidence",
        "flips", "provenance",
    } <= set(data)  # fmt: skip
    assert {
        "grind", "grind_label", "edge_angle_per_side_deg", "edge_angle_included_deg", "edge_thickness_mm",
        "stock_thickness_mm", "blade_height_mm", "blade_length_mm", "grind_line_mm", "grind_line_share",
        "wheel_diameter_mm", "side", "micro_bevel_per_side_deg", "tip", "swedge", "distal_taper", "parameters",
    } <= set(data["proposal"])  # fmt: skip
    assert data["proposal"]["edge_angle_included_deg"] == 2 * data["proposal"]["edge_angle_per_side_deg"]
    assert {"food", "edge"} <= {c["id"].split("-")[0] for c in data["cautions"]}
    assert {"value", "low", "high", "unit", "by_task"} <= set(data["metrics"]["cut_force"])
    assert {"rule", "text", "points", "basis"} <= set(data["reasons"][0])
    for source in data["brief_sources"].values():
        assert source["source"] in ("given", "default", "derived")
        assert source["reason"]


def test_recommend_text_shows_both_angles_estimates_and_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "recommend", str(SCENARIOS / "left-handed-hunter.toml"), "--full")
    assert code == 0
    assert err == ""
    assert "per side" in out
    assert "included" in out
    assert "~ marks an estimate" in out
    assert "Take care" in out
    assert "local law" in out.lower() or "the law" in out.lower()
    assert "Why not another" in out
    assert max(map(len, out.splitlines())) <= 100


def test_inches_on_request(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "recommend", "--set", "tasks.food-prep=1", "--inches")
    assert code == 0
    assert " in stock" in out


@pytest.mark.parametrize("name", ["tall-full-hollow-small-wheels", "one-sided-wish-pull-through"])
def test_nothing_fits_exits_1_with_reasons(capsys: pytest.CaptureFixture[str], name: str) -> None:
    code, out, _ = run(capsys, "recommend", str(SCENARIOS / f"{name}.toml"))
    assert code == 1
    assert "Nothing fits" in out
    assert "smallest changes" in out
    code, out, _ = run(capsys, "recommend", str(SCENARIOS / f"{name}.toml"), "--json")
    assert code == 1
    assert json.loads(out)["proposal"] is None
    assert json.loads(out)["relaxations"]


@pytest.mark.parametrize("kind", ["tasks", "steels", "gear", "materials", "grinds"])
def test_lists(capsys: pytest.CaptureFixture[str], kind: str) -> None:
    code, out, _ = run(capsys, kind)
    assert code == 0
    code, text, _ = run(capsys, kind, "--json")
    rows = json.loads(text)
    assert code == 0
    for row in rows:
        assert row["id"] in out


# Hollow 4 -> 0.5 mm over a primary grind 30 mm high: least wheel (H^2 + d^2)/d = (900 + 3.0625)/1.75 = 516 mm diameter.
def test_section_warns_of_a_waist_and_refuses_crossing_faces(capsys: pytest.CaptureFixture[str]) -> None:
    common = (
        "section", "--grind", "full-hollow", "--stock", "4", "--height", "30.7", "--line", "30.7",
        "--edge-thickness", "0.5", "--edge-angle-per-side", "20",
    )  # fmt: skip
    code, out, _ = run(capsys, *common, "--wheel", "520", "--json")
    assert code == 0
    assert json.loads(out)["warnings"] == []
    code, out, _ = run(capsys, *common, "--wheel", "400", "--json")
    assert code == 0
    assert "waist" in json.loads(out)["warnings"][0]
    assert "cross" in refused(capsys, *common, "--wheel", "200")


def test_section_json_of_a_full_flat(capsys: pytest.CaptureFixture[str]) -> None:
    """By hand: bevel triangle te h/2 plus trapezoid (te + t)/2 (H - h), h = te/(2 tan a) = 1 mm at a = atan 0.2."""
    code, out, _ = run(
        capsys, "section", "--grind", "full-flat", "--stock", "4", "--height", "41", "--line", "41",
        "--edge-thickness", "0.4", "--edge-angle-per-side", "11.309932474020215", "--json",
    )  # fmt: skip
    data = json.loads(out)
    assert code == 0
    assert data["area_mm2"] == pytest.approx(0.4 * 1 / 2 + (0.4 + 4) / 2 * 40, abs=1e-9)
    assert data["centroid_mm"][0] == pytest.approx(0, abs=1e-12)
    assert {"i_weak_mm4", "i_strong_mm4", "i_product_mm4", "torsion_mm4", "min_thickness_mm", "thickness"} <= set(data)
    assert data["thickness"][0] == [0.0, 0.0]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--grind", "full-flt", "--stock", "3", "--height", "30"), "full-flat"),
        (("--grind", "full-hollow", "--stock", "3", "--height", "30", "--edge-thickness", "0.3",
          "--edge-angle-per-side", "18"), "--wheel"),
        (("--grind", "saber-flat", "--stock", "3", "--height", "30", "--edge-thickness", "0.3",
          "--edge-angle-per-side", "18"), "--line"),
        (("--grind", "saber-flat", "--stock", "3", "--height", "30", "--line", "40", "--edge-thickness", "0.3",
          "--edge-angle-per-side", "18"), "spine"),
        (("--grind", "scandi", "--stock", "3", "--height", "22", "--line", "15", "--edge-angle-per-side", "12"),
         "contradicts"),
        (("--grind", "full-flat", "--stock", "-3", "--height", "30", "--edge-thickness", "0.3",
          "--edge-angle-per-side", "18"), "--stock"),
        (("--grind", "full-flat", "--stock", "nan", "--height", "30", "--edge-thickness", "0.3",
          "--edge-angle-per-side", "18"), "--stock"),
        (("--grind", "full-flat", "--stock", "1e300", "--height", "30"), "out of range"),
        (("--grind", "full-flat", "--stock", "3", "--height", "30", "--edge-thickness", "4",
          "--edge-angle-per-side", "18"), "thicker"),
        (("--grind", "chisel", "--stock", "3", "--height", "30", "--edge-thickness", "0.3", "--edge-angle-per-side",
          "25", "--param", "side=lft"), "left"),
        (("--grind", "chisel", "--stock", "3", "--height", "30", "--edge-thickness", "0.3", "--edge-angle-per-side",
          "25", "--param", "sid=left"), "side"),
        (("--grind", "full-flat", "--stock", "3", "--height", "30", "--edge-thickness", "0.3",
          "--edge-angle-per-side", "18", "--wheel", "200"), "without a wheel"),
    ],
)  # fmt: skip
def test_section_refuses_what_cannot_be(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], says: str
) -> None:
    assert says in refused(capsys, "section", *arguments)


def test_a_scandi_line_that_agrees_is_accepted(capsys: pytest.CaptureFixture[str]) -> None:
    """line = 3 / (2 tan 12) = 7.057 mm."""
    code, out, _ = run(
        capsys, "section", "--grind", "scandi", "--stock", "3", "--height", "22", "--line", "7.06",
        "--edge-angle-per-side", "12", "--json",
    )  # fmt: skip
    assert code == 0
    assert json.loads(out)["grind_line_mm"] == pytest.approx(7.057, abs=1e-3)


@pytest.mark.parametrize("argv", [(), ("recomend",), ("recommend", "--nonsense"), ("recommend", "a", "b")])
def test_wrong_usage_is_one_line_and_exit_2(capsys: pytest.CaptureFixture[str], argv: tuple[str, ...]) -> None:
    refused(capsys, *argv)


def test_a_misspelt_command_gets_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert "nearest: recommend" in refused(capsys, "recomend")


BROKEN = {
    "half-written": b'title = "x\n[tasks',
    "not-utf8": b"title = '\xff\xfe'",
    "nan": b"[blade]\nstock_thickness_mm = nan",
    "infinite": b"[blade]\nheight_mm = inf",
    "huge-number": b"[blade]\nheight_mm = 1e300",
    "huge-share": b"[tasks]\nfood-prep = 1e300",
    "unknown-key": b"[tasks]\nfood-prep = 1\n[blade]\nstok_thickness_mm = 3",
    "unknown-table": b"[bladee]\nheight_mm = 30",
    "unknown-task": b"[tasks]\nfoodprep = 1",
    "wrong-type": b"[blade]\nheight_mm = 'tall'",
    "wrong-shape": b"blade = 3",
    "empty-list": b"[workshop]\nwheels_mm = 'none'",
    "escape": b'[steel]\ngrade = "\\u001b[31mred\\u202e"',
    "nul-bytes": b"\x00\x00\x00",
    "deep": b"a = " + b"[" * 3000 + b"]" * 3000,
    "date": b"[tasks]\nfood-prep = 2020-01-01",
    "dotted-hostile-key": b'[tasks]\n"\\u001b]0;x\\u0007" = 1',
    "line-above-spine": b"[blade]\nheight_mm = 20\n[wishes]\ngrind_line_mm = 30",
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_brief_is_one_clear_line(capsys: pytest.CaptureFixture[str], tmp_path: Path, name: str) -> None:
    brief = tmp_path / "brief.toml"
    brief.write_bytes(BROKEN[name])
    for extra in ((), ("--json",)):
        err = refused(capsys, "recommend", str(brief), *extra)
        assert "brief.toml" in err
        assert "\x1b" not in err
        assert "\u202e" not in err
        assert len(err) < 800
    assert brief.read_bytes() == BROKEN[name]


def test_files_that_are_no_briefs(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    large = tmp_path / "large.toml"
    with large.open("wb") as handle:
        handle.truncate(50_000_000)
    assert "bytes" in refused(capsys, "recommend", str(large))
    loop = tmp_path / "loop.toml"
    loop.symlink_to(loop)
    assert "loop.toml" in refused(capsys, "recommend", str(loop))
    refused(capsys, "recommend", str(tmp_path / "missing.toml"))
    refused(capsys, "recommend", str(tmp_path))
    refused(capsys, "recommend", "nul\0byte")


def test_hostile_titles_never_reach_the_terminal_raw(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    brief = tmp_path / "brief.toml"
    brief.write_text('title = "\\u001b]0;owned\\u0007 \\u202eevil\\u009b31m [/b] [@click=x]"\n', encoding="utf-8")
    for extra in ((), ("--json",)):
        code, out, _ = run(capsys, "recommend", str(brief), *extra)
        assert code == 0
        assert not set("\x1b\x07\x9b\u202e") & set(out)
    assert "[/b] [@click=x]" in run(capsys, "recommend", str(brief))[1]


def test_draw_writes_whole_or_not_at_all(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    target = tmp_path / "blade.svg"
    assert run(capsys, "draw", "--set", "tasks.food-prep=1", "--svg", str(target))[0] == 0
    assert target.read_text(encoding="utf-8").startswith("<svg")
    drawn = {kind: tmp_path / "all" / f"blade.{kind}" for kind in ("svg", "dxf", "pdf")}
    (tmp_path / "all").mkdir()
    files = [part for kind, path in drawn.items() for part in (f"--{kind}", str(path))]
    assert run(capsys, "draw", *files, "--paper", "letter", "--inches")[0] == 0
    assert drawn["pdf"].read_bytes().startswith(b"%PDF")
    assert 'viewBox="0 0 279.4 215.9"' in drawn["svg"].read_text(encoding="utf-8")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["all", "blade.svg"]
    assert len(list((tmp_path / "all").iterdir())) == 3
    assert "--pdf FILE" in refused(capsys, "draw", "--set", "tasks.food-prep=1")
    refused(capsys, "draw", "--paper", "a5", "--pdf", str(tmp_path / "blade.pdf"))
    assert "nearest: pdf" in refused(capsys, "draw", "--write", "pfd", str(tmp_path / "blade.pdf"))
    assert "no-such-folder" in refused(
        capsys, "draw", "--set", "tasks.food-prep=1", "--svg", str(tmp_path / "no-such-folder" / "x.svg")
    )


def test_the_answer_is_told_before_its_flips_and_is_one_page_in_the_end(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, service: Service
) -> None:
    """A reader has the blade while the flips are still being looked for; together both are the page of the answer."""
    from recommender.commands.answers import answer_command as command

    told: list[str] = []
    monkeypatch.setattr(command, "write_text", told.append)
    brief = "scenarios/left-handed-hunter.toml"
    code, *_ = run(capsys, "recommend", str(ROOT / brief), "--for", "maker")
    assert code == 0
    first, rest = told
    assert "another grind" not in first
    assert rest.lstrip("\n").startswith("What would make it another grind: ")
    whole = service.recommend(read_brief((ROOT / brief).read_bytes(), "brief"))
    assert f"{whole.proposal.edge_angle_included_deg:g}° included" in first
    screen = screen_text(whole, service.drawings.outline_of(whole), audience="maker", width=80)
    assert first + rest == "\n".join(screen)


def test_all_of_it_is_one_page_and_a_part_is_a_part_of_it(capsys: pytest.CaptureFixture[str], service: Service) -> None:
    brief = str(SCENARIOS / "left-handed-hunter.toml")
    whole = service.recommend(read_brief(Path(brief).read_bytes(), "brief"))
    page = answer_text(whole, service.drawings.outline_of(whole), audience="maker", width=80)
    assert run(capsys, "recommend", brief, "--full")[1] == page
    for option in ("why", "others", "what-if", "care", "figures"):
        code, part, _ = run(capsys, "recommend", brief, f"--{option}")
        assert code == 0
        assert part
        assert len(part) < len(page) / 2
        assert set(part.splitlines()) <= set(page.splitlines())
    both = run(capsys, "recommend", brief, "--care", "--why")[1]
    assert both.index("Why this") < both.index("Take care with this one")


def shell(*argv: str, stdin: bytes = b"", **env: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "recommender", *argv],
        input=stdin,
        capture_output=True,
        env={**os.environ, **env},
        timeout=60,
        check=False,
    )


def test_a_brief_from_standard_input() -> None:
    done = shell("recommend", "-", "--json", stdin=b"[tasks]\nfood-prep = 1\n")
    assert done.returncode == 0
    assert json.loads(done.stdout)["brief"]["tasks"] == {"food-prep": 1.0}


def test_json_is_plain_ascii_whatever_the_terminal_speaks() -> None:
    done = shell("recommend", "--json", PYTHONIOENCODING="ascii")
    assert done.returncode == 0
    done.stdout.decode("ascii")


def test_text_survives_a_terminal_that_speaks_only_ascii() -> None:
    assert shell("recommend", PYTHONIOENCODING="ascii").returncode == 0


def test_a_reader_that_goes_away_is_no_error() -> None:
    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {sys.executable} -m recommender recommend | head -n 1"],
        capture_output=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0
    assert b"Traceback" not in done.stderr


def test_measure_names_the_grind_of_a_wedge(capsys: pytest.CaptureFixture[str]) -> None:
    """Readings of a straight taper: 0.4 mm at 1 mm, 0.1 mm more each millimetre, worked by hand."""
    readings = [f"{h}:{0.3 + 0.1 * h:.2f}" for h in (1, 3, 6, 10, 15, 20)]
    code, out, _ = run(
        capsys, "measure", *readings, "--height", "24", "--edge-angle-per-side", "18", "--flat-face", "none",
        "--tip", "same", "--largest-wheel", "350", "--json",
    )  # fmt: skip
    assert code == 0
    assert "full-flat" in json.loads(out)["grinds"]


def test_measure_names_a_reading_that_cannot_be(capsys: pytest.CaptureFixture[str]) -> None:
    assert "5:x" in refused(capsys, "measure", "1:0.4", "5:x")
    assert "expected" in refused(capsys, "measure", "1:0.4", "2:0.5")


def test_life_of_a_brief(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "life", "--set", "tasks.food-prep=1")
    assert code == 0
    assert "Sharpening after sharpening" in out
    code, out, _ = run(capsys, "life", "--set", "tasks.food-prep=1", "--json")
    assert code == 0
    assert json.loads(out)["schema"] == "bevelwright.life/1"


@pytest.mark.parametrize("columns", ["40", "80"])
def test_no_line_is_wider_than_the_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    for argv in (
        ("recommend", "--set", "tasks.food-prep=1", "--set", "owner.gear=pull-through"),
        ("recommend", str(SCENARIOS / "tall-full-hollow-small-wheels.toml")),
        ("tasks",),
    ):
        out = run(capsys, *argv)[1]
        # The list of tasks ends with a command to copy, which is not broken.
        wide = [line for line in out.splitlines() if len(line) > int(columns) and not line.startswith("Use:")]
        assert wide == []
