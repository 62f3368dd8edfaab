"""The line under the form: the blade in few words and what the last change did to it, or why there is no answer."""

from __future__ import annotations

import re
from collections.abc import Iterable

from recommender.drawing.lengths import Lengths
from recommender.drawing.text.answer.parameters_text import behind_edge
from recommender.models.answer.proposal import Proposal
from recommender.tui.state.form_fields import FieldGroup

_OF_A_FIELD = re.compile(r"^(?:--set|brief): ([\w.-]+): (.*)$", re.DOTALL)


def answer_line(now: Proposal | None, before: Proposal | None, changed: str, lengths: Lengths) -> str:
    """Grind, edge and stock; where they were others before, what they were, and after which change.

    >>> answer_line(None, None, "", Lengths())
    'Nothing fits; what would help stands under Blade (f2).'
    """
    if now is None:
        return "Nothing fits; what would help stands under Blade (f2)."
    words, old = _words(now, lengths), {} if before is None else _words(before, lengths)
    was = [old[name] for name in words if name in old and old[name] != words[name]]
    line = ", ".join(words.values())
    if not was:
        return f"{line}; unchanged by {changed}" if changed and before is not None else line
    return f"{line}; was {', '.join(was)}" + (f" before {changed}" if changed else "")


def _words(p: Proposal, lengths: Lengths) -> dict[str, str]:
    side = "" if p.side == "both" else f" on the {p.side} side"
    each, both = f"{p.edge_angle_per_side_deg:g}", f"{p.edge_angle_included_deg:g}"
    return {
        "grind": p.grind_label + side,
        "edge": f"{each} degrees a side, {both} in all" if p.side == "both" else f"{both} degrees",
        "behind": behind_edge(p, lengths),
        "stock": f"{lengths(p.stock_thickness_mm)} stock",
    }


def field_words(key: str, value: str, groups: Iterable[FieldGroup]) -> str:
    """A field as the form calls it, with its value where that is no mere mark.

    An unknown key stands as it is.
    """
    label = _labels(groups).get(key, key)
    return f"{label} {value}" if value and not key.startswith(("owner.gear.", "tasks.")) else label


def refusal_line(words: str, groups: Iterable[FieldGroup]) -> str:
    """Why the form cannot be answered, in the form's words instead of the command line's."""
    found = _OF_A_FIELD.match(words)
    label = _labels(groups).get(found[1]) if found else None
    return f"{label}: {found[2]}" if found and label else words


def _labels(groups: Iterable[FieldGroup]) -> dict[str, str]:
    return {field.key: field.label for group in groups for field in group.fields}
