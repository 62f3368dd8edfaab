"""The set-up sheet of every shipped answer: its numbers from the outline by shapely, its words, widths and cautions.

Source: shapely's cut of a flattened outline; common practice for what a maker has to be told.
"""

from __future__ import annotations

import math

import pytest
from shapely import LineString, Polygon

from recommender.drawing.text.workshop.worksheet_text import worksheet_text
from recommender.engine.answer.tried_blade import followed_blade
from recommender.models.brief import Brief
from recommender.service import with_settings

WIDTHS = (40, 80, 100)


def both_angles(per_side: float, included: float) -> str:
    """As the charter wants an edge said; where one face alone is ground, so much is said too."""
    return f"{per_side:g}° per side{' (one side only)' if per_side == included else ''}, {included:g}° included"


@pytest.fixture(scope="module")
def sheets(service, answered, shop):
    return {name: service.workshop.worksheet(s.brief, s.answer, shop) for name, s in answered.items()}


@pytest.fixture(scope="module")
def sheet_of(service, shop):
    """The sheet of a brief made of settings, in a shop."""

    def build(*settings: str, shop=shop, **equipment):
        if equipment:
            shop = shop.model_copy(update={"equipment": shop.equipment.model_copy(update=equipment)})
        brief = with_settings(Brief(), settings)
        answer = service.recommend(brief, flips=False)
        assert answer.proposal is not None
        return service.workshop.worksheet(brief, answer, shop)

    return build


def cut(section: Polygon, height: float) -> float:
    return section.intersection(LineString([(-50, height), (50, height)])).length


def test_caliper_readings(service, answered, sheets, polygon_of) -> None:
    """Thickness at each height is what a level line through the section there cuts; never beyond the grind line."""
    for name, sheet in sheets.items():
        p = answered[name].proposal
        blade = followed_blade(service.grinds[p.grind], p)
        assert [caliper.label for caliper in sheet.calipers] == ["heel", "middle", "near tip"]
        for caliper, share in zip(sheet.calipers, (0.1, 0.5, 0.9), strict=True):
            station = blade.at([share * p.blade_length_mm])
            section = polygon_of(station.sections[0])
            read = [(y, t) for y, t in zip(sheet.heights_mm, caliper.finished_mm, strict=True) if t is not None]
            assert read, name
            for y, finished in read:
                assert finished == pytest.approx(cut(section, y), abs=1.2e-3), (name, caliper.label, y)
                assert y < station.line_mm[0, 0]
            readings = [finished for _, finished in read]
            assert readings == sorted(readings), f"{name}: a blade without a waist only thickens"


def test_the_blade_before_hardening(service, answered, sheets, polygon_of) -> None:
    """By hand: what is finished and what is left on it, as thick as the blank at the most, and its line there.

    A blank is the stock (before a taper that comes with the grind) and the skin of both faces.
    """
    lower = 0
    for name, sheet in sheets.items():
        p, h = answered[name].proposal, sheet.hardening
        if h.ground_hard:
            assert all(t is None for caliper in sheet.calipers for t in caliper.before_mm)
            assert all(place.line_before_mm is None for place in sheet.places)
            continue
        sides = 2 if p.side == "both" else 1
        left = h.after_per_side_mm * sides + h.skin_per_side_mm * (2 - sides)
        assert left == pytest.approx(h.edge_before_mm - p.edge_thickness_mm, abs=1e-3), name
        blade = followed_blade(service.grinds[p.grind], p)
        for caliper in sheet.calipers:
            stock = float(blade.at([caliper.from_plunge_mm]).stock_mm[0, 0])
            blank = (p.stock_thickness_mm if sheet.taper_in_grind else stock) + 2 * h.skin_per_side_mm
            for finished, before in zip(caliper.finished_mm, caliper.before_mm, strict=True):
                if finished is not None:
                    assert before == pytest.approx(min(finished + left, blank), abs=8e-3), (name, caliper)
        for place in sheet.places:
            stock = p.stock_thickness_mm if sheet.taper_in_grind else place.stock_mm
            blank = stock + 2 * h.skin_per_side_mm
            assert place.line_before_mm <= place.line_mm + 0.02, name
            lower += place.line_before_mm < place.line_mm - 0.05
            if 0.5 < place.line_before_mm < place.height_mm - 0.1 and p.swedge is None:
                section = polygon_of(blade.at([place.from_plunge_mm]).sections[0])
                there = cut(section, place.line_before_mm)
                assert there + left == pytest.approx(blank, abs=0.02), (name, place)
    assert lower > 10, "more is left at the edge than skin on the flats, so the line mostly starts lower"


