"""The loaded rules as a list, and what packs overrule."""

from __future__ import annotations

from collections.abc import Sequence

from recommender.drawing.text.text_page import TextPage
from recommender.packs.knowledge import LoadedRule
from recommender.packs.known_names import KnownName
from recommender.text import plural


def rules_text(
    named: Sequence[LoadedRule],
    mentioning: Sequence[LoadedRule] = (),
    notes: Sequence[str] = (),
    *,
    asked: str = "",
    meant: Sequence[KnownName] = (),
    width: int = 80,
) -> str:
    """Write rules by kind, one a line; below them those that only mention what was asked for.

    `notes` has to be said of packs; `meant` is what the words that were asked for name besides.
    """
    page = TextPage(width)
    for kind in dict.fromkeys(loaded.rule.kind for loaded in named):
        page.heading(kind.capitalize())
        for loaded in named:
            if loaded.rule.kind == kind:
                page.line(f"{loaded.rule.id}: {loaded.rule.title} [{loaded.pack}]", "  ", "    ")
    if mentioning:
        page.heading("Mentioned in" if not named else "Also mentioned in")
    for loaded in mentioning:
        page.line(f"{loaded.rule.id}: {loaded.rule.title} ({loaded.rule.kind}) [{loaded.pack}]", "  ", "    ")
    page.gap()
    found = len(named) + len(mentioning)
    for name in meant:
        page.line(_meaning(name, asked, spoken_of=found > 0))
    if found or not meant:
        page.line(f"{plural(found, 'rule')}. rules show ID tells one in full, rules why ID BRIEF why it fired or not.")
    for line in notes:
        page.line(line, "  - ", "    ")
    return page.text()


def _meaning(name: KnownName, asked: str, *, spoken_of: bool) -> str:
    label = "" if name.label.casefold() == name.id else f" ({name.label})"
    place = f", in {name.place}" if name.place else ""
    silence = "" if spoken_of else "; no rule names it"
    words = f"{name.id} is a {name.kind}{label}{place}{silence}."
    if asked.casefold() != name.id:
        words += f" Rules go by its id: rules list {name.id}."
    if name.follows:
        facts = [
            f"{fact} = {value:g}" if isinstance(value, float) else f"{fact} = {value}"
            for fact, value in name.follows.items()
        ]
        words += f" Rules also ask {', '.join(facts)}: rules list {next(iter(name.follows))}."
    return words
