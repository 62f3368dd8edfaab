"""The fields of a brief, in the order in which the form asks for them.

Kind, values and bounds are those of the model of a brief.
"""

from __future__ import annotations

from functools import reduce
from typing import Any, get_args

from recommender.models.brief import Hand
from recommender.models.brief_fields import BRIEF_FIELDS, FieldType
from recommender.packs.condition_boxes import Numbers
from recommender.packs.facts.fact import MORE_THAN_0, Default, Fact, FormRow, Kind, Levels
from recommender.packs.facts.reading import WholeBrief
from recommender.packs.knowledge import Knowledge

_KINDS: dict[FieldType, Kind] = {
    "number": "number",
    "numbers": "set",
    "flag": "flag",
    "text": "category",
    "names": "set",
    "shares": "set",
}


def _field(key: str, about: str | None, row: FormRow, **more: Any) -> Fact:
    """A field of a brief; its value is what the brief made whole says, where nothing else is stated."""
    of_model = BRIEF_FIELDS[key]

    def stated(whole: WholeBrief) -> Any:
        return reduce(getattr, key.split("."), whole.brief)

    known = {"values": of_model.values, "range": Numbers(*of_model.bounds), "from_brief": stated}
    return Fact(f"brief.{key}", about, _KINDS[of_model.type], row=row, **{**known, **more})


def _hardness(knowledge: Knowledge) -> Numbers:
    """What a brief may state, and what is usual for some steel where it states nothing."""
    usual = [steel.hardness.usual_hrc for steel in knowledge.steels.values()]
    stated = BRIEF_FIELDS["steel.hardness_hrc"].bounds
    return Numbers(min(*stated, *usual), max(*stated, *usual))


_OWNER = "Who uses it"
_STEEL = "Steel"
_BLADE = "The blade"
_MAKER = "For a maker: the shop, and what is decided"
FORM = (
    _field(
        "tasks",
        "tasks of the brief (limits and cautions: from a share of 0.1)",
        FormRow("What it has to do"),
        table="tasks",
        from_brief=lambda whole: whole.task_ids,
    ),
    _field(
        "owner.gear",
        "sharpening gear at hand",
        FormRow("What it is sharpened with"),
        table="gear",
        from_brief=lambda whole: frozenset(gear.id for gear in whole.gear),
        default=Default(lambda packs: packs.gear, "assumed where nothing is said"),
        levels=Levels(2),
    ),
    _field(
        "owner.skill",
        "skill at sharpening",
        FormRow(_OWNER, "skill", "How practised the hand is that sharpens it."),
        default=Default(lambda packs: packs.skill, "the safer assumption"),
        levels=Levels(8),
        tell_apart=True,
    ),
    _field(
        "owner.hand",
        "hand",
        FormRow(_OWNER, "hand", "Which hand holds it.", tuple(reversed(get_args(Hand)))),
        default=Default(lambda packs: packs.hand, "more common"),
        levels=Levels(11),
    ),
    _field(
        "owner.climate",
        "climate",
        FormRow(_OWNER, "climate", "What the blade meets: dry air, wet country or salt water."),
        default=Default(lambda packs: packs.climate, "assumed where nothing is said"),
        levels=Levels(9),
        tell_apart=True,
    ),
    _field(
        "owner.use_hours_per_week",
        "use, hours per week",
        FormRow(_OWNER, "hours a week", "How long it is used in a week."),
        default=Default(lambda packs: packs.use_hours_per_week, "an ordinary amount"),
        levels=Levels(10, (0.5, 20)),
    ),
    _field(
        "steel.grade",
        "steel",
        FormRow(_STEEL, "steel", "By standard designation."),
        table="steels",
        from_brief=lambda whole: whole.steel.id,
        levels=Levels(1),
    ),
    _field(
        "steel.hardness_hrc",
        "hardness, HRC",
        FormRow(_STEEL, "hardness, HRC", "Rockwell C as hardened and tempered."),
        range=_hardness,
        from_brief=lambda whole: whole.hardness_hrc,
        levels=Levels(4, (52, 58, 62, 67)),
    ),
    _field(
        "blade.length_mm",
        "blade length, mm",
        FormRow(_BLADE, "length, mm", "From plunge line to tip."),
        range=MORE_THAN_0,  # where it is left open, tasks say what is usual
    ),
    _field(
        "blade.height_mm",
        "blade height, mm",
        FormRow(_BLADE, "height, mm", "From edge to spine."),
        range=MORE_THAN_0,
        levels=Levels(6, (14, 26, 50)),
    ),
    _field(
        "blade.stock_thickness_mm",
        None,
        FormRow(_BLADE, "stock, mm", "Thickness of the bar."),
        levels=Levels(5, (1.5, 3, 6, 9)),
    ),
    _field(
        "blade.distal_taper_mm_per_mm",
        None,
        FormRow(_BLADE, "distal taper, mm/mm", "Stock lost for each mm of length from handle to tip; 0 keeps it."),
    ),
    _field(
        "blade.profile",
        "profile, where the brief decides it",
        FormRow(_BLADE, "side view", "How edge and spine run to the tip."),
        may_be_unknown=True,
        levels=Levels(3),
    ),
    _field("blade.swedge", None, FormRow(_BLADE, "swedge", "A blunt bevel beside the spine, from the tip backwards.")),
    _field(
        "workshop.platen",
        "the workshop has a platen",
        FormRow(_MAKER, "platen", "For flat grinds."),
        from_brief=lambda whole: whole.workshop.platen,
        default=Default(lambda packs: True, "a common workshop"),
        levels=Levels(7, ("no",)),
    ),
    _field(
        "workshop.slack_belt",
        "the workshop has a slack belt",
        FormRow(_MAKER, "slack belt", "For convex grinds."),
        from_brief=lambda whole: whole.workshop.slack_belt,
        default=Default(lambda packs: True, "a common workshop"),
        levels=Levels(7, ("no",)),
    ),
    _field(
        "workshop.wheels_mm",
        None,
        FormRow(_MAKER, "wheels, mm", "Diameters of the contact wheels, such as 50,100,250."),
        default=Default(lambda packs: packs.wheels_mm, "contact wheels in common use"),
        levels=Levels(7, ("",)),
    ),
    _field(
        "workshop.wheel_hardness_shore_a",
        None,
        FormRow(_MAKER, "wheel rubber, Shore A", "A soft wheel cuts like a larger hard one."),
        default=Default(lambda packs: None, "wheels taken as hard"),
    ),
    _field(
        "wishes.grind",
        None,
        FormRow(_MAKER, "grind wished", "Kept whatever the others would bring."),
        table="grinds",
    ),
    _field("wishes.edge_angle_per_side_deg", None, FormRow(_MAKER, "edge, ° per side", "Of each ground face.")),
    _field("wishes.edge_thickness_mm", None, FormRow(_MAKER, "behind the edge, mm", "Thickness at the shoulder.")),
    _field("wishes.micro_bevel", None, FormRow(_MAKER, "micro-bevel", "A tiny steeper bevel at the very edge.")),
    _field("wishes.grind_line_mm", None, FormRow(_MAKER, "grind line, mm", "Height above the edge.")),
    _field("title", None, FormRow(_MAKER, "title", "What this brief is called on paper and in files.")),
)