def test_the_line_of_a_flat_before_hardening_by_hand(sheet_of) -> None:
    """A face at 16 degrees a side leaves the blank lower by what is left on it, its own skin excepted.

    Two faces, 0.5 mm at an edge that is ground to zero without a micro-bevel: 0.25 a side, of which 0.1 is skin that
    the flat has too; (0.25 - 0.1)/tan 16 deg = 0.523 mm lower.
    """
    sheet = sheet_of("tasks.wood-carving=1", "wishes.grind=scandi", "wishes.edge_angle_per_side_deg=16")
    p = sheet.proposal
    assert (p.edge_thickness_mm, sheet.set_ups[0].face_angle_deg) == (0, pytest.approx(16, abs=1e-3))
    heel = sheet.places[0]
    assert heel.line_mm - heel.line_before_mm == pytest.approx(0.523, abs=0.02)


def test_places_along_the_blade(service, answered, sheets, polygon_of) -> None:
    for name, sheet in sheets.items():
        p = answered[name].proposal
        blade = followed_blade(service.grinds[p.grind], p)
        for place in sheet.places:
            share = place.from_plunge_mm / p.blade_length_mm
            high = float(blade.side_view.spine(share) - blade.side_view.edge(share)) * p.blade_height_mm
            assert place.height_mm == pytest.approx(high, abs=0.1), name
            assert place.stock_mm == pytest.approx(
                p.stock_thickness_mm - (p.distal_taper or 0) * place.from_plunge_mm, abs=2e-3
            )
            section = polygon_of(blade.at([place.from_plunge_mm]).sections[0])
            top = section.bounds[3]
            assert place.spine_mm == pytest.approx(cut(section, top - 1e-6), abs=6e-3), name
            assert place.line_mm + place.line_below_spine_mm == pytest.approx(place.height_mm, abs=0.011)


def test_flat_and_scribe_lines_agree(answered, sheets) -> None:
    """From both faces or one: what is left between the scribed lines is the flat to leave before hardening.

    The step before has brought the faces down to the blank, so that is what stands on the surface plate; a bar that is
    hardened first has lost its skin by then.
    """
    for name, sheet in sheets.items():
        sides = 2 if answered[name].proposal.side == "both" else 1
        stock, skin = sheet.proposal.stock_thickness_mm, sheet.hardening.skin_per_side_mm
        assert sheet.bar.blank_thickness_mm == pytest.approx(stock + 2 * skin)
        thick = stock if sheet.hardening.ground_hard else stock + 2 * skin
        left = thick - sides * sheet.scribe.from_face_mm
        assert left == pytest.approx(sheet.scribe.apart_mm, abs=2e-3), name
        flat = sheet.set_ups[0].edge_flat_mm
        if sheet.hardening.ground_hard:
            assert sheet.scribe.apart_mm == pytest.approx(flat, abs=2e-3)
        else:
            more = sheet.hardening.edge_before_mm - sheet.proposal.edge_thickness_mm
            assert sheet.scribe.apart_mm == pytest.approx(flat + more, abs=2e-3), name
            assert flat < sheet.scribe.apart_mm
        # A hollow at its deepest there runs on upright and may open again a little.
        more = 0.02 if sheet.set_ups[0].sagitta_mm < 0 else 1e-3
        assert 0 <= flat <= sheet.proposal.edge_thickness_mm + more, f"{name}: faces only close towards the edge"


def test_scribing_a_bar_that_was_thicker(sheets) -> None:
    """A bar of 6 mm for 5.5 of stock: 0.15 off each face to 5.7, and the gauge stands at (5.7 - flat)/2."""
    sheet = sheets["camp-chopper-slack-belt"]
    assert (sheet.bar.thickness_mm, sheet.proposal.stock_thickness_mm) == (6.0, 5.5)
    told = words(sheet)
    assert told.index("0.15 mm off each, to 5.7 mm") < told.index("two lines")
    assert sheet.scribe.from_face_mm == pytest.approx((5.7 - sheet.scribe.apart_mm) / 2, abs=1e-3)


def test_no_skin_out_of_foil(sheet_of, shop) -> None:
    """Hardened without scale the blank is the stock, a bar just that thick serves, and the flats keep their size."""
    heat = shop.heat_treatment.model_copy(update={"skin_per_side_mm": 0.0})
    clean = shop.model_copy(update={"heat_treatment": heat})
    sheet = sheet_of("tasks.heavy-chopping=1", "blade.stock_thickness_mm=5", shop=clean)
    assert sheet.bar.thickness_mm == sheet.bar.blank_thickness_mm == 5.0
    assert "skin" not in words(sheet).split("~ marks an estimate")[0].split("How closely")[0]


