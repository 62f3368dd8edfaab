"""The public test kit finds what it promises to find, and nothing in what is sound."""

from __future__ import annotations

import types
from dataclasses import replace
from pathlib import Path

import bevelwright_builtin
import bevelwright_rules
import numpy as np
import pytest
from bevelwright_builtin.grinds import chisel, flat, scandi

from recommender.geometry.outline import face, mirrored, symmetric
from recommender.plugin.api import API_VERSION, LEFT, Metric, Refusal, Writer
from recommender.plugin.hooks import hookimpl
from recommender.plugin.testing import (
    assert_sound,
    check_grind,
    check_metric,
    check_pack,
    check_plugin,
    check_writer,
)
from recommender.units import Unit

FLAT, CHISEL, SCANDI = flat.GRINDS[0], chisel.GRINDS[0], scandi.GRINDS[0]
# Without a micro-bevel, which what is drawn wrong here would leave out as well.
PLAIN = replace(FLAT, parameters=tuple(knob for knob in FLAT.parameters if knob.name != "micro_bevel"))


def moved(**columns):
    """Outlines of designs that are not those asked for."""
    return lambda d: FLAT.outlines(d.changed(**{name: change(d[name]) for name, change in columns.items()}))


def with_corner(x_share: float, y_share: float):
    """A corner more in each face, at a share of half the stock and of the height."""

    def outlines(designs):
        half, height = designs["stock_thickness_mm"] / 2, designs["height_mm"]
        shoulder = (designs.edge_half_thickness_mm, designs.edge_bevel_height_mm, 0.0)
        corner = (x_share * half, designs.edge_bevel_height_mm + y_share * designs.primary_height_mm, 0.0)
        return symmetric(face((0.0, 0.0, 0.0), shoulder, corner, (half, height, 0.0)))

    return outlines


def crossing(designs):
    outlines = FLAT.outlines(designs).copy()
    outlines[:, [1, -1], 0] *= -0.1
    return outlines


def bulging(designs):
    outlines = FLAT.outlines(designs).copy()
    outlines[:, 1, 2] = outlines[:, -2, 2] = 1.0
    return outlines


def shifted(by_mm: float):
    return lambda d: FLAT.outlines(d) + np.array([0.0, by_mm, 0.0])


def printing(designs):
    print("hello")
    return FLAT.outlines(designs)


def random(designs):
    return FLAT.outlines(designs.changed(edge_thickness_mm=designs["edge_thickness_mm"] + np.random.random() * 1e-9))


def batch_dependent(designs):
    return FLAT.outlines(designs) * (1.0 if len(designs) > 1 else 1.001)


def alone_refused(designs, workshop):
    return [Refusal(np.full(len(designs), len(designs) == 1), "there is only one of it here")]


def lopsided(designs):
    """Left-ground blades a hair larger than right-ground ones."""
    return CHISEL.outlines(designs) * np.where(designs["side"] == LEFT, 1 + 1e-13, 1.0)[:, None, None]


def mutating(designs):
    designs["height_mm"][:] = 1.0


def refusing(words="the bar is too thick for it", rows=None):
    def refusals(designs, workshop):
        return [Refusal(np.zeros(len(designs), dtype=bool) if rows is None else rows(designs), words)]

    return refusals


def rich_man_refuses(designs, workshop):
    return [Refusal(np.full(len(designs), workshop.platen), "a platen gets in the way of it")]


def drifting(designs):
    return FLAT.complete(designs.changed(edge_thickness_mm=designs["edge_thickness_mm"] * 0.9))


