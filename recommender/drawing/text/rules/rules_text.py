"""The loaded rules as a list, and what packs overrule."""

from __future__ import annotations

from collections.abc import Sequence

from recommender.drawing.text.text_page import TextPage
from recommender.packs.knowledge import LoadedRule
from recommender.text import plural


def rules_text(rules: Sequence[LoadedRule], notes: Sequence[str], *, width: int = 80) -> str:
    """Write rules by kind, one a line, and what has to be said of packs."""
    page = TextPage(width)
    for kind in dict.fromkeys(loaded.rule.kind for loaded in rules):
        page.heading(kind.capitalize())
        for loaded in rules:
            if loaded.rule.kind == kind:
                page.line(f"{loaded.rule.id}: {loaded.rule.title} [{loaded.pack}]", "  ", "    ")
    page.gap()
    page.line(f"{plural(len(rules), 'rule')}. rules show ID tells one in full, rules why ID BRIEF why it fired or not.")
    for line in notes:
        page.line(line, "  - ", "    ")
    return page.text()
