"""Help: what the cursor is on, the keys, and the glossary."""

from __future__ import annotations

from collections.abc import Sequence

from textual.binding import Binding

from recommender.drawing.text.rules.glossary_text import glossary_text
from recommender.drawing.text.text_page import TextPage
from recommender.tui.state.keys_file import KEYS, keys_folder
from recommender.worker.parts import GrindWords

_SIGNS = {"question_mark": "?", "slash": "/"}
_MOVING = (
    ("tab, shift+tab", "to the next field or part, and back"),
    ("left, right", "change the field, or move a dimension of the trial"),
    ("backspace", "leave the field open again, or put the dimension back"),
    ("up, down", "to the field, row or line above or below; elsewhere scroll"),
    ("letters, digits, ?", "count outside boxes to type in"),
    ("enter", "on a reason under Why: its rule; on a field of many choices: the list of them, searched as one types"),
    ("/", "in the rulebook and the quote book too: search"),
    ("1 to 9, 0", "to a page of the answer, in their order  [page-1 to page-10]"),
    ("ctrl+p", "everything that can be done, by name"),
)


def help_text(
    grinds: Sequence[GrindWords], here: str, bindings: Sequence[Binding], named: Sequence[Binding], width: int
) -> str:
    """Everything on one page; of all keys that are `named` those of `bindings` with what they do."""
    page = TextPage(width)
    page.line("Help (esc goes back)")
    if here:
        page.gap()
        page.line(f"Where you are: {here}")
    page.heading("How it goes")
    page.line(
        "Say what the blade has to do, in parts of the work; leave open what you do not know. The answer follows as "
        "you change the form. Nothing has to be filled in.",
        "  ",
    )
    page.heading("Keys")
    for binding in bindings:
        if not str(binding.id).startswith("page-"):
            keys = ", ".join(_SIGNS.get(key, key) for key in binding.key.split(","))
            page.row(keys, f"{binding.description}  [{binding.id}]")
    for key, does in _MOVING:
        page.row(key, does)
    page.gap()
    page.line(f'Other keys: write lines such as save = "f11", by the names in brackets, to {keys_folder() / KEYS}')
    own = {binding.id for binding in bindings}
    rest = [f"{b.id} ({', '.join(_SIGNS.get(key, key) for key in b.key.split(','))})" for b in named if b.id not in own]
    page.line(f"The keys of rows and of the other screens have names too: {', '.join(rest)}.")
    page.gap()
    return page.text() + "\n" + glossary_text([(grind, grind.outline, grind.line_mm) for grind in grinds], width)
