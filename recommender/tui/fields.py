"""What can be asked: every field of a brief with its words, its choices and how it is set.

A field's value is text as `--set` takes it; an empty one leaves the field open.
"""

from __future__ import annotations

from dataclasses import dataclass

from recommender.models.brief import Brief
from recommender.service import Service


@dataclass(frozen=True)
class Choice:
    """One of some values; the first, "", leaves the field open."""

    key: str
    label: str
    about: str
    options: tuple[tuple[str, str], ...]
    """(value, words)."""


@dataclass(frozen=True)
class Share:
    """A task with its part of the work, 0 to MOST_PARTS."""

    key: str
    label: str
    about: str


@dataclass(frozen=True)
class Flag:
    """Something that is at hand or not."""

    key: str
    label: str
    about: str


@dataclass(frozen=True)
class Number:
    """A number typed in, or nothing."""

    key: str
    label: str
    about: str


@dataclass(frozen=True)
class Group:
    """Fields that belong together."""

    title: str
    fields: tuple[Choice | Share | Flag | Number, ...]


OPEN = ("", "open")
MOST_PARTS = 10


def _words(*values: str) -> tuple[tuple[str, str], ...]:
    return (OPEN, *((value, value) for value in values))


def groups(service: Service) -> list[Group]:
    """Everything that can be asked, in the order in which it is asked."""
    known = service.knowledge
    tasks = tuple(Share(f"tasks.{t.id}", t.label, t.meaning) for t in known.tasks.values())
    gear = tuple(Flag(f"owner.gear.{g.id}", g.label, g.meaning) for g in known.gear.values() if g.id != "none")
    steels = tuple((s.id, s.label) for s in known.steels.values())
    grinds = tuple((g.id, g.label) for g in service.grinds.values())
    return [
        Group("What it has to do", tasks),
        Group("What it is sharpened with", gear),
        Group(
            "Who uses it",
            (
                Choice(
                    "owner.skill",
                    "skill",
                    "How practised the hand is that sharpens it.",
                    _words("beginner", "practised", "expert"),
                ),
                Choice("owner.hand", "hand", "Which hand holds it.", _words("right", "left")),
                Choice(
                    "owner.climate",
                    "climate",
                    "What the blade meets: dry air, wet country or salt water.",
                    _words("dry", "wet", "salt"),
                ),
                Number("owner.use_hours_per_week", "hours a week", "How long it is used in a week."),
            ),
        ),
        Group(
            "Steel",
            (
                Choice("steel.grade", "steel", "By standard designation.", (OPEN, *steels)),
                Number("steel.hardness_hrc", "hardness, HRC", "Rockwell C as hardened and tempered."),
            ),
        ),
        Group(
            "The blade",
            (
                Number("blade.length_mm", "length, mm", "From plunge line to tip."),
                Number("blade.height_mm", "height, mm", "From edge to spine."),
                Number("blade.stock_thickness_mm", "stock, mm", "Thickness of the bar."),
                Number(
                    "blade.distal_taper_mm_per_mm",
                    "distal taper, mm/mm",
                    "Stock lost for each mm of length from handle to tip; 0 keeps it.",
                ),
                Choice(
                    "blade.profile",
                    "side view",
                    "How edge and spine run to the tip.",
                    _words("straight-back", "drop", "clip", "straight-edge", "trailing"),
                ),
                Choice(
                    "blade.swedge",
                    "swedge",
                    "A blunt bevel beside the spine, from the tip backwards.",
                    _words("none", "short", "long"),
                ),
            ),
        ),
        Group(
            "For a maker: the shop, and what is decided",
            (
                Choice("workshop.platen", "platen", "For flat grinds.", _words("yes", "no")),
                Choice(
                    "workshop.slack_belt",
                    "slack belt",
                    "For convex grinds.",
                    _words("yes", "no"),
                ),
                Number("workshop.wheels_mm", "wheels, mm", "Diameters of the contact wheels, such as 50,100,250."),
                Number(
                    "workshop.wheel_hardness_shore_a",
                    "wheel rubber, Shore A",
                    "A soft wheel cuts like a larger hard one.",
                ),
                Choice("wishes.grind", "grind wished", "Kept whatever the others would bring.", (OPEN, *grinds)),
                Number("wishes.edge_angle_per_side_deg", "edge, ° per side", "Of each ground face."),
                Number("wishes.edge_thickness_mm", "behind the edge, mm", "Thickness at the shoulder."),
                Number("wishes.grind_line_mm", "grind line, mm", "Height above the edge."),
                Number("title", "title", "What this brief is called on paper and in files."),
            ),
        ),
    ]


def settings(values: dict[str, str]) -> list[str]:
    """Field values as `--set` takes them: gear flags become one list, open fields are left out."""
    gear = [key.rsplit(".", 1)[1] for key, value in values.items() if key.startswith("owner.gear.") and value]
    out = [f"{key}={value}" for key, value in values.items() if value and not key.startswith("owner.gear.")]
    return [*out, f"owner.gear={','.join(gear)}"] if gear else out


def values_of(brief: Brief) -> dict[str, str]:
    """The fields of the form that say the same as a brief."""
    out: dict[str, str] = {}
    most = max(brief.tasks.values(), default=0.0)
    for task, share in brief.tasks.items():
        if share > 0:
            parts = share / most * MOST_PARTS if most > MOST_PARTS or share != int(share) else share
            out[f"tasks.{task}"] = f"{parts:.6g}"
    if brief.title is not None:
        out["title"] = brief.title
    for table in ("steel", "owner", "blade", "workshop", "wishes"):
        for name, value in getattr(brief, table).model_dump(exclude_none=True).items():
            key = f"{table}.{name}"
            if key == "owner.gear":
                out |= {f"owner.gear.{gear}": "1" for gear in value}
            else:
                out[key] = _text(value)
    return out


def _text(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (tuple, list)):
        return ",".join(_text(v) for v in value)
    return f"{value:.12g}" if isinstance(value, float) else str(value)