def test_belts_leave_less_and_less(sheets, shop) -> None:
    for name, sheet in sheets.items():
        order = [p.hardened for p in sheet.passes]
        assert order == sorted(order), f"{name}: soft before hard"
        for hardened in (False, True):
            left = [p.leaves_per_side_mm for p in sheet.passes if p.hardened is hardened]
            assert left == sorted(left, reverse=True), name
        assert left[-1] == 0
        assert sheet.passes[-1].grade == shop.grits[-1].grade
        sides = sheet.edge.sides
        for p in sheet.passes:
            skin = 0.0 if p.hardened or sides == 2 else sheet.hardening.skin_per_side_mm
            assert p.edge_flat_mm == pytest.approx(
                sheet.set_ups[0].edge_flat_mm + sides * p.leaves_per_side_mm + skin, abs=2e-3
            )
        if not sheet.hardening.ground_hard:
            last = [p for p in sheet.passes if not p.hardened][-1]
            assert last.edge_flat_mm == pytest.approx(sheet.hardening.edge_flat_before_mm, abs=2e-3)


def test_no_line_is_wider_than_the_page(sheets) -> None:
    for name, sheet in sheets.items():
        for width in WIDTHS:
            for inches in (False, True):
                lines = worksheet_text(sheet, width=width, inches=inches).splitlines()
                wide = [line for line in lines if len(line) > width]
                assert not wide, (name, width, wide[:2])
                assert not any(line != line.rstrip() for line in lines)


def words(sheet, **how) -> str:
    return " ".join(worksheet_text(sheet, **how).split())


def test_what_every_maker_has_to_read(sheets) -> None:
    """Common practice: eyes, lungs, fire from sparks, guards, quench; the angle both ways; what is an estimate."""
    for name, sheet in sheets.items():
        p, told = sheet.proposal, words(sheet)
        assert both_angles(p.edge_angle_per_side_deg, p.edge_angle_included_deg) in told, name
        for word in ("safety glasses", "respirator", "sparks", "guard", "local law", "never licence a load"):
            assert word in told, (name, word)
        if not sheet.hardening.ground_hard or "quench" in told.lower():
            assert "quench" in told.lower(), name
        ids = {w.id.split("-")[0] for w in sheet.cautions}
        assert {"edge", "grinding"} <= ids, name
        assert "~ marks an estimate" in told
        assert "invented" in told
        for caution in sheet.cautions:
            if caution.audience in ("everyone", "maker"):
                assert " ".join(caution.text.split()) in told, (name, caution.id)


def test_steps_are_numbered_in_the_order_of_the_work(sheets) -> None:
    """Nothing is scribed on faces that are still to come off: neither a taper nor the skin of a hardened bar."""
    for name, sheet in sheets.items():
        titles = [line for line in worksheet_text(sheet).splitlines() if line[:1].isdigit() and line[1:3] == ". "]
        assert [int(line[0]) for line in titles] == list(range(1, len(titles) + 1)), name
        order = [line[3:] for line in titles]
        assert (order[0], order[-1]) == ("Bar and blank", "Edge")
        hard, scribe = order.index("Harden and temper"), order.index("Scribe")
        if "Distal taper" in order:
            assert order.index("Distal taper") < scribe, name
        if sheet.hardening.ground_hard:
            assert not any("before hardening" in title for title in order), name
            assert hard < scribe < order.index("Primary grind, hardened")
        else:
            assert scribe < order.index("Primary grind, before hardening") < hard < order.index("Grind to size")


def test_inches(sheets) -> None:
    """25.4 mm to the inch, three decimals; not a length in mm is left but for grain, force and sheet units."""
    sheet = sheets["camp-chopper-slack-belt"]
    told = words(sheet, inches=True)
    assert f"{sheet.bar.thickness_mm / 25.4:.3f} in x {sheet.bar.width_mm / 25.4:.3f} in" in told
    assert f"{sheet.proposal.grind_line_mm / 25.4:.3f} in above the edge" in told
    heel = sheet.calipers[0]
    assert f"{sheet.heights_mm[0] / 25.4:.3f} {heel.finished_mm[0] / 25.4:.3f}" in told
    steps = told[: told.index("How closely to keep it")]
    assert " mm" not in steps


def test_one_side(sheets) -> None:
    sheet = sheets["left-handed-saddler"]
    told = words(sheet)
    p = sheet.proposal
    assert (p.side, sheet.edge.sides) == ("left", 1)
    assert p.edge_angle_included_deg == p.edge_angle_per_side_deg
    assert "ground on the left side" in told
    assert "one line" in told
    assert "two lines" not in told
    assert "turn the blank over" not in told, "with one line there is nothing to meet"
    assert "the flat face stays flat" in told


