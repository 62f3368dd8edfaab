"""A proposal as a drawing: the model that every format is written from."""

from __future__ import annotations

import numpy as np

from recommender.drawing.blade_view import BladeView, Station
from recommender.drawing.lengths import Lengths
from recommender.drawing.sheet.drawn_blade import Drawn
from recommender.drawing.sheet.template_page import template_page
from recommender.drawing.sheet.workshop_page import workshop_page
from recommender.geometry.outline import Outline
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.workshop.sheet import PAPERS_MM, Paper, Sheet
from recommender.text import clean


def workshop_sheet(
    answer: Answer,
    title: str,
    view: BladeView | None,
    sections: tuple[Outline, ...],
    *,
    paper: Paper = "a4",
    inches: bool = False,
) -> Sheet:
    """Draw an answer that has a proposal on two pages.

    sections: the section (v, 3) and the tip zone's where it differs; drawn where there is no view of the whole blade.
    """
    p = answer.proposal
    assert p is not None
    stations = view.stations if view is not None else _alone(sections, p)
    drawn = Drawn(answer, p, clean(title, one_line=True), view, stations, Lengths(inches))
    width, height = PAPERS_MM[paper]
    pages = tuple(
        compose(drawn, width, height, number=k + 1, pages=2) for k, compose in enumerate((workshop_page, template_page))
    )
    return Sheet(drawn.title, width, height, pages)


def _alone(sections: tuple[Outline, ...], p: Proposal) -> tuple[Station, ...]:
    """Sections of a blade that cannot be followed along its length."""
    labels = ("all along",) if len(sections) == 1 else ("in the edge zone", "in the tip zone")
    return tuple(
        Station.of(np.asarray(outline), label, 0.0, p.stock_thickness_mm, p.grind_line_mm)
        for label, outline in zip(labels, sections, strict=True)
    )
