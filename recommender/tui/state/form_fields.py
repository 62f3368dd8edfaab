"""What can be asked: every field of a brief with its words, its choices and how it is set.

A field's value is text as `--set` takes it; an empty one leaves the field open.
"""

from __future__ import annotations

from dataclasses import dataclass

from recommender.models.brief import Brief
from recommender.service import FORM, Fact, FormRow
from recommender.worker.parts import Catalogue


@dataclass(frozen=True)
class ChoiceField:
    """One of some values; the first, "", leaves the field open."""

    key: str
    label: str
    about: str
    options: tuple[tuple[str, str], ...]
    """(value, words)."""


@dataclass(frozen=True)
class ShareField:
    """A task with its part of the work, 0 to MOST_PARTS."""

    key: str
    label: str
    about: str


@dataclass(frozen=True)
class FlagField:
    """Something that is at hand or not."""

    key: str
    label: str
    about: str


@dataclass(frozen=True)
class NumberField:
    """A number typed in, or nothing."""

    key: str
    label: str
    about: str


@dataclass(frozen=True)
class FieldGroup:
    """Fields that belong together."""

    title: str
    fields: tuple[ChoiceField | ShareField | FlagField | NumberField, ...]


OPEN = ("", "open")
MOST_PARTS = 10


def groups(catalogue: Catalogue) -> list[FieldGroup]:
    """Everything that can be asked, in the order in which it is asked."""
    found: dict[str, list[ChoiceField | ShareField | FlagField | NumberField]] = {}
    for fact in FORM:
        if fact.row is not None:
            found.setdefault(fact.row.group, []).extend(_rows(fact, fact.row, catalogue))
    return [FieldGroup(title, tuple(rows)) for title, rows in found.items()]


def _rows(fact: Fact, row: FormRow, known: Catalogue) -> list[ChoiceField | ShareField | FlagField | NumberField]:
    """One row, or one for each thing that a set may hold."""
    match fact.kind, fact.table:
        case "set", "tasks":
            return [ShareField(f"{fact.key}.{t.id}", t.label, t.meaning) for t in known.tasks]
        case "set", "gear":
            return [FlagField(f"{fact.key}.{g.id}", g.label, g.meaning) for g in known.gear if g.id != "none"]
        case "category", "steels":
            words = [(s.id, s.label) for s in known.steels]
        case "category", "grinds":
            words = [(g.id, g.label) for g in known.grinds]
        case "category", _ if fact.values:
            words = [(value, value) for value in row.options or fact.values]
        case "flag", _:
            words = [("yes", "yes"), ("no", "no")]
        case _:
            return [NumberField(fact.key, row.label, row.about)]
    return [ChoiceField(fact.key, row.label, row.about, (OPEN, *words))]


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