def test_a_swedge_on_one_side_has_its_angle_once(sheet_of) -> None:
    both = sheet_of("tasks.game-dressing=1", "wishes.grind=saber-flat", "blade.swedge=short")
    one = sheet_of("tasks.leather-paring=1", "wishes.grind=chisel", "blade.swedge=short")
    for sheet, sides in ((both, 2), (one, 1)):
        s = sheet.swedge
        assert s.angle_included_deg == sides * s.angle_per_side_deg
        assert f"{both_angles(s.angle_per_side_deg, s.angle_included_deg)}: jig pivot" in words(sheet)
        jig = 200 * math.sin(math.radians(s.angle_per_side_deg))
        assert s.jig_height_mm == pytest.approx(jig, abs=6e-3)


def test_two_zones(sheets) -> None:
    sheet = sheets["guide-prying-tip"]
    assert [s.zone for s in sheet.set_ups] == ["edge zone", "tip zone"]
    told = words(sheet)
    assert "Edge zone: on" in told
    assert "Tip zone: on" in told


HOLLOW = ("tasks.game-dressing=1", "wishes.grind=saber-hollow", "workshop.wheels_mm=250")


def test_the_wheel_is_in_the_shop(sheet_of) -> None:
    sheet = sheet_of(*HOLLOW)
    assert sheet.wheel.in_shop
    assert "250 mm: in the shop" in words(sheet)


def test_no_wheel_in_the_shop(sheet_of) -> None:
    sheet = sheet_of(*HOLLOW, wheels_mm=())
    assert not sheet.wheel.in_shop
    assert sheet.wheel.nearest_mm is None
    assert "the shop lists no wheel" in words(sheet)


def test_only_other_wheels(sheet_of) -> None:
    """The nearest by ratio is named: 350 is 1.4 times 250, 200 is 1.25 of it; a smaller wheel hollows deeper."""
    low = (*HOLLOW, "wishes.grind_line_mm=11")
    sheet = sheet_of(*low, wheels_mm=(200.0, 350.0))
    assert sheet.wheel.nearest_mm == 200
    assert sheet.wheel.nearest_middle_thickness_mm < sheet.wheel.middle_thickness_mm
    told = words(sheet)
    assert "250 mm is not in the shop; the nearest, 200 mm, leaves" in told
    larger = sheet_of(*low, wheels_mm=(350.0,))
    assert larger.wheel.nearest_mm == 350
    assert larger.wheel.nearest_middle_thickness_mm > larger.wheel.middle_thickness_mm


def test_a_wheel_far_too_small_says_why_not(sheet_of) -> None:
    sheet = sheet_of(*HOLLOW, wheels_mm=(20.0,))
    assert sheet.wheel.refused
    assert "20 mm, cannot grind it" in words(sheet)


def test_bars_too_small(sheet_of, shop) -> None:
    material = shop.material.model_copy(update={"thicknesses_mm": (1.0,), "widths_mm": (20.0,)})
    sheet = sheet_of("tasks.heavy-chopping=1", shop=shop.model_copy(update={"material": material}))
    p = sheet.proposal
    assert not sheet.bar.in_shop
    assert sheet.bar.thickness_mm == pytest.approx(p.stock_thickness_mm + 0.2)
    assert sheet.bar.width_mm >= p.blade_height_mm
    assert sheet.bar.length_mm >= p.blade_length_mm + shop.material.tang_length_mm
    assert "larger than any bar that the shop lists" in words(sheet)
    short = shop.material.model_copy(update={"bar_length_mm": 200.0})
    sheet = sheet_of("tasks.heavy-chopping=1", shop=shop.model_copy(update={"material": short}))
    assert not sheet.bar.in_shop


def test_blanks_out_of_a_bar_by_hand(sheets, shop) -> None:
    """1000 mm less 20 in the vice; n blanks take n - 1 cuts of 2 mm: 70 + 110 = 180 mm gives 5 (908), not 6 (1090)."""
    bar = sheets["left-handed-saddler"].bar
    assert (bar.blank_length_mm, bar.blanks_per_bar) == (180, 5)
    # 2 mm of stock and 0.1 of skin a face is 2.2, so the next bar, 2.5 mm.
    assert sheets["left-handed-saddler"].proposal.stock_thickness_mm == 2.0
    assert bar.steel_per_blank_kg == pytest.approx(2.5 * 25 * 1000 * 7.8e-6 / 5)
    for sheet in sheets.values():
        n, blank = sheet.bar.blanks_per_bar, sheet.bar.blank_length_mm
        usable = shop.material.bar_length_mm - shop.material.end_waste_mm
        assert n * blank + (n - 1) * shop.material.kerf_mm <= usable < (n + 1) * blank + n * shop.material.kerf_mm
        assert sheet.bar.thickness_mm == min(
            t for t in shop.material.thicknesses_mm if t >= sheet.proposal.stock_thickness_mm + 0.2 - 1e-9
        )


def test_schema_comes_first(sheets) -> None:
    for sheet in sheets.values():
        data = sheet.as_json()
        assert next(iter(data)) == "schema"
        assert data["schema"] == "bevelwright.worksheet/1"
