"""The set-up sheet in the order of the work: what to set, what to scribe, what calipers must read after each step."""

from __future__ import annotations

from collections.abc import Sequence

from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.text.answer.firmness_text import tolerances_part
from recommender.drawing.text.answer.form_text import form_words
from recommender.drawing.text.answer.parameters_text import behind_edge_value, parameter_rows
from recommender.drawing.text.answer.shop_figures_text import walked_words
from recommender.drawing.text.answer.words_text import advice_part, cautions_part
from recommender.drawing.text.text_page import TextPage
from recommender.models.workshop.worksheet import BackSetUp, Pass, Place, Scribe, SetUp, WheelChange, Worksheet
from recommender.text import capital, plural
from recommender.units import ANGLE_STEP_DEG

_ROOM = 24
_AT_SPINE_MM = 0.05
_LINE_RUNS_MM = 0.5


def worksheet_text(sheet: Worksheet, *, width: int = 80, inches: bool = False, cautions: bool = True) -> str:
    """Write a set-up sheet as text; without its cautions only where they stand beside it."""
    lengths = Lengths(inches)
    page = TextPage(width, lengths)
    _head(page, sheet, lengths)
    # A taper takes scribed lines off, and so does the skin of a bar that is hardened before it is ground.
    if sheet.hardening.ground_hard:
        steps = [_bar, _harden, _taper, _scribe, _swedge, _grind_hard, _finish, _handle, _sharpen, _sheath]
    else:
        steps = [_bar, _taper, _scribe, _grind, _swedge, _harden, _grind_hard, _finish, _handle, _sharpen, _sheath]
    number = 0
    for step in steps:
        wanted = step(page, sheet, lengths, number + 1)
        number += 1 if wanted else 0
    _heights(page, sheet, lengths)
    _places(page, sheet, lengths)
    tolerances_part(page, sheet.tolerances, lengths)
    if cautions:
        cautions_part(page, sheet.cautions, "maker")
    advice_part(page, sheet.advice, "maker")
    page.gap()
    invented = " Bars, jig and belts are those of the shipped shop.toml, invented."
    page.line(
        "~ marks an estimate: skin, warp, scratches and the cool pass differ from shop to shop. Figures compare shapes "
        "and never licence a load; local law and licensed practice come first."
        f"{invented if sheet.shop_values == 'invented' else ''}"
    )
    return page.text()


def _head(page: TextPage, sheet: Worksheet, lengths: Lengths) -> None:
    p, off = sheet.proposal, sheet.removed
    page.line(f"Set-up sheet: {sheet.title}")
    page.gap()
    page.row("grind", p.grind_label, _ROOM)
    page.row("steel", f"{sheet.steel} at {sheet.hardness_hrc:g} HRC", _ROOM)
    page.row("edge", angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg), _ROOM)
    page.row("behind the edge", behind_edge_value(p, lengths), _ROOM)
    for label, value in parameter_rows(p, lengths):
        page.row(label, value, _ROOM)
    page.row("tip and spine", form_words(p, lengths), _ROOM)
    page.row("ground on", "both sides" if p.side == "both" else f"the {p.side} side, edge down and tip forward", _ROOM)
    page.row(
        "finished blade",
        f"{sheet.mass_g:.0f} g without the tang, balance {lengths(sheet.balance_mm, 0)} before the plunge line",
        _ROOM,
    )
    page.row(
        "steel to grind off",
        f"{off.ground_g:.0f} g: primary grind {_cm3(off.primary_mm3)}"
        + "".join(
            f", {name} {_cm3(volume)}"
            for name, volume in (
                ("faces", off.clean_up_mm3),
                ("taper", off.taper_mm3),
                ("back", off.back_mm3),
                ("swedge", off.swedge_mm3),
                ("edge", off.edge_mm3),
            )
            if volume >= 5
        ),
        _ROOM,
    )


def _cm3(mm3: float) -> str:
    return f"{mm3 / 1000:.2f} cm³"


def _step(page: TextPage, number: int, title: str) -> None:
    page.heading(f"{number}. {title}")


def _check(page: TextPage, text: str) -> None:
    page.line(f"check: {text}", "  → ", "    ")


