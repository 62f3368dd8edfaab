"""What a grind sets besides the usual dimensions, such as a crown or a fuller: printed wherever dimensions are."""

from __future__ import annotations

from recommender.drawing.lengths import Lengths, angle
from recommender.models.answer.proposal import PER_SIDE, ParameterValue, Proposal
from recommender.units import Unit, show


def parameter_rows(p: Proposal, lengths: Lengths) -> list[tuple[str, str]]:
    """A grind's own parameters as label and value.

    >>> from types import SimpleNamespace
    >>> width = ParameterValue(value=12.0, unit="mm", label="width of the fuller")
    >>> parameter_rows(SimpleNamespace(own_parameters={"fuller_width_mm": width}), Lengths())
    [('width of the fuller', '12 mm')]
    """
    return [
        ((knob.label or _words(name)).removesuffix(PER_SIDE), _value(name, knob, p, lengths))
        for name, knob in p.own_parameters.items()
    ]


def parameter_words(p: Proposal, lengths: Lengths) -> str:
    """A grind's own parameters in one line; empty where it has none."""
    return ", ".join(f"{label} {value}" for label, value in parameter_rows(p, lengths))


def behind_edge(p: Proposal, lengths: Lengths) -> str:
    """Thickness behind the edge within a sentence; of one bevel its height, which can be scribed."""
    if p.one_bevel_mm is not None:
        return _one_bevel(p, lengths)
    if _facet_with_micro_bevel(p):
        return f"{lengths(p.edge_thickness_mm)} behind its micro-bevel"
    return lengths.behind_edge(p.edge_thickness_mm)


def behind_edge_value(p: Proposal, lengths: Lengths) -> str:
    """The same beside the words “behind the edge”."""
    if p.one_bevel_mm is not None:
        return _one_bevel(p, lengths)
    if _facet_with_micro_bevel(p):
        return f"{lengths(p.edge_thickness_mm)} (micro-bevel)"
    return lengths(p.edge_thickness_mm) if p.edge_thickness_mm else "ground to zero"


def _facet_with_micro_bevel(p: Proposal) -> bool:
    """Ground to zero but for a micro-bevel, which is then all the edge bevel that there is."""
    return p.micro_bevel_per_side_deg is not None and p.micro_bevel_thickness_mm in (None, p.edge_thickness_mm)


def _one_bevel(p: Proposal, lengths: Lengths) -> str:
    if p.grind_line_below_spine_mm < 1e-6:
        return "one bevel from edge to spine"
    return f"one bevel {lengths(p.grind_line_mm, 1)} high"


def micro_bevel_words(p: Proposal) -> str:
    """The angle of a micro-bevel, both ways; empty where there is none."""
    if p.micro_bevel_per_side_deg is None or p.micro_bevel_included_deg is None:
        return ""
    return angle(p.micro_bevel_per_side_deg, p.micro_bevel_included_deg)


def _words(name: str) -> str:
    """A name where no label was stored with it: in proposals of version 0.1."""
    return name.removesuffix("_deg").removesuffix("_mm").removesuffix("_share").replace("_", " ")


def _value(name: str, knob: ParameterValue, p: Proposal, lengths: Lengths) -> str:
    if knob.value is None:
        return "none"
    if isinstance(knob.value, str):
        return knob.value
    if knob.unit == Unit.MM.value:
        return lengths(knob.value)
    if name.endswith("_per_side_deg"):
        return angle(knob.value, knob.value * p.sides_ground)
    return show(knob.value, Unit(knob.unit))
