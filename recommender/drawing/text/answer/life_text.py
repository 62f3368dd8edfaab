"""A blade's life in plain words: milestones, a table, a plot of the thickness behind the edge, the other grinds."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.text.braille_canvas import CELL_DOTS, braille, marks
from recommender.models.answer.sharpening_life import Band, BladeLife, Life, Milestone, ThinnedBack
from recommender.text import capital, clean, plural
from recommender.units import INCH_MM

_ROWS_AT = (0, 10, 25, 50, 75, 100, 150, 200, 250, 300, 350, 400)
_CURVES = 5
"""The proposal and the next best: more lines cannot be told apart in one colour."""
_PLOT_LINES = 15
_LONGEST_YEARS = 100.0


def life_text(life: Life, *, width: int = 80, inches: bool = False) -> str:
    """Write the life of the proposal, and of the alternatives beside it, `width` columns wide at most."""
    lengths = Lengths(inches)
    lines: list[str] = []
    if life.brief.title:
        lines += [*textwrap.wrap(clean(life.brief.title, one_line=True), width), ""]
    if not life.blades:
        return "\n".join([*lines, "Nothing fits this brief; see recommend for what shuts everything out."]) + "\n"
    first = life.blades[0]
    lines += textwrap.wrap(
        f"{capital(first.grind_label)}, {angle(first.edge_angle_per_side_deg, first.edge_angle_included_deg)}, "
        f"sharpened again and again (~ marks an estimate)",
        width,
    )
    for name, value in life_facts(life, first, lengths):
        lines += textwrap.wrap(lengths.prose(value), width, initial_indent=f"  {name:<18}", subsequent_indent=" " * 20)
    lines += ["", *textwrap.wrap("Sharpening after sharpening, nothing thinned between", width)]
    lines += _table(first, width, inches)
    lines += _forces(first, width, lengths)
    lines += ["", *_plot(life, width, lengths)]
    if len(life.blades) > 1:
        heading = "Beside the other grinds: thickness behind the edge, and when it wants thinning"
        lines += ["", *textwrap.wrap(heading, width)]
        lines += _others(life, width, inches)
    lines += ["", *_footing(life, width, lengths)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _number(value: float) -> str:
    return f"{value:.2g}" if value < 10 else f"{value:,.0f}"


def _years(years: Band | None) -> str:
    if years is None:
        return ""
    if years.likely >= _LONGEST_YEARS:
        return f"more than {_LONGEST_YEARS:.0f} years"
    high = f"{_number(years.high)}" if years.high < _LONGEST_YEARS else f"more than {_LONGEST_YEARS:.0f}"
    return f"~{_number(years.likely)} years ({_number(years.low)} to {high})"


def _ends(blade: BladeLife, thickness: str) -> str:
    """How thick the blade is where the sharpened bevel ends; of one bevel there was no shoulder there when new."""
    return f"sharpened up to where it is {thickness} thick" if blade.one_bevel else f"{thickness} behind the edge"


def _when(blade: BladeLife, point: Milestone, lengths: Lengths) -> str:
    if not point.sharpenings:
        return "from the start"
    years = f", {_years(point.years)}" if point.years is not None else ""
    return (
        f"after {plural(point.sharpenings, 'sharpening')}{years}: {lengths(point.sharpened_back_mm)} sharpened back, "
        f"{lengths(point.blade_height_mm, 1)} high, {_ends(blade, lengths(point.edge_thickness_mm))}"
    )


def life_facts(life: Life, blade: BladeLife, lengths: Lengths) -> list[tuple[str, str]]:
    """What there is to say of a blade's life, each with its name."""
    back = life.back_per_sharpening_mm
    facts = [
        ("one sharpening", f"~{lengths(back.likely)} off the edge ({lengths(back.low)} to {lengths(back.high)})"),
        (
            "work limit",
            f"{_ends(blade, lengths(life.thickest_edge_mm))}, by common practice{_harder(blade)}",
        ),
    ]
    hours, rate = blade.hours_between_sharpenings, blade.sharpenings_per_year
    if hours is None:
        facts.append(("sharpened", "nothing at hand sharpens this blade; counted in sharpenings, not years"))
    else:
        touch = f", with {' and '.join(life.touched_up_with)} between" if life.touched_up_with else ""
        facts.append(("an edge lasts", f"~{_number(hours.likely)} h of use ({_band(hours)}){touch}"))
    if rate is not None:
        facts.append(
            (
                "sharpened",
                f"~{_number(rate.likely)} times a year ({_band(rate)}) at "
                f"{life.brief.owner.use_hours_per_week:g} h a week",
            )
        )
    if blade.ground_to_zero:
        facts.append(("wants thinning", "never: ground to zero, every sharpening takes the whole facet down"))
    elif blade.thinning is None:
        facts.append(("wants thinning", f"not before {_end(blade)}"))
    else:
        facts.append(("wants thinning", _when(blade, blade.thinning, lengths)))
        facts.append(("thinned by", _thinned_by(life, blade, lengths)))
        if blade.thinned is not None:
            facts.append(("thinned back", _thinned_back(blade, blade.thinned, blade.thinning, lengths)))
    if blade.hollow:
        curve = blade.upper_curve
        text = f"not before {_end(blade)}" if curve is None else _when(blade, curve, lengths)
        if curve is not None and blade.thinning is not None and curve.sharpenings > blade.thinning.sharpenings:
            text += "; a hollow thinned in time never gets there"
        facts.append(("upper curve", text))
    facts.append((_end(blade), _when(blade, blade.end, lengths)))
    return facts