def _bar(page: TextPage, sheet: Worksheet, lengths: Lengths, number: int) -> bool:
    bar = sheet.bar
    _step(page, number, "Bar and blank")
    size = f"{lengths(bar.thickness_mm)} x {lengths(bar.width_mm)} x {lengths(bar.length_mm)}"
    if bar.in_shop:
        page.row("order", f"{size}, {plural(bar.blanks_per_bar, 'blank')} out of it", _ROOM)
    else:
        page.row("order", f"{size}: larger than any bar that the shop lists, so ask for one cut to size", _ROOM)
    page.row("blank", f"{lengths(bar.blank_length_mm)} long with the tang", _ROOM)
    blank = lengths(bar.blank_thickness_mm)
    skin = sheet.hardening.skin_per_side_mm
    spare = f": {lengths(sheet.proposal.stock_thickness_mm)} of stock and the skin of both faces" if skin else ""
    if bar.clean_up_per_side_mm > 0:
        page.row("faces", f"{lengths(bar.clean_up_per_side_mm)} off each, to {blank}{spare}", _ROOM)
    else:
        page.row("faces", f"as they are, {blank}{spare}", _ROOM)
    page.row("outline", f"see draw; leave {lengths(sheet.plunge_radius_mm)} of radius at the plunge line", _ROOM)
    tang = f"{lengths(sheet.tang_length_mm, 0)} x {lengths(sheet.tang_width_mm, 1)}; " if sheet.tang_length_mm else ""
    page.row("tang", f"{tang}drill holes and stamp the mark now: hardened steel takes neither", _ROOM)
    _check(page, f"thickness at three places within {lengths(0.05)} of {blank}")
    return True


def _scribe(page: TextPage, sheet: Worksheet, lengths: Lengths, number: int) -> bool:
    p = sheet.proposal
    _step(page, number, "Scribe")
    page.row("along the edge", _scribed(sheet.scribe, p.side, lengths), _ROOM)
    heel = sheet.places[0]
    finished = _line(heel.line_mm, heel.height_mm, lengths)
    if heel.line_before_mm is None:
        page.row("grind line", finished, _ROOM)
    else:
        before = _line(heel.line_before_mm, heel.height_mm, lengths)
        page.row("line before hardening", f"{before}, for what is left on until after hardening", _ROOM)
        page.row("line when finished", finished, _ROOM)
    if any(_runs(place, heel) for place in sheet.places):
        page.row("", "at the heel; it runs as the table along the blade says", _ROOM)
    page.row(
        "plunge line", f"square across, at the same place on {'both faces' if p.side == 'both' else 'that face'}", _ROOM
    )
    if p.side == "both":
        _check(page, "turn the blank over on the surface plate: both scribed lines must meet the gauge again")
    else:
        _check(page, "the face that stays flat is true: gauge and straight edge meet it from heel to tip")
    return True


def _runs(place: Place, heel: Place) -> bool:
    """Whether the grind line stands elsewhere there, without having run out at the spine."""
    return abs(place.line_mm - heel.line_mm) > _LINE_RUNS_MM and place.line_below_spine_mm > _AT_SPINE_MM


def _line(line_mm: float, height_mm: float, lengths: Lengths) -> str:
    below = height_mm - line_mm
    if below < _AT_SPINE_MM:
        return "at the spine"
    return lengths.grind_line(line_mm, below)


def _scribed(scribe: Scribe, side: str, lengths: Lengths) -> str:
    if side == "both":
        lines = f"two lines, height gauge {lengths(scribe.from_face_mm)} from each face"
        apart = f"{lengths(scribe.apart_mm)} apart, the centre line between them"
    else:
        lines = f"one line {lengths(scribe.from_face_mm)} from the {side} face"
        apart = f"{lengths(scribe.apart_mm)} from the face that stays flat"
    return f"{lines}: {apart}"


def _taper(page: TextPage, sheet: Worksheet, lengths: Lengths, number: int) -> bool:
    p = sheet.proposal
    if not p.distal_taper or sheet.taper_in_grind:
        return False
    _step(page, number, "Distal taper")
    page.line("Taper the bar before the bevels, both faces alike, to these thicknesses at the spine.", "  ", "  ")
    # A bar that is hardened first has lost its skin by now.
    spare = 0.0 if sheet.hardening.ground_hard else 2 * sheet.hardening.skin_per_side_mm
    page.table(
        (f"{lengths.unit} from plunge", "thickness"),
        [(lengths.plain(place.from_plunge_mm, 0), lengths.plain(place.stock_mm + spare)) for place in sheet.places],
    )
    _check(page, "calipers at each of these places, on the spine")
    return True


