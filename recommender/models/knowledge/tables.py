"""Tables that packs supply: tasks, materials, gear, steels."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import ConfigDict, Field, model_validator

from recommender.models.base import Basis, Finite, Id, Model, NotNegative, Positive, Quantity, Range, Text
from recommender.models.brief import Profile

Surface = Literal["edge-bevel", "zero-facet", "one-sided"]
"""What a sharpening tool must be able to work: a small bevel, a wide facet laid flat, one side only."""


class SplitLoad(Model):
    """A piece split along: `length_mm` long, each arm `arm_mm` thick; both need a splitting material."""

    length_mm: Positive
    arm_mm: Positive
    basis: Basis


Split = SplitLoad  # its name in 0.1


class Envelope(Model):
    """The blade a task implies where the brief leaves it open, mm."""

    stock_thickness_mm: Range
    one_sided_stock_thickness_mm: Range | None = None
    """Of a blade ground on one side, where the trade takes another bar for it."""
    height_mm: Positive
    length_mm: Positive
    profile: Profile
    basis: Basis


class UsualBlade(Model):
    """The blade that the trade takes for a task, each number with the band of what is seen: a measure for others.

    Knobs of its grind that are not told are taken at their middle, or as the first choice.
    """

    grind: Id
    stock_thickness_mm: Quantity
    height_mm: Quantity
    length_mm: Quantity | None = None
    """Where it matters; absent: that of the envelope."""
    grind_line_share: Quantity | None = None
    """Of a grind whose line lies below the spine: its height over that of the blade."""
    edge_angle_per_side_deg: Quantity
    """Its band is the usual range."""
    edge_thickness_mm: Quantity | None = None
    """Its band is the usual range; absent where it is ground to zero."""
    steel: Id
    hardness_hrc: Quantity
    gear: Annotated[tuple[Id, ...], Field(min_length=1)]
    """With which it is sharpened, in practised hands."""


class HardContact(Model):
    """Something hard that strokes of a task meet: a board, a joint, a staple, a stone."""

    with_: Text = Field(alias="with")
    """What is met, as a noun with its article."""
    pressure_mpa: Quantity
    """Pressure with which it resists being dented: its hardness."""
    friction: Quantity
    one_sided_share: Quantity
    """Share of that pressure that one flank of the edge meets and the other does not: strokes lean and twist."""
    energy_mj: Quantity
    """Energy of the stroke that is left when it gets there."""
    contact_mm: Quantity
    """Length of edge that meets it."""
    hand_n_per_mm: Quantity
    """Stiffness of hand and blade behind the edge."""
    share_of_strokes: Quantity
    """Share of strokes that meet it."""


class Task(Model):
    """What a blade has to do, as numbers that the mechanics can use."""

    id: Id
    label: Text
    meaning: Text
    """One line in plain words for somebody who knows nothing about blades."""
    blade_name: Text = "knife"
    """What a blade for it is called in a shop."""
    list_place: Annotated[int, Field(ge=1, le=1000)] = 1000
    """Where it stands in lists to choose from: what most people ask for comes first; among equals by label."""
    words: tuple[Text, ...] = ()
    """Everyday words that people type for it."""
    essentials: tuple[Id, ...] = ()
    """Metrics of what it cannot do without: where a goal on one is not met, no other makes up for it."""
    material: Id
    cut_depth_mm: Quantity | None = None
    """Depth to which the blade sinks into the material; absent where nothing is cut."""
    slice_push_ratio: Quantity | None = None
    """Speed along the edge over speed across it, xi."""
    stroke_mm: Positive = 100.0
    slice_is_free: bool = False
    """The slice bends away on one side and no longer presses on the blade."""
    slice_thickness_mm: Positive | None = None
    side_load_n_per_mm: Quantity
    """Sideways load that a millimetre of edge has to bear."""
    side_load_n: Quantity
    """Sideways load on a short stretch (2 mm) of edge."""
    edge_nick_um: Quantity | None = None
    """Nicks that blows, bone or stones leave in an edge: the flaw from which it then cracks."""
    hard_contacts: tuple[HardContact, ...] = ()
    """What is hard in the work or under it, met by some strokes or all."""
    pry_moment_n_m: Quantity | None = None
    """Sideways moment that the blade has to bear."""
    thickest_edge_mm: Positive
    """Thickness behind the edge beyond which the task goes badly: the blade then wants thinning."""
    softer_hrc: NotNegative = 0.0
    """How much softer than usual for its steel a blade for this is tempered."""
    split: SplitLoad | None = None
    envelope: Envelope
    usual_blade: UsualBlade | None = None
    """What goals that are `of_usual` are measured against; absent: there are none for this task."""
    basis: Basis


class Splitting(Model):
    """Fracture energy where a material cracks ahead of a wedge."""

    gc_j_per_m2: Quantity
    along_over_shear: Quantity | None = None
    """Young's modulus along the crack over the shear modulus; absent: as in soft food, 3."""
    across_over_along: Quantity | None = None
    """Young's modulus across the crack over that along it; absent: alike, 1."""


