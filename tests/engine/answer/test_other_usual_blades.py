"""What is proposed does not hang on the exact usual blade: other ones of the trade move hardly an edge.

Each usual blade is replaced by the low ends of its bands, the high ends, and another grind of the same sizes. Run
`pytest -m long tests/engine/answer/test_other_usual_blades.py -s` for the list of what moves.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from recommender.errors import InputError
from recommender.models.base import Basis, Quantity
from recommender.models.brief import Brief
from recommender.models.knowledge.tables import UsualBlade
from recommender.service import Service, with_settings

BRIEFS = Path(__file__).parents[2] / "comparison" / "briefs.toml"
MOST_DEG = 2.0
"""Included: what a maker would not call another edge."""
MOST_MOVED = 0.2
OTHER_GRIND = {
    "full-flat": "convex",
    "saber-flat": "saber-convex",
    "saber-convex": "saber-flat",
    "scandi": "saber-flat",
    "chisel": "saber-chisel",
}
"""A grind that the trade takes for the same tasks."""
LINE, EDGE = (
    Quantity(likely=value, low=low, high=high, basis=Basis(level="common practice"))
    for value, low, high in ((0.6, 0.5, 0.7), (0.3, 0.2, 0.4))
)
"""Of the other grind, where the usual blade has none."""


def _at(end: str) -> Callable[[UsualBlade], UsualBlade]:
    def changed(usual: UsualBlade) -> UsualBlade:
        bands = {name: q for name in type(usual).model_fields if isinstance(q := getattr(usual, name), Quantity)}
        return usual.model_copy(
            update={name: q.model_copy(update={"likely": getattr(q, end)}) for name, q in bands.items()}
        )

    return changed


def _of_another_grind(usual: UsualBlade) -> UsualBlade:
    own = {
        "grind": OTHER_GRIND[usual.grind],
        "grind_line_share": usual.grind_line_share or LINE,
        "edge_thickness_mm": usual.edge_thickness_mm or EDGE,
    }
    return usual.model_copy(update=own)


OTHERS = {"low ends": _at("low"), "high ends": _at("high"), "another grind": _of_another_grind}


def _angles(service: Service, briefs: Iterable[tuple[str, list[str]]]) -> dict[str, float]:
    """Included edge angle of each proposal; nothing for what is refused or fits nothing."""
    out = {}
    for name, settings in briefs:
        try:
            blade = next(iter(service.briefs.answers(with_settings(Brief(), settings), name, flips=False))).proposal
        except InputError:
            continue
        if blade is not None:
            out[name] = blade.edge_angle_included_deg
    return out


def _moved(briefs: list[tuple[str, list[str]]]) -> tuple[int, list[str]]:
    """How many briefs have a proposal, and which move by more than MOST_DEG, with what moves them."""
    told = _angles(Service(strict=True), briefs)
    found: dict[str, list[str]] = {}
    for words, other in OTHERS.items():
        service = Service(strict=True)
        tasks = service.knowledge.tasks
        for id_, task in tasks.items():
            assert task.usual_blade is not None
            tasks[id_] = task.model_copy(update={"usual_blade": other(task.usual_blade)})
        for name, angle in _angles(service, briefs).items():
            if abs(angle - told[name]) > MOST_DEG + 1e-6:
                found.setdefault(name, []).append(f"{words} {told[name]:g} to {angle:g} degrees included")
    return len(told), [f"{name}: {'; '.join(how)}" for name, how in found.items()]


def test_other_usual_blades_hardly_move_an_edge() -> None:
    tasks = ("food-prep", "game-dressing", "heavy-chopping", "wood-carving", "pocket-carry")
    count, moved = _moved([(task, [f"tasks.{task}=1"]) for task in tasks])
    assert len(moved) <= MOST_MOVED * count, moved


@pytest.mark.long
def test_other_usual_blades_hardly_move_an_edge_of_many_briefs(capsys: pytest.CaptureFixture[str]) -> None:
    sections = tomllib.loads(BRIEFS.read_text(encoding="utf-8"))
    briefs = [(name, settings) for section in sections.values() for name, settings in section.items()]
    assert len(briefs) >= 120
    count, moved = _moved(briefs)
    with capsys.disabled():
        print(f"\n{len(moved)} of {count} proposals move by more than {MOST_DEG:g} degrees included", *moved, sep="\n")
    assert len(moved) <= MOST_MOVED * count