def _grind(page: TextPage, sheet: Worksheet, lengths: Lengths, number: int) -> bool:
    if sheet.hardening.ground_hard:
        return False
    _step(page, number, "Primary grind, before hardening")
    _settings(page, sheet, lengths)
    _belts(page, [p for p in sheet.passes if not p.hardened], lengths)
    flat = sheet.hardening.edge_flat_before_mm
    plunges = ", plunges opposite each other" if sheet.proposal.side == "both" else ""
    _check(page, f"flat along the edge {lengths(flat)} all the way, grind line level{plunges}")
    return True


def _settings(page: TextPage, sheet: Worksheet, lengths: Lengths) -> None:
    for set_up in sheet.set_ups:
        if len(sheet.set_ups) > 1:
            page.line(f"{capital(set_up.zone)}:", "  ")
        page.row("on", _on(set_up, lengths), _ROOM)
        depth = f"{lengths(set_up.depth_per_side_mm, 3)} per side at the {set_up.chord_from}, when finished"
        page.row("depth", depth, _ROOM)
        page.row("set", _set(set_up, lengths), _ROOM)
    if sheet.taper_in_grind:
        page.row(
            "distal taper",
            "comes with this grind: tilt the blade about its edge towards the tip until the spine reads what the table "
            "along the blade says",
            _ROOM,
        )
    if sheet.wheel is not None:
        page.row("wheel", _wheel(sheet.wheel, lengths), _ROOM)
    if sheet.walked_up is not None:
        page.row("walk it up", walked_words(sheet.walked_up, lengths), _ROOM)
    if sheet.back is not None:
        page.row("hollow of the back", _back(sheet.back, lengths), _ROOM)


def _back(back: BackSetUp, lengths: Lengths) -> str:
    size = f"{lengths(back.depth_mm)} deep in its middle under a straight edge, R {lengths(back.radius_mm, 0)}"
    rims = f"leave {lengths(back.rim_mm, 1)} flat along edge and spine; then true the rims on a flat plate"
    if back.wheel_diameter_mm is None:
        return f"{size}; no wheel here fits into it; {rims}"
    wheel = f"on the {lengths(back.wheel_diameter_mm, 0)} wheel"
    walked = ", led up and down across the back: one pass would be deeper and narrower" if back.walked else ""
    return f"{size}, {wheel}{walked}; {rims}"


def _on(set_up: SetUp, lengths: Lengths) -> str:
    if set_up.tool == "wheel" and set_up.wheel_diameter_mm is not None:
        face = "" if set_up.sagitta_mm < 0 else ", on its face: no platen here"
        return f"contact wheel of {lengths(set_up.wheel_diameter_mm, 0)}{face}"
    return set_up.tool


def _set(set_up: SetUp, lengths: Lengths) -> str:
    jig = (
        f"jig pivot {lengths(set_up.jig_height_mm, 1)} off the line of contact, {lengths(set_up.jig_length_mm, 0)} long"
    )
    face = f"{set_up.face_angle_deg:.2f}° face angle per side"
    if set_up.tool == "platen":
        return f"{face}: {jig}"
    if set_up.sagitta_mm > 0:
        return (
            f"rough it flat at {face} ({jig}), stopping {lengths(set_up.sagitta_mm)} short of the depth; then take "
            f"both ends down on the slack belt until the middle stands so much proud of a line from "
            f"{set_up.chord_from} to grind line"
        )
    return (
        f"the straight line from {set_up.chord_from} to grind line stands at {face} ({jig}); the hollow is "
        f"{lengths(-set_up.sagitta_mm, 3)} deep in its middle under a straight edge"
    )


def _wheel(wheel: WheelChange, lengths: Lengths) -> str:
    wanted = lengths(wheel.diameter_mm, 0)
    if wheel.in_shop:
        return f"{wanted}: in the shop"
    if wheel.nearest_mm is None:
        return f"{wanted}, and the shop lists no wheel"
    nearest = f"{wanted} is not in the shop; the nearest, {lengths(wheel.nearest_mm, 0)},"
    if wheel.refused:
        instead = "With your own wheels in the brief the answer is a blade that they can grind"
        return f"{nearest} cannot grind it: {'; '.join(wheel.refused)}. {instead}"
    parts = []
    if wheel.nearest_middle_thickness_mm is not None and wheel.middle_thickness_mm is not None:
        parts.append(
            f"leaves {lengths(wheel.nearest_middle_thickness_mm)} half-way up the hollow instead of "
            f"{lengths(wheel.middle_thickness_mm)}"
        )
    if wheel.points_lost is not None:
        parts.append(f"costs {wheel.points_lost:.1f} points" if wheel.points_lost > 0 else "costs no points")
    if wheel.broken:
        parts.append("breaks " + " and ".join(f"“{title}”" for title in wheel.broken))
    return f"{nearest} {', '.join(parts)}"


