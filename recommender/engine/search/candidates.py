"""Candidates: thousands of designs a grind, evenly spread over its knobs, less what cannot be made."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from recommender.engine.intake.resolve import Resolved, parameter_range
from recommender.plugin.api import LEFT, RIGHT, Designs, Grind, Parameter, Refusal, Workshop, refused_rows
from recommender.units import SIZE_STEP_MM, Unit

TOTAL = 21_000
"""Candidates to weigh a brief, shared among the grinds in question."""
MOST_OVERSAMPLING = 3.0
"""Where a workshop or wishes shut much out, at most so many times more are tried."""
LINE_SHARE = "grind_line_share"
MICRO_BEVEL = "micro_bevel"
"""The parameter that says whether a design has one, yes or no."""
_WISH_TOLERANCE = 1e-6


@dataclass(frozen=True)
class Blocked:
    """Something that shuts out candidates before they are measured: how many, and why."""

    reason: str
    count: int


def fixed_columns(resolved: Resolved) -> dict[str, Any]:
    """Columns that the brief has decided, numbers but for the word on a micro-bevel."""
    wishes, blade = resolved.brief.wishes, resolved.brief.blade
    fixed = {
        "stock_thickness_mm": blade.stock_thickness_mm,
        "edge_angle_per_side_deg": wishes.edge_angle_per_side_deg,
        "edge_thickness_mm": wishes.edge_thickness_mm,
        "grind_line_mm": wishes.grind_line_mm,
    }
    decided: dict[str, Any] = {name: float(value) for name, value in fixed.items() if value is not None}
    return decided if wishes.micro_bevel is None else {**decided, MICRO_BEVEL: wishes.micro_bevel}


def choices(parameter: Parameter, resolved: Resolved) -> tuple[str | float, ...]:
    """The values a parameter may take when it is no continuous one; () otherwise."""
    if parameter.name == "side":
        return (LEFT,) if resolved.brief.owner.hand == "left" else (RIGHT,)
    if parameter.name == "wheel_diameter_mm":
        return resolved.workshop.wheels_mm or (np.nan,)
    return parameter.choices


def sample(grind: Grind, resolved: Resolved, n: int) -> Designs:
    """Spread n designs over the grind's knobs by an additive recurrence, which has no gaps and needs no luck.

    Column k of point i is frac(1/2 + i / phi^(k+1)), phi the positive root of x^(d+1) = x + 1.
    Source: generalised golden ratio sequence (memory).
    """
    fixed = fixed_columns(resolved)
    free = [p for p in grind.parameters if p.name not in fixed]
    unit = _spread(n, sum(not p.refined_only for p in free))
    shore = resolved.workshop.wheel_shore_a
    columns: dict[str, npt.ArrayLike] = {
        "stock_thickness_mm": resolved.stock_range_of(grind)[0],
        "height_mm": float(resolved.brief.blade.height_mm or np.nan),
        "wheel_shore_a": np.nan if shore is None else shore,
    }
    for k, parameter in enumerate(sorted(free, key=lambda p: p.refined_only)):
        options = choices(parameter, resolved)
        if parameter.refined_only and options:
            columns[parameter.name] = options[0]
        elif options:
            index = np.minimum((unit[:, k] * len(options)).astype(int), len(options) - 1)
            columns[parameter.name] = np.asarray(options)[index]
        else:
            low, high = parameter_range(parameter, grind, resolved)
            columns[parameter.name] = low + (high - low) * unit[:, k]
    return complete_designs(grind, Designs.of(n, **columns), fixed)


def _spread(n: int, d: int) -> npt.NDArray[np.float64]:
    phi = 2.0
    for _ in range(30):
        phi = (1 + phi) ** (1 / (d + 1))
    steps = (1 / phi) ** np.arange(1, d + 1)
    return np.asarray((0.5 + np.arange(1, n + 1)[:, None] * steps) % 1.0)


def complete_designs(grind: Grind, designs: Designs, fixed: Mapping[str, npt.ArrayLike]) -> Designs:
    """Impose what the brief decided and let the grind fill in what follows."""
    designs = designs.changed(**fixed)
    if "grind_line_mm" in fixed:
        if grind.parameter(LINE_SHARE) is not None:
            designs = designs.changed(grind_line_share=np.asarray(fixed["grind_line_mm"]) / designs["height_mm"])
        elif grind.for_line is not None:
            designs = grind.for_line(designs)
    return grind.complete(designs)


def shut_out(
    grind: Grind,
    designs: Designs,
    workshop: Workshop,
    fixed: Mapping[str, npt.ArrayLike],
    *,
    wished_for: bool = False,
) -> Iterator[Refusal]:
    """What cannot be made in a workshop or keeps not every wish, and why: the one definition of a candidate.

    Wishes may be one for all designs or (n,). A grind that is itself wished for may bring its micro-bevel.
    """
    yield from grind.refusals(designs, workshop)
    wheel = designs["wheel_diameter_mm"]
    yield Refusal(~(np.isnan(wheel) | np.isin(wheel, workshop.wheels_mm)), "the workshop has no such wheel")
    if not wished_for and fixed.get(MICRO_BEVEL) != "yes":
        yield Refusal(second_edge(designs, fixed), "a micro-bevel would be another edge than the one wished for")
    for name, value in fixed.items():
        if name == MICRO_BEVEL:
            has = ~np.isnan(designs["micro_bevel_per_side_deg"])
            other = "no micro-bevel" if value == "yes" else "a micro-bevel"
            yield Refusal(has != (value == "yes"), f"this {grind.label} has {other}, against the wish")
            continue
        off = ~(np.abs(designs[name] - value) <= _WISH_TOLERANCE)
        yield Refusal(off, f"a {grind.label} cannot have a {wish_label(name)} of {_wish(name, value)} here")


def wish_label(name: str) -> str:
    """What a wish is for, in words."""
    return name.removesuffix("_deg").removesuffix("_mm").replace("_", " ")


def wish_words(name: str, value: float) -> str:
    """A wished size with its unit."""
    return f"{value:g}" + ("°" if name.endswith("_deg") else " mm")


def _wish(name: str, value: npt.ArrayLike) -> str:
    wanted = np.asarray(value)
    return "what is wished for" if wanted.ndim else wish_words(name, float(wanted))


def filter_feasible(grind: Grind, designs: Designs, resolved: Resolved) -> tuple[npt.NDArray[np.bool_], list[Blocked]]:
    """Which designs can be made as the brief asks, and how many each reason shuts out that none before it did."""
    wished_for = resolved.brief.wishes.grind is not None
    ok = np.ones(len(designs), dtype=bool)
    blocked = []
    for refusal in shut_out(grind, designs, resolved.workshop, fixed_columns(resolved), wished_for=wished_for):
        rows = np.broadcast_to(refusal.rows, ok.shape)
        blocked.append(Blocked(refusal.reason, int((rows & ok).sum())))
        ok &= ~rows
    return ok, [b for b in blocked if b.count]


def can_be_made(
    grind: Grind, designs: Designs, workshop: Workshop, fixed: Mapping[str, npt.ArrayLike]
) -> npt.NDArray[np.bool_]:
    """Which designs can be made in a workshop and keep every wish, where no grind is wished for; wishes may be (n,)."""
    return ~refused_rows(shut_out(grind, designs, workshop, fixed), len(designs))


def second_edge(designs: Designs, fixed: Mapping[str, npt.ArrayLike]) -> npt.NDArray[np.bool_]:
    """Where an edge is wished for and a micro-bevel would make another of it, (n,)."""
    return np.asarray(~np.isnan(designs["micro_bevel_per_side_deg"]) & edge_is_wished(fixed))


def edge_is_wished(fixed: Mapping[str, npt.ArrayLike]) -> bool:
    """Whether the brief has decided the angle of the edge or the thickness behind it."""
    return "edge_angle_per_side_deg" in fixed or "edge_thickness_mm" in fixed


def step_of(parameter: Parameter, resolved: Resolved) -> float:
    """The shop step of a parameter in its own unit; a line's share steps by half millimetres of height."""
    if parameter.name == LINE_SHARE:
        return SIZE_STEP_MM / float(resolved.brief.blade.height_mm or 1.0)
    if parameter.step:
        return parameter.step
    return (parameter.high - parameter.low) / 6 if parameter.unit is Unit.NONE else 0.0