def _harder(blade: BladeLife) -> str:
    """What the model sees of a thick edge: by how much the push has grown by then."""
    forces, thinning = blade.course.cut_force_n_per_mm, blade.thinning
    if forces is None or thinning is None or not thinning.sharpenings:
        return ""
    more = 100 * (forces[thinning.sharpenings] / forces[0] - 1)
    return f"; by then cutting takes ~{more:.0f} % more push than new" if more >= 0.5 else ""


def _thinned_back(blade: BladeLife, thinned: ThinnedBack, at: Milestone, lengths: Lengths) -> str:
    took = f"~{thinned.steel_g:.2g} g of steel off the faces"
    if thinned.minutes is not None and thinned.gear is not None:
        took += f", ~{_number(thinned.minutes.likely)} minutes with {thinned.gear} ({_band(thinned.minutes)})"
    new = "one bevel" if blade.one_bevel else lengths(thinned.edge_thickness_mm)
    gives = f"{_ends(blade, lengths(at.edge_thickness_mm))} becomes {new} again"
    if thinned.cut_force_n_per_mm is not None:
        gives += ", cutting ~{:.2g} becomes {:.2g} N/mm".format(*thinned.cut_force_n_per_mm)
    before, after = (f"{newtons:.0f}" for newtons in thinned.edge_strength_n)
    if before != after:
        gives += f", the edge bears {after} N as when new, no longer {before}"
    return f"{took}; {gives}. {capital(plural(thinned.times, 'time'))} before {_end(blade)}"


def _end(blade: BladeLife) -> str:
    return "half its height" if blade.half_height else plural(blade.end.sharpenings, "sharpening")


def _band(band: Band) -> str:
    return f"{_number(band.low)} to {_number(band.high)}"


def _thinned_by(life: Life, blade: BladeLife, lengths: Lengths) -> str:
    if blade.wheel_diameter_mm is not None:
        wheel = lengths(blade.wheel_diameter_mm, 0)
        return f"a {wheel} wheel like the one that ground it; stones would make the hollow flat"
    if life.thinned_with:
        return f"{' or '.join(life.thinned_with)}, at hand"
    return "somebody with stones or a belt: nothing at hand can"


def _marked(blade: BladeLife) -> dict[int, list[str]]:
    out: dict[int, list[str]] = {}
    half = blade.end if blade.half_height else None
    for point, name in ((blade.thinning, "wants thinning"), (blade.upper_curve, "upper curve"), (half, _end(blade))):
        if point is not None:
            out.setdefault(point.sharpenings, []).append(name)
    return out