def _belts(page: TextPage, passes: list[Pass], lengths: Lengths) -> None:
    unit = lengths.unit
    page.table(
        ("belt", f"leaves {unit} a side ~", f"edge flat {unit} ~"),
        [(p.grade, lengths.plain(p.leaves_per_side_mm, 3), lengths.plain(p.edge_flat_mm)) for p in passes],
    )


def _swedge(page: TextPage, sheet: Worksheet, lengths: Lengths, number: int) -> bool:
    s = sheet.swedge
    if s is None:
        return False
    _step(page, number, "Swedge")
    page.row(
        "set",
        f"{angle(s.angle_per_side_deg, s.angle_included_deg)}: jig pivot {lengths(s.jig_height_mm, 1)} off the "
        "line of contact",
        _ROOM,
    )
    page.row("length", f"{lengths(s.length_mm, 0)} back from the tip, running in over its first third", _ROOM)
    _check(page, f"{lengths(s.spine_mm)} of spine left, blunt: it is no second edge")
    return True


def _harden(page: TextPage, sheet: Worksheet, lengths: Lengths, number: int) -> bool:
    h = sheet.hardening
    _step(page, number, "Harden and temper")
    if h.ground_hard:
        page.line(
            "Stock this thin is hardened as a flat bar and ground afterwards: ground thin, it would warp and burn.",
            "  ",
            "  ",
        )
    else:
        if sheet.proposal.one_bevel_mm is None:
            page.row("edge before", f"~ {lengths(h.edge_before_mm)} behind the edge-to-be", _ROOM)
        else:
            page.row("edge before", f"~ {lengths(h.edge_flat_before_mm)} flat along the edge-to-be", _ROOM)
    page.row(
        "to",
        f"{sheet.hardness_hrc:g} HRC. The steel supplier's sheet has to say: to what heat, for how long, quenched in "
        f"what, and which temper leaves {sheet.hardness_hrc:g} HRC. Write that temper here: ______",
        _ROOM,
    )
    if h.skin_per_side_mm:
        page.row("scale and skin", f"~ {lengths(h.skin_per_side_mm)} to come off each face afterwards", _ROOM)
    page.row("warp to allow for", f"~ {lengths(h.warp_mm)} along the blade; straighten it warm from the temper", _ROOM)
    _check(page, "straight along the spine against a straight edge, then hardness")
    return True


def _grind_hard(page: TextPage, sheet: Worksheet, lengths: Lengths, number: int) -> bool:
    h = sheet.hardening
    _step(page, number, "Primary grind, hardened" if h.ground_hard else "Grind to size")
    if h.ground_hard:
        _settings(page, sheet, lengths)
    _belts(page, [p for p in sheet.passes if p.hardened], lengths)
    page.row(
        "keep it cool",
        f"~ {h.deepest_cool_pass_um:.0f} µm a pass at most near the edge, dry, dipped before each; a fresh belt, slow. "
        f"Reckoned to stay below {sheet.temper_c:g} °C; never hotter than the temper that it had",
        _ROOM,
    )
    if h.skin_per_side_mm:
        stock = lengths(sheet.proposal.stock_thickness_mm)
        page.row("flats", f"skin off both, to {stock} where nothing is ground", _ROOM)
    flat = sheet.set_ups[0].edge_flat_mm
    wanted = f"flat along the edge {lengths(flat)}" if flat else "both facets meet at the edge, no flat left"
    _check(page, f"{wanted}; the caliper readings below within {lengths(0.05)}")
    return True


def _finish(page: TextPage, sheet: Worksheet, lengths: Lengths, number: int) -> bool:
    return _fit(page, sheet, number, "finish", "Finish", "even along the blade, no scratch of a coarser belt left")


def _handle(page: TextPage, sheet: Worksheet, lengths: Lengths, number: int) -> bool:
    return _fit(page, sheet, number, "handle", "Handle", "tight on the tang all round; the edge stays taped up")


