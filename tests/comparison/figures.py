"""The few figures of an answer that a person looks at first."""

from __future__ import annotations

from typing import NamedTuple


class Figures(NamedTuple):
    """What a brief came to; empty where there is none."""

    grind: str = ""
    edge_angle_per_side_deg: str = ""
    edge_angle_included_deg: str = ""
    edge_thickness_mm: str = ""
    stock_thickness_mm: str = ""
    points: str = ""
    price: str = ""

    def __str__(self) -> str:
        if not self.grind:
            return "no blade"
        words = (
            f"{self.grind} {self.edge_angle_per_side_deg}° per side ({self.edge_angle_included_deg}° included), "
            f"{self.edge_thickness_mm} mm behind the edge, {self.points} points"
        )
        return f"{words}, {self.price}" if self.price else words


def figures_of(papers: dict[str, dict[str, object]]) -> Figures:
    """The figures of a brief's answer and quote, from the fields of its papers."""
    quote = _at(papers, "quote", "printed")
    answer = _at(papers, "recommend", "printed") or _at(quote, "answer")
    proposal = _at(answer, "proposal")
    if not proposal:
        return Figures()
    names = Figures._fields[:5]
    price = " ".join(str(_at(quote, "price", name) or "") for name in ("total", "currency")).strip()
    return Figures(*(_shown(_at(proposal, name)) for name in names), _shown(_at(answer, "points", "total")), price)


def points_of(figures: Figures) -> float | None:
    """The points as a number, where there is a blade."""
    return float(figures.points) if figures.points else None


def _shown(value: object) -> str:
    return f"{value:.9g}" if isinstance(value, float) else "" if value is None else str(value)


def _at(value: object, *keys: str) -> object:
    for key in keys:
        value = value.get(key) if isinstance(value, dict) else None
    return value