def _table(blade: BladeLife, width: int, inches: bool) -> list[str]:
    """As many columns as fit; the first tells the sharpenings."""
    course, marked = blade.course, _marked(blade)
    last = blade.end.sharpenings
    rows = sorted({k for k in (*_ROWS_AT, *marked, last) if k <= last})
    unit, scale, digits = ("in", 1 / INCH_MM, 3) if inches else ("mm", 1.0, 2)

    def years(k: int) -> str:
        rate = blade.sharpenings_per_year
        return "" if rate is None else f"{_number(k / rate.likely)}" if k else "0"

    columns: list[tuple[str, str, list[str]]] = [("times", "", [str(k) for k in rows])]
    if blade.sharpenings_per_year is not None:
        columns.append(("~years", "", [years(k) for k in rows]))
    for name, values, places in (
        ("behind", course.edge_thickness_mm, digits),
        ("bevel", course.bevel_width_mm, digits),
        ("height", course.blade_height_mm, digits - 1),
    ):
        shown = [f"{values[k] * scale:.{places}f}" for k in rows]
        if blade.one_bevel and name != "height":
            shown[0] = "-"  # nothing to read there as long as it is new
        columns.append((name, unit, shown))
    for name, by, figures, places in (
        ("~cutting", f"N/{unit}", course.cut_force_n_per_mm, 3),
        ("~edge", "N", course.edge_strength_n, 0),
        ("~min", "", course.sharpening_minutes, 1),
    ):
        if figures is not None:
            shown = [f"{figures[k] / scale:.3g}" if places == 3 else f"{figures[k]:.{places}f}" for k in rows]
            columns.append((name, by, shown))
    return _columns([*columns, ("", "", [", ".join(marked.get(k, [])) for k in rows])], width)


def _columns(columns: Sequence[tuple[str, str, list[str]]], width: int) -> list[str]:
    """Set columns of name, unit and texts; the first and last start left, those that no longer fit are left out."""
    lines = [""] * (2 + max(len(texts) for _, _, texts in columns))
    for index, (name, unit, texts) in enumerate(columns):
        cells = [name, unit, *texts]
        wide = max(len(cell) for cell in cells) + 2
        final = index == len(columns) - 1 and not name
        if len(lines[0]) + wide > width:
            continue
        lines = [line + (f"  {cell}" if final else f"{cell:>{wide}}") for line, cell in zip(lines, cells, strict=True)]
    return [line for line in lines if line.strip()]


def _forces(blade: BladeLife, width: int, lengths: Lengths) -> list[str]:
    by_task = blade.course.cut_force_by_task_n_per_mm
    if len(by_task) < 2:
        return []
    k = blade.end.sharpenings if blade.thinning is None else blade.thinning.sharpenings
    until = _end(blade) if blade.thinning is None else "thinning"
    parts = (f"{task} {values[0]:.3g} to {values[k]:.3g} N/mm" for task, values in by_task.items())
    words = lengths.prose(f"~cutting from new to {until}: {', '.join(parts)}")
    return textwrap.wrap(words, width, subsequent_indent="  ")