def _sheath(page: TextPage, sheet: Worksheet, lengths: Lengths, number: int) -> bool:
    return _fit(page, sheet, number, "sheath", "Sheath", "the edge touches nothing on its way in, and stays in")


def _fit(page: TextPage, sheet: Worksheet, number: int, kind: str, title: str, check: str) -> bool:
    found = next((f for f in sheet.fittings if f.kind == kind), None)
    if found is None:
        return False
    _step(page, number, title)
    planned = "" if found.minutes is None else f", planned at {found.minutes:g} min"
    page.line(f"{capital(found.label)}{planned}.", "  ", "  ")
    _check(page, check)
    return True


def _sharpen(page: TextPage, sheet: Worksheet, lengths: Lengths, number: int) -> bool:
    edge = sheet.edge
    _step(page, number, "Edge")
    page.line("Last of all, after finish and handle, with the blade taped up.", "  ", "  ")
    arm = lengths(edge.arm_mm, 0)
    page.row(
        "fixture",
        f"{angle(edge.angle_per_side_deg, edge.angle_included_deg)}: pivot {lengths(edge.fixture_height_mm, 1)} above "
        f"the blade's plane on an arm of {arm}",
        _ROOM,
    )
    if edge.micro_bevel_per_side_deg is not None and edge.micro_fixture_height_mm is not None:
        page.row(
            "micro-bevel",
            f"{angle(edge.micro_bevel_per_side_deg, edge.micro_bevel_per_side_deg * edge.sides)}: pivot "
            f"{lengths(edge.micro_fixture_height_mm, 1)}"
            + (f"; {lengths(edge.micro_bevel_width_mm)} wide, a few strokes" if edge.micro_bevel_width_mm else ""),
            _ROOM,
        )
    where = "each side" if edge.sides == 2 else "the ground side only; the flat face stays flat"
    check = f"a burr all along, then gone; angle within {ANGLE_STEP_DEG:g}°"
    if sheet.proposal.one_bevel_mm is None:
        page.row("bevel", f"{lengths(edge.bevel_width_mm)} wide, {where}", _ROOM)
        _check(page, f"{check}; the bevel as wide from heel to tip as above")
    else:
        page.row("bevel", f"the end of the one bevel, blended into it, {where}", _ROOM)
        _check(page, f"{check}; no shoulder from the edge up to the line")
    return True


def _heights(page: TextPage, sheet: Worksheet, lengths: Lengths) -> None:
    finished = [c.finished_mm for c in sheet.calipers]
    _readings(page, "What calipers read, finished", sheet, finished, lengths)
    if not sheet.hardening.ground_hard:
        before = [c.before_mm for c in sheet.calipers]
        _readings(page, "What calipers read before hardening (~)", sheet, before, lengths)


def _readings(
    page: TextPage, title: str, sheet: Worksheet, read: Sequence[Sequence[float | None]], lengths: Lengths
) -> None:
    rows = [
        (lengths.plain(y, 1), *("" if t is None else lengths.plain(t) for t in readings))
        for y, *readings in zip(sheet.heights_mm, *read, strict=True)
        if any(t is not None for t in readings)
    ]
    if rows:
        page.heading(title)
        page.table((f"{lengths.unit} above edge", *(caliper.label for caliper in sheet.calipers)), rows)


def _places(page: TextPage, sheet: Worksheet, lengths: Lengths) -> None:
    def line(mm: float, height_mm: float) -> str:
        return "at spine" if height_mm - mm < _AT_SPINE_MM else lengths.plain(mm, 1)

    page.heading(f"Along the blade, finished ({lengths.unit})")
    page.table(
        ("from plunge", "height", "spine", "line above edge"),
        [
            (
                lengths.plain(place.from_plunge_mm, 0),
                lengths.plain(place.height_mm, 1),
                lengths.plain(place.spine_mm),
                line(place.line_mm, place.height_mm),
            )
            for place in sheet.places
        ],
    )
    soft = [p for p in sheet.places if p.line_before_mm is not None and p.spine_before_mm is not None]
    if soft:
        page.heading(f"Along the blade before hardening ({lengths.unit}, ~)")
        page.table(
            ("from plunge", "spine", "line above edge"),
            [
                (
                    lengths.plain(place.from_plunge_mm, 0),
                    lengths.plain(place.spine_before_mm or 0.0),
                    line(place.line_before_mm or 0.0, place.height_mm),
                )
                for place in soft
            ],
        )