GRINDS = {
    "not a number": (replace(FLAT, outlines=lambda d: FLAT.outlines(d) * np.nan), "not finite in"),
    "single precision": (replace(FLAT, outlines=lambda d: FLAT.outlines(d).astype("f4")), "give float32"),
    "a list": (replace(FLAT, outlines=lambda d: FLAT.outlines(d).tolist()), "gives list"),
    "too few": (replace(FLAT, outlines=lambda d: FLAT.outlines(d)[:-1]), "have shape"),
    "clockwise": (replace(FLAT, outlines=lambda d: mirrored(FLAT.outlines(d)) * [-1, 1, 1]), "anticlockwise"),
    "not at the apex": (replace(FLAT, outlines=shifted(1.0)), "start at the apex"),
    "turning back": (replace(FLAT, outlines=bulging), "turns back towards the edge"),
    "not as high as the bar": (replace(FLAT, outlines=lambda d: FLAT.outlines(d) * [1, 0.9, 1]), "as high as the bar"),
    "wider than the bar": (replace(FLAT, outlines=moved(stock_thickness_mm=lambda t: t + 1)), "as wide"),
    "crossing faces": (replace(FLAT, outlines=crossing), "crossing faces"),
    "another edge angle": (replace(FLAT, outlines=moved(edge_angle_per_side_deg=lambda a: a + 0.1)), "edge angle"),
    "a print": (replace(FLAT, outlines=printing), "prints"),
    "never the same": (replace(FLAT, outlines=random), "not the same when asked again"),
    "another alone": (replace(FLAT, outlines=batch_dependent), "a design alone is not drawn as in a batch"),
    "designs changed": (replace(FLAT, outlines=mutating), "read-only"),
    "one side, two shapes": (replace(CHISEL, outlines=lopsided), "no mirror image"),
    "one side, drawn on the other": (replace(CHISEL, outlines=lambda d: mirrored(CHISEL.outlines(d))), "edge angle"),
    "drifting": (replace(FLAT, complete=drifting), "complete done twice"),
    "no designs": (replace(FLAT, complete=lambda d: None), "complete gives NoneType instead of Designs"),
    "no designs but text": (replace(FLAT, complete=lambda d: "text"), "complete gives str instead of Designs"),
    "unsaid": (replace(FLAT, refusals=refusing(None)), "None is no reason"),
    "two lines": (replace(FLAT, refusals=refusing("too thick\nfor this wheel")), "no printable line"),
    "an escape": (replace(FLAT, refusals=refusing("too \x1b[31mthick for it")), "no printable line"),
    "a number that is none": (replace(FLAT, refusals=refusing("it takes a wheel of nan mm")), "number that is none"),
    "rows of numbers": (replace(FLAT, refusals=refusing(rows=lambda d: np.zeros(len(d)))), "not bool"),
    "rows of another batch": (replace(FLAT, refusals=refusing(rows=lambda d: np.zeros(3, dtype=bool))), "not bool"),
    "no refusals": (replace(FLAT, refusals=lambda d, w: None), "refusals gives NoneType instead of list"),
    "refused alone": (replace(FLAT, refusals=alone_refused), "a design alone is not judged as in a batch"),
    "nothing drawn": (replace(FLAT, outlines=lambda d: None), "outlines gives NoneType instead of ndarray"),
    "another edge": (replace(FLAT, outlines=moved(edge_thickness_mm=lambda t: 0.99 * t)), "as thick at the shoulder"),
    "a waist": (replace(PLAIN, outlines=with_corner(0.01, 0.5)), "have no waist"),
    "a line too low": (replace(PLAIN, outlines=with_corner(1.0, 0.5)), "full stock at the grind line"),
    "everything refused": (replace(FLAT, refusals=refusing(rows=lambda d: np.ones(len(d), dtype=bool))), "nearly all"),
    "a better workshop": (replace(FLAT, refusals=rich_man_refuses), "a better workshop refuses more"),
    "a knob twice": (replace(FLAT, parameters=(*FLAT.parameters, FLAT.parameters[0])), "is there twice"),
    "a line of its own": (replace(SCANDI, for_line=lambda d: d), "does not come out as asked"),
    "an escape in a label": (replace(FLAT, label="\x1b[31mflat"), "label holds what cannot be printed"),
}


@pytest.mark.parametrize("name", GRINDS)
def test_what_is_wrong_with_a_grind_is_found(name: str) -> None:
    grind, says = GRINDS[name]
    found = [str(finding) for finding in check_grind(grind)]
    assert any(says in words for words in found), found
    assert all(words.startswith(f"grind {grind.id}: ") for words in found)
    assert not any(set(words) & set("\x1b\n") for words in found)


def metric(compute, **changes) -> Metric:
    made = Metric(
        id="tried", label="tried", unit=Unit.MM, better="either", about="Tried.", estimate=True, compute=compute
    )
    return replace(made, **changes)


def stock(sections, context):
    return sections.designs["stock_thickness_mm"] * 1.0


def once_more(sections, context, calls=[]):  # noqa: B006 - it remembers, which is what is wrong with it
    calls.append(1)
    return stock(sections, context) + len(calls)


METRICS = {
    "text": (metric(lambda s, c: "x"), "gives str instead"),
    "another shape": (metric(lambda s, c: stock(s, c)[:, None]), "gives shape"),
    "infinite": (metric(lambda s, c: stock(s, c) / 0.0), "is infinite"),
    "a warning": (metric(lambda s, c: stock(s, c) / (0.0 * stock(s, c))), "warns: RuntimeWarning"),
    "nothing anywhere": (metric(lambda s, c: np.full(len(s), np.nan)), "no number for any section"),
    "a print": (metric(lambda s, c: print("x") or stock(s, c)), "prints"),
    "a raise": (metric(lambda s, c: 1 / 0), "raises ZeroDivisionError"),
    "an exit": (metric(lambda s, c: exec("raise SystemExit(1)")), "raises SystemExit"),
    "a batch's mean": (metric(lambda s, c: stock(s, c) / stock(s, c).mean()), "the same for a row alone"),
    "a memory": (metric(once_more), "the same again"),
    "numbers only": (metric(lambda s, c: stock(s, c) * float(c.steel.yield_mpa)), "arrays in the context"),
    "applies nowhere it can say": (metric(stock, applies=lambda s: [True]), "applies gives list"),
    "a unit of its own": (metric(stock, unit="furlong"), "no unit of the closed set"),
}


