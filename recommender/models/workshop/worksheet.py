"""The set-up sheet: everything a maker sets, scribes, measures and checks on the way from bar to blade."""

from __future__ import annotations

from typing import Any, Literal

from recommender.models.answer.proposal import Proposal, Tolerance, WalkedUp, Words
from recommender.models.base import Model

SCHEMA: Literal["bevelwright.worksheet/1"] = "bevelwright.worksheet/1"
Tool = Literal["platen", "wheel", "slack belt"]
Zone = Literal["whole blade", "edge zone", "tip zone"]


class Bar(Model):
    """The bar to order and what comes out of it."""

    thickness_mm: float
    width_mm: float
    length_mm: float
    blank_length_mm: float
    """Blade and tang."""
    blanks_per_bar: int
    steel_per_blank_kg: float
    """Of the bar, waste shared out."""
    blank_thickness_mm: float
    """To harden: the blade's stock and what its skin takes off."""
    clean_up_per_side_mm: float
    """From the bar's thickness to that, each face; 0 where the bar is just that thick."""
    in_shop: bool
    """The shop buys bars that thick and wide; else these are the blade's own sizes."""


class Removed(Model):
    """Steel that comes off, mm3."""

    profile_mm3: float
    clean_up_mm3: float
    taper_mm3: float
    primary_mm3: float
    swedge_mm3: float
    edge_mm3: float
    back_mm3: float = 0.0
    ground_g: float
    """All but the outline."""


class WheelChange(Model):
    """What the shop's nearest wheel changes on the blade."""

    diameter_mm: float
    in_shop: bool
    nearest_mm: float | None
    """None where the shop has no wheel at all."""
    refused: tuple[str, ...]
    """Why the nearest cannot grind it."""
    broken: tuple[str, ...]
    """Limits that it breaks, by title."""
    points_lost: float | None
    middle_thickness_mm: float | None
    """Thickness half-way up the hollow as proposed."""
    nearest_middle_thickness_mm: float | None
    nearest_grind_line_mm: float | None


class SetUp(Model):
    """One setting of the grinder, for one zone of the blade."""

    zone: Zone
    tool: Tool
    wheel_diameter_mm: float | None
    chord_from: Literal["shoulder", "edge"] = "shoulder"
    """The edge where there is no shoulder: ground to zero, or edge bevel and primary grind are one."""
    face_angle_deg: float
    """Of the straight line from there to the grind line against the blade's plane, each ground side."""
    jig_length_mm: float
    jig_height_mm: float
    """How far the jig's pivot stands off the line of contact: jig length x sin(face angle)."""
    depth_per_side_mm: float
    """From the blade's face down to that end, each ground side, finished."""
    primary_height_mm: float
    """From that end to the grind line."""
    sagitta_mm: float
    """How far the face bulges out of its chord; below 0 it is hollowed."""
    edge_flat_mm: float
    """Flat along the edge before it is sharpened, finished."""


class Caliper(Model):
    """What calipers read at heights above the edge at one place along the blade; None above the grind."""

    label: str
    from_plunge_mm: float
    finished_mm: tuple[float | None, ...]
    before_mm: tuple[float | None, ...]
    """Before hardening; all None where it is ground after hardening."""


class Place(Model):
    """One place along the blade."""

    from_plunge_mm: float
    height_mm: float
    stock_mm: float
    """Thickness of the bar there."""
    line_mm: float
    """Grind line above the local edge."""
    line_below_spine_mm: float
    """0 where it has run out at the spine."""
    spine_mm: float
    """Thickness of the spine itself: less than the stock under a swedge or where the grind reaches it."""
    line_before_mm: float | None
    """Grind line above the local edge before hardening, with all that is left on; None where it is ground after."""
    spine_before_mm: float | None
    """The spine before hardening, no swedge counted."""


class Scribe(Model):
    """Lines on the edge of the blank."""

    from_face_mm: float
    """Height gauge on each face that is ground, the bar by then down to its stock: the line is so far from it."""
    apart_mm: float
    """Between the two lines, or from the flat face to the line: flat to leave before hardening (or finished)."""


class Hardening(Model):
    """What to leave for scale and warp, and how cool to grind afterwards."""

    ground_hard: bool
    """Stock this thin is hardened as a flat bar and ground afterwards."""
    edge_before_mm: float
    edge_flat_before_mm: float
    """Flat along the edge to leave before hardening."""
    skin_per_side_mm: float
    warp_mm: float
    after_per_side_mm: float
    """Left on each ground side for after hardening, its skin counted."""
    after_mm: float
    """Left on both faces together."""
    deepest_cool_pass_um: float


class Pass(Model):
    """One belt over the primary grind."""

    grade: str
    grain_um: float
    hardened: bool
    leaves_per_side_mm: float
    """Above the finished face."""
    edge_flat_mm: float
    """What the flat along the edge then reads."""


class EdgeSetUp(Model):
    """Sharpening."""

    angle_per_side_deg: float
    angle_included_deg: float
    sides: int
    arm_mm: float
    fixture_height_mm: float
    """Of the pivot above the blade's plane: arm x sin(angle per side)."""
    bevel_width_mm: float
    """Along the face; the whole facet where it is ground to zero."""
    micro_bevel_per_side_deg: float | None
    micro_fixture_height_mm: float | None
    micro_bevel_width_mm: float | None = None
    """Along the face; None where there is none."""


class BackSetUp(Model):
    """The hollow in the back of a one-sided blade."""

    rim_mm: float
    """Left flat along edge and spine."""
    depth_mm: float
    """In its middle, at the plunge line."""
    radius_mm: float
    wheel_diameter_mm: float | None
    """The largest wheel here that fits into it; None where none does."""
    walked: bool
    """The wheel is smaller than the hollow: it is led up and down across it."""


class SwedgeSetUp(Model):
    """The bevel beside the spine."""

    length_mm: float
    angle_per_side_deg: float
    angle_included_deg: float
    spine_mm: float
    jig_height_mm: float


class Fitting(Model):
    """What is done to the blade besides its grind, as the shop offers it."""

    kind: Literal["finish", "handle", "sheath"]
    label: str
    minutes: float | None
    """A piece; None where it goes by the size of the blade."""


class Worksheet(Model):
    """The set-up sheet of one blade."""

    schema_: Literal["bevelwright.worksheet/1"] = SCHEMA
    title: str
    steel: str
    hardness_hrc: float
    temper_c: float
    """Tempering temperature, degrees C."""
    proposal: Proposal
    bar: Bar
    tang_length_mm: float = 0.0
    tang_width_mm: float = 0.0
    removed: Removed
    set_ups: tuple[SetUp, ...]
    wheel: WheelChange | None
    walked_up: WalkedUp | None = None
    scribe: Scribe
    plunge_radius_mm: float
    heights_mm: tuple[float, ...]
    """Above the edge, where calipers are set."""
    calipers: tuple[Caliper, ...]
    places: tuple[Place, ...]
    taper_in_grind: bool
    hardening: Hardening
    passes: tuple[Pass, ...]
    edge: EdgeSetUp
    swedge: SwedgeSetUp | None
    back: BackSetUp | None = None
    fittings: tuple[Fitting, ...] = ()
    balance_mm: float
    mass_g: float
    tolerances: tuple[Tolerance, ...]
    cautions: tuple[Words, ...]
    advice: tuple[Words, ...]
    shop_values: Literal["invented", "own"]

    def as_json(self) -> dict[str, Any]:
        """The sheet as JSON data, `schema` first."""
        data = self.model_dump(mode="json", by_alias=True)
        return {"schema": data.pop("schema_"), **data}