class Material(Model):
    """A cut material for the elastic-foundation model of cutting."""

    id: Id
    label: Text
    about: Text
    toughness_j_per_m2: Quantity
    foundation_n_per_mm3: Quantity
    plateau_mpa: Quantity
    friction: Quantity
    youngs_modulus_mpa: Quantity
    edge_recession_um: Quantity | None = None
    """How far it has worn back an edge of 40 degrees included, half way between two sharpenings; absent: 8."""
    splits: Splitting | None = None


class FinerGrit(Model):
    """A stone or belt that follows a coarser one."""

    scratches_um: Quantity
    """Depth of the scratches that the one before left, which it has to take off."""
    removal_mm3_per_min: Quantity


class Gear(Model):
    """Sharpening equipment: what it can work, how fast, how fine."""

    model_config = ConfigDict(
        json_schema_extra={
            "if": {"properties": {"surfaces": {"minItems": 1}}},
            "then": {"required": ["removal_mm3_per_min"]},
        }
    )

    id: Id
    label: Text
    meaning: Text
    words: tuple[Text, ...] = ()
    surfaces: tuple[Surface, ...]
    thins: bool
    """Can take the primary grind down when the shoulder has grown thick."""
    fixed_angle_per_side_deg: Positive | None = None
    """A gear that sets its own angle."""
    removal_mm3_per_min: Quantity | None = None
    setup_minutes: NotNegative = 0.0
    finishing_minutes: NotNegative = 0.0
    """The burr, by stropping or ever lighter strokes, for 150 mm of plain steel in practised hands; finer grits with
    it where `finer_grits` does not tell them."""
    finer_grits: tuple[FinerGrit, ...] = ()
    """Those after the one that `removal_mm3_per_min` speaks of, coarse to fine."""
    apex_radius_um: Quantity
    """Radius of the apex as it comes off this gear and is kept in use."""
    scratch_um: Quantity
    """Depth of the last scratches: the flaw from which an edge cracks."""
    freehand: bool
    """The owner's hand holds the angle, so it wanders with skill."""
    angle_wander_deg: NotNegative
    """How far the angle wanders per side, freehand in practised hands."""
    basis: Basis

    @model_validator(mode="after")
    def _sharpens_with_a_rate(self) -> Gear:
        if self.surfaces and self.removal_mm3_per_min is None:
            raise ValueError("removal_mm3_per_min for a gear that works a surface")
        return self


class Hardness(Model):
    """Rockwell C as hardened and tempered for blades."""

    low_hrc: Positive
    usual_hrc: Positive
    high_hrc: Positive
    basis: Basis

    @model_validator(mode="after")
    def _ordered(self) -> Hardness:
        if not self.low_hrc <= self.usual_hrc <= self.high_hrc:
            raise ValueError("low_hrc <= usual_hrc <= high_hrc")
        return self


class Carbides(Model):
    """Carbide and nitride volumes of the hardened and tempered steel, volume percent."""

    Fe3C: NotNegative = 0.0
    CrC: NotNegative = 0.0
    CrVC: NotNegative = 0.0
    MC: NotNegative = 0.0
    M6C: NotNegative = 0.0
    MN: NotNegative = 0.0
    CrN: NotNegative = 0.0
    relative_band: Annotated[float, Field(ge=0, le=1)]
    basis: Basis


class Toughness(Model):
    """Plane-strain fracture toughness at the usual hardness and its fall with hardness."""

    class_: Literal["low", "medium", "high", "very-high"] = Field(alias="class")
    k_ic_mpa_sqrt_m: Quantity
    k_ic_slope_per_hrc: Finite


class Corrosion(Model):
    """How readily the steel stains or rusts."""

    class_: Literal["rusts", "stains", "resistant", "very-resistant"] = Field(alias="class")
    basis: Basis


class Steel(Model):
    """A steel by its standard designation."""

    id: Id
    label: Text
    names: tuple[Text, ...]
    family: Literal["carbon", "low-alloy", "tool", "high-speed", "stainless"]
    about: Text
    temper_c: Annotated[float, Field(ge=100, le=700)] = 180.0
    """Usual tempering temperature, degrees C: hotter than this in grinding, the edge goes soft; common practice."""
    composition: dict[str, tuple[NotNegative, NotNegative]]
    composition_basis: Basis
    hardness: Hardness
    carbides: Carbides
    toughness: Toughness
    corrosion: Corrosion

    @property
    def pren(self) -> float | None:
        """Pitting resistance Cr + 3.3 Mo + 16 N (mass %) at mid-range; None unless stainless, where alone it ranks.

        Source: common formula (seen).
        """
        if self.family != "stainless":
            return None

        def middle(element: str) -> float:
            low, high = self.composition.get(element, (0.0, 0.0))
            return (low + high) / 2

        return middle("Cr") + 3.3 * middle("Mo") + 16 * middle("N")