def _plot(life: Life, width: int, lengths: Lengths) -> list[str]:
    """The thickness behind the edge over the sharpenings: the proposal heavy, the next best light, the limit dashed."""
    shown = [b for b in life.blades if not b.ground_to_zero][:_CURVES]
    zero = [b.grind_label for b in life.blades if b.ground_to_zero]
    if not shown:
        return textwrap.wrap("Ground to zero: the thickness behind the edge stays as it is.", width)
    far = max(b.end.sharpenings for b in shown)
    thinnings = [b.thinning.sharpenings for b in shown if b.thinning is not None]
    if len(thinnings) == len(shown):
        far = min(far, max(round(1.3 * max(thinnings)), 10))
    curves = [np.array(b.course.edge_thickness_mm[: far + 1]) for b in shown]
    limit = life.thickest_edge_mm
    top = 1.04 * max(limit, *(float(c.max()) for c in curves))

    axis = 8
    room = max(len(b.grind_label) for b in shown) + 2
    cells = max(16, width - axis - room)
    dots = np.zeros((CELL_DOTS[1] * _PLOT_LINES, CELL_DOTS[0] * cells), dtype=bool)

    def row(mm: npt.ArrayLike) -> npt.NDArray[np.intp]:
        return np.asarray(np.rint((1 - np.asarray(mm) / top) * (len(dots) - 1)), dtype=np.intp)

    dots[row(limit), (np.arange(dots.shape[1]) % 6) < 3] = True
    for index, curve in enumerate(curves):
        _draw(dots, row(np.interp(np.linspace(0, far, dots.shape[1]), np.arange(len(curve)), curve)), heavy=not index)
    ends = [(int(row(float(c[-1]))) / CELL_DOTS[1], b.grind_label) for c, b in zip(curves, shown, strict=True)]
    labels = _spread(ends, _PLOT_LINES)
    ticks = {int(row(v)) // CELL_DOTS[1]: v for v in _round_steps(top)}
    ticks[int(row(limit)) // CELL_DOTS[1]] = limit
    lines = textwrap.wrap(
        f"Thickness behind the edge over the sharpenings; heavy: {shown[0].grind_label}; dashed: {lengths(limit)}, "
        "where this work wants a blade thinned" + (f"; not drawn: {', '.join(zero)}, ground to zero" if zero else ""),
        width,
    )
    for index, line in enumerate(braille(dots)):
        left = lengths(ticks[index]) if index in ticks else ""
        lines.append(f"{left:>{axis - 1}} {line:<{cells}} {labels.get(index, '')}")
    step = next(s for s in (2, 5, 10, 20, 25, 50, 100) if far / s <= 6)
    below = [(round(k / far * (cells - 1)), str(k)) for k in range(0, far + 1, step)]
    return lines + [" " * axis + line for line in marks(cells, below)]


def _draw(dots: npt.NDArray[np.bool_], rows: npt.NDArray[np.intp], *, heavy: bool) -> None:
    """Set one dot a column and fill the steps between neighbours; a heavy line is two dots high."""
    previous = int(rows[0])
    for column, at in enumerate(int(r) for r in rows):
        low, high = sorted((previous + int(np.sign(at - previous)), at))
        dots[low : high + 1 + heavy, column] = True
        previous = at


def _round_steps(top: float) -> list[float]:
    """Three to seven round values from 0 up to `top`."""
    step = next(s for s in (0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0) if top / s < 7 or s == 5.0)
    return [k * step for k in range(int(top / step) + 1)]


def _spread(ends: Sequence[tuple[float, str]], lines: int) -> dict[int, str]:
    """Put each label on a line of its own as near to its curve's end as the others allow, in the curves' order."""
    order = sorted(ends, key=lambda end: end[0])
    places: list[int] = []
    for at, _ in order:
        places.append(max(int(at), places[-1] + 1 if places else 0))
    for index in range(len(places) - 1, -1, -1):
        places[index] = min(places[index], lines - len(places) + index)
    return {place: label for place, (_, label) in zip(places, order, strict=True)}


def _others(life: Life, width: int, inches: bool) -> list[str]:
    scale, digits = (1 / INCH_MM, 3) if inches else (1.0, 2)

    def thick(blade: BladeLife, k: int) -> str:
        values = blade.course.edge_thickness_mm
        if blade.one_bevel and not k:
            return "one"
        return "zero" if blade.ground_to_zero else f"{values[k] * scale:.{digits}f}" if k < len(values) else ""

    def when(point: Milestone | None) -> str:
        if point is None:
            return "-"
        years = "" if point.years is None else f" (~{min(point.years.likely, _LONGEST_YEARS):.2g} y)"
        return "at once" if not point.sharpenings else f"{point.sharpenings}{years}"

    blades = life.blades
    columns = [
        ("grind", "", [b.grind_label for b in blades]),
        *((f"{name} {k}" if k else "new", "", [thick(b, k) for b in blades]) for name, k in
          (("", 0), ("after", 25), ("after", 50), ("after", 100))),
        ("thinning at", "", ["never" if b.ground_to_zero else when(b.thinning) for b in blades]),
        ("upper curve", "", [when(b.upper_curve) for b in blades]),
    ]  # fmt: skip
    wide = max(len(text) for text in columns[0][2])
    name, unit, texts = columns[0]
    return _columns([(f"{name:<{wide}}", unit, [f"{t:<{wide}}" for t in texts]), *columns[1:]], width)


def _footing(life: Life, width: int, lengths: Lengths) -> list[str]:
    text = [
        "Years are an estimate from hours of use, the edge's retention in card and the gear; their band covers what "
        "is cut, how blunt the owner lets it get and how much each sharpening takes off.",
        f"Reckoned to half the blade's height or {plural(400, 'sharpening')}. Strength figures compare shapes and "
        "never licence a load. Keen edges cut: handle with care.",
    ]
    if any(blade.one_bevel for blade in life.blades):
        text.insert(0, "One: one bevel when new; what is then sharpened at the edge's angle ends as a shoulder above.")
    if any(blade.hollow for blade in life.blades):
        text.insert(
            0,
            f"Upper curve: where a hollow begins to thicken faster per {lengths.unit} sharpened than a flat of the "
            "same shoulder, stock and line: the upper half of its arc.",
        )
    return [line for paragraph in text for line in textwrap.wrap(paragraph, width)]