@pytest.mark.parametrize("name", METRICS)
def test_what_is_wrong_with_a_metric_is_found(name: str) -> None:
    tried, says = METRICS[name]
    found = [str(finding) for finding in check_metric(tried)]
    assert any(says in words for words in found), found


def test_metrics_and_writers_of_our_own_are_sound() -> None:
    kinds = {"stock": metric(stock)}
    kinds |= {m.id: m for m in bevelwright_builtin.metrics()[::7]}
    assert [f for m in kinds.values() for f in check_metric(m)] == []
    assert [f for w in bevelwright_builtin.writers() for f in check_writer(w)] == []


def counting(answer, calls=[]):  # noqa: B006 - as above
    calls.append(1)
    return str(len(calls)).encode()


def emptying(answer):
    answer["proposal"].clear()
    return b"x"


WRITERS = {
    "text": (lambda answer: "x", "gives str instead of bytes"),
    "nothing": (lambda answer: b"", "a document of 0 bytes"),
    "too much": (lambda answer: bytes(100_000_000), "a document of 100,000,000 bytes"),
    "never the same": (counting, "not give the same document again"),
    "a print": (lambda answer: print("x") or b"x", "prints"),
    "a raise": (lambda answer: answer["no such key"], "raises KeyError"),
    "an answer changed": (emptying, "changes the answer"),
}


@pytest.mark.parametrize("name", WRITERS)
def test_what_is_wrong_with_a_writer_is_found(name: str) -> None:
    write, says = WRITERS[name]
    found = [str(finding) for finding in check_writer(Writer("tried", "tried", write))]
    assert any(says in words for words in found), found


RULE = """id = "own-rule"
title = "A rule of its own"
kind = "advice"
status = "active"
when = { all = [{ field = "brief.tasks", has = "wood-carving" }] }
effect = { text = "Say here what is worth knowing.", audience = "everyone" }
because = "One or two sentences that a customer can read."
basis = { level = "estimate", citation = "", known = "memory" }
examples = [
  { facts = { "brief.tasks" = ["wood-carving"] }, fires = true },
  { facts = { "brief.tasks" = ["prying"] }, fires = false },
]
"""
CORE = Path(bevelwright_rules.__file__).parent / "core"
PACKS = {
    "sound": ({"own-rule": RULE}, None),
    "a misspelt field": ({"own-rule": RULE.replace('s", has', '", has')}, "nearest: brief.tasks"),
    "an example that lies": ({"own-rule": RULE.replace('["prying"] }', '["wood-carving"] }')}, "fires on"),
    "no source": ({"own-rule": RULE.replace('"estimate"', '"published"')}, "has a citation"),
    "no reason": ({"own-rule": RULE.replace("One or two sentences that a customer can read.", "So.")}, "says hardly"),
    "a title twice": ({"own-rule": RULE, "other": RULE.replace("own-rule", "other")}, "another rule has its title"),
}  # fmt: skip


@pytest.mark.parametrize("name", PACKS)
def test_what_is_wrong_with_a_pack_is_found(name: str, tmp_path: Path) -> None:
    rules, says = PACKS[name]
    (tmp_path / "own" / "rules").mkdir(parents=True)
    (tmp_path / "own" / "pack.toml").write_text('id = "own"\ntitle = "Own"\nversion = "1"\n', encoding="utf-8")
    for id_, text in rules.items():
        (tmp_path / "own" / "rules" / f"{id_}.toml").write_text(text, encoding="utf-8")
    found = [str(finding) for finding in check_pack(tmp_path / "own")]
    assert found == [] if says is None else any(says in words for words in found), found


def test_a_task_that_nothing_speaks_for_is_found(tmp_path: Path) -> None:
    tasks = tmp_path / "own" / "tables" / "tasks"
    tasks.mkdir(parents=True)
    (tmp_path / "own" / "pack.toml").write_text('id = "own"\ntitle = "Own"\nversion = "1"\n', encoding="utf-8")
    text = (CORE / "tables" / "tasks" / "fine-slicing.toml").read_text(encoding="utf-8")
    (tasks / "ham-slicing.toml").write_text(text.replace("fine-slicing", "ham-slicing"), encoding="utf-8")
    assert [str(finding) for finding in check_pack(tmp_path / "own")] == [
        "pack own: task ham-slicing: no goal speaks of it"
    ]


def test_a_plugin_is_told_of_as_a_whole() -> None:
    broken = types.SimpleNamespace(
        BEVELWRIGHT_API=API_VERSION,
        grinds=hookimpl(lambda: [replace(FLAT, id="half-done", refusals=lambda d, w: 1 / 0)]),
        writers=hookimpl(lambda: 3),
    )
    steps: list[str] = []
    found = [str(finding) for finding in check_plugin(broken, steps.append)]
    assert steps == ["loading it", "checking grind half-done", "answering with it"]
    assert "plug-in: giving writers: int instead of a list" in found
    assert "grind half-done: refusals raises ZeroDivisionError: division by zero" in found
    with pytest.raises(AssertionError, match="half-done: refusals raises"):
        assert_sound(broken)
