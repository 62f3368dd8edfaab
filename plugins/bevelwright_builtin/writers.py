"""Documents that Bevelwright can write."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from recommender.drawing.section_svg import section_svg
from recommender.models.proposal import Proposal
from recommender.plugin.api import Writer


def _svg(answer: Mapping[str, Any]) -> bytes:
    proposal = Proposal.model_validate(answer["proposal"])
    tip = answer["tip_outline"]
    tip_outline = None if tip is None else np.asarray(tip)
    return section_svg(np.asarray(answer["outline"]), proposal, answer["title"], tip_outline).encode()


WRITERS = [Writer(id="svg", label="the section with its dimensions as SVG", write=_svg)]
