"""A blade in the hand, in plain words: which grind it is, how firm that is, and what would settle it."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence

from recommender.drawing.lengths import Lengths, angle
from recommender.engine.identify.fitting import Fit
from recommender.engine.identify.identification import Identification, Telling
from recommender.plugin.api import BOTH
from recommender.text import clean

MOST_FITS = 6
_SHOWN = (
    ("stock_thickness_mm", "stock"),
    ("height_mm", "blade height"),
    ("grind_line_mm", "grind line"),
    ("edge_thickness_mm", "behind the edge"),
    ("wheel_diameter_mm", "wheel"),
)


def identify_text(found: Identification, *, back_mm: float | None = None, width: int = 80, inches: bool = False) -> str:
    """Write the verdict, the fitted blade, every family's residuals and what would tell those apart that fit.

    `back_mm` is how far the blade has been sharpened back, where that is known. Lines are at most `width` wide.
    """
    lengths = Lengths(inches)
    labels = {fit.grind: fit.label for fit in found.fits}
    paragraphs = [_verdict(found, labels)]
    if found.verdict != "none fits":
        paragraphs.append(_fitted(found.best, lengths))
        paragraphs += [_difference_words(t, labels[found.best.grind], labels[t.grind], lengths) for t in found.telling]
        if found.same:
            names = ", ".join(labels[name] for name in found.same)
            paragraphs.append(f"The same section could be called {names}: nothing in the shape differs.")
        if found.best.designs["side"][0] != BOTH and found.blade.flat_face is None:
            paragraphs.append("Calipers cannot tell which face is the flat one.")
        if back_mm is not None:
            paragraphs.append(f"Sharpened back by about {lengths(back_mm)} so far.")
    lines: list[str] = []
    for paragraph in paragraphs:
        lines += [*textwrap.wrap(lengths.prose(paragraph), width), ""]
    lines += _table(found, lengths, width)
    lines += ["", *textwrap.wrap("~ marks an estimate. A keen edge cuts fingers, and calipers nick it: close them "
                                 "gently and measure clear of the edge.", width)]  # fmt: skip
    # Labels come from plug-ins.
    return "\n".join(clean(line, one_line=True) for line in lines) + "\n"


def _verdict(found: Identification, labels: Mapping[str, str]) -> str:
    best = found.best
    if found.verdict == "none fits":
        return (
            f"No grind fits these readings. The nearest, {best.label}, misses them by {best.rms_mm:.2f} mm (root mean "
            f"square) where {found.blade.uncertainty_mm:g} mm is what a caliper leaves; {found.worst} fits worst. "
            "Measure it again, or the blade is ground in a way that is not known here."
        )
    if found.verdict == "identified":
        return f"It is {_a(best.label)}."
    names = [_a(labels[name]) for name in found.grinds]
    return f"The readings cannot tell {names[0]} from {_or(names[1:])}."


def _a(label: str) -> str:
    return f"{'an' if label[:1] in 'aeiou' else 'a'} {label}"


def _or(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def _fitted(fit: Fit, lengths: Lengths) -> str:
    row = fit.designs.row(0)
    parts = []
    for name, label in _SHOWN:
        value = row[name]
        if value is None or (name == "edge_thickness_mm" and value == 0):
            continue
        if name in fit.loose:
            parts.append(f"{label} not told by the readings")
            continue
        error = fit.errors.get(name)
        if error is None:
            parts.append(f"{label} ~{lengths(value)}")
        else:
            digits = 2 if error < 0.1 else 1 if error < 1 else 0
            parts.append(f"{label} ~{lengths(value, digits)} ±{lengths(max(error, 0.01), digits)}")
    per_side, sides = float(fit.designs["edge_angle_per_side_deg"][0]), float(fit.designs.sides_ground[0])
    if "edge_angle_per_side_deg" in fit.loose:
        parts.append("edge angle not told by the readings")
    else:
        parts.append(f"edge ~{_angle(per_side, per_side * sides)}")
    micro = row["micro_bevel_per_side_deg"]
    if micro is not None:
        parts.append(f"micro-bevel ~{_angle(micro, micro * sides)}")
    return f"As {_a(fit.label)}: " + ", ".join(parts) + "."


def _angle(per_side: float, included: float) -> str:
    return angle(round(per_side, 1), round(included, 1))


def _difference_words(telling: Telling, best: str, other: str, lengths: Lengths) -> str:
    if telling.how == "flat face":
        return (
            f"{best.capitalize()} or {other}: both are equally thick, so calipers cannot tell. Look whether one face "
            "is flat from edge to spine, and say so."
        )
    if telling.how == "tip":
        return (
            f"{best.capitalize()} or {other}: this section is the same. They part towards the tip; look whether the "
            "grind changes there, and say so."
        )
    if telling.how == "reading" and telling.height_mm is not None and telling.thickness_mm is not None:
        ours, theirs = telling.thickness_mm
        return (
            f"{best.capitalize()} or {other}: readings about {lengths(telling.height_mm, 1)} above the edge tell most; "
            f"{lengths(ours)} speaks for {best}, {lengths(theirs)} for {other}."
        )
    return (
        f"{best.capitalize()} or {other}: they differ by less than these calipers can read. Lay a straight edge on "
        "the face."
    )


def _table(found: Identification, lengths: Lengths, width: int) -> list[str]:
    lines = [f"  {'grind':<18}{'weight':>8}{'off by (rms)':>16}"]
    for fit in found.fits[:MOST_FITS]:
        shown = "-" if found.verdict == "none fits" else f"{fit.weight:.0%}"
        lines.append(f"  {fit.label:<18}{shown:>8}{lengths(fit.rms_mm, 3):>16}")
    if len(found.fits) > MOST_FITS:
        lines.append(f"  and {len(found.fits) - MOST_FITS} more that fit less well")
    best = found.best
    wide = width >= 70
    room = (12, 12, 18, 10) if wide else (9, 9, 9, 8)
    head = best.label if wide else "fitted"
    lines += [
        "",
        f"  {'height':<{room[0]}}{'reading':<{room[1]}}{head:<{room[2]}}{'off':<{room[3]}}"
        + ("in uncertainties" if wide else "σ"),
    ]
    for (height, value), off, sigma in zip(found.blade.readings, best.residuals_mm, found.sigma_mm, strict=True):
        measured = f"  {lengths(height):<{room[0]}}{lengths(value):<{room[1]}}{lengths(value - off):<{room[2]}}"
        lines.append(f"{measured}{f'{off:+.3f}':<{room[3]}}{off / sigma:+.1f}")
    return lines
