"""Listings: every figure with its unit, and what is listed found by the words that people have for it."""

from __future__ import annotations

import json

import pytest

from recommender.cli import main
from recommender.units import Unit

LISTINGS = ("tasks", "steels", "gear", "materials", "grinds", "metrics", "fields")


def listed(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[str]:
    assert main([*arguments, "--json"]) == 0
    return [row["id"] for row in json.loads(capsys.readouterr().out)]


def test_every_figure_is_listed_with_its_unit(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["metrics", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert main(["metrics"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    words = {Unit.NONE: "no unit", Unit.COUNT: "a count"}
    for row in rows:
        better = "" if row["better"] == "either" else f", {row['better']} is better"
        assert f"{row['id']} {row['label']} ({words.get(row['unit'], row['unit'])}{better})." in text


@pytest.mark.parametrize(
    ("word", "ids"),
    [
        ("sharpness", {"cut_force", "apex_growth", "edge_retention"}),
        ("toughness", {"chips_above", "edge_margin", "failure_stress"}),
        ("thin", {"thickness_1mm", "thickness_5mm", "thickness_10mm"}),
        ("sticks", {"lets_go_deg", "withdraw_force", "release_margin_deg"}),
        ("chips", {"chips_above", "edge_margin", "hard_contact_chipped"}),
        ("weight", {"blade_mass", "mass_per_length", "bar_share"}),
        ("Flexes", {"stiffness", "tip_flex"}),
    ],
)
def test_a_figure_is_found_by_what_people_call_it(word: str, ids: set[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert ids <= set(listed(capsys, "metrics", word))


@pytest.mark.parametrize(
    ("arguments", "first"),
    [
        (("tasks", "skinning"), "game-dressing"),
        (("steels", "440c"), "440c"),
        (("gear", "stones"), "bench-stones"),
        (("grinds", "hollow"), "full-hollow"),
        (("fields", "hardness"), "brief.steel.hardness_hrc"),
    ],
)
def test_what_is_called_so_comes_first(
    arguments: tuple[str, ...], first: str, capsys: pytest.CaptureFixture[str]
) -> None:
    found, every = listed(capsys, *arguments), listed(capsys, arguments[0])
    assert found[0] == first
    assert len(found) < len(every)


@pytest.mark.parametrize("listing", LISTINGS)
def test_what_nothing_says_is_told_in_a_line(listing: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([listing, "xylophone"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "nothing says 'xylophone'" in told.err
    assert listed(capsys, listing, "xylophone") == []


def test_a_misspelt_word_is_told_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["metrics", "toughnis"]) == 2
    assert "nearest: toughness" in capsys.readouterr().err
