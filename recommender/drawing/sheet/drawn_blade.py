"""What a drawing is made from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from recommender.drawing.blade_view import BladeView, Station
from recommender.drawing.lengths import Lengths
from recommender.drawing.sheet.side_view import STATION_LETTERS
from recommender.models.answer.proposal import Answer, Proposal


@dataclass(frozen=True)
class Drawn:
    """An answer that has a proposal, its blade as geometry has it, and how lengths are written."""

    answer: Answer
    proposal: Proposal
    title: str
    view: BladeView | None
    """None where the blade cannot be followed to its tip."""
    stations: tuple[Station, ...]
    lengths: Lengths

    @property
    def letters(self) -> Sequence[str]:
        """Names of the stations; a section that stands alone needs none."""
        return STATION_LETTERS if self.view is not None else ("",) * len(self.stations)
