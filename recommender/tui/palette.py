"""What the palette offers: everything that can be done, by name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from textual.app import SystemCommand

if TYPE_CHECKING:
    from recommender.tui.app import BevelwrightApp


def commands(app: BevelwrightApp, tabs: Sequence[tuple[str, str]]) -> Iterable[SystemCommand]:
    """Pages of the answer by (id, title), then everything else."""
    for name, title in tabs:
        yield SystemCommand(f"Show: {title}", "a page of the answer", lambda name=name: app.action_show_tab(name))
    yield SystemCommand("Rulebook", "every rule, why it fired or not; plug-ins", app.action_rulebook)
    yield SystemCommand("Help and glossary", "keys, words, each grind drawn", app.action_help_here)
    yield SystemCommand("Open a brief", "fill the form from a file", app.action_open)
    yield SystemCommand("Save the brief", "to a new file here", app.action_save)
    yield SystemCommand("Save the brief as", "under a name", app.action_save_as)
    kinds = {"txt": "text", "json": "JSON", **{w: w.upper() for w in app.service.registry.writers}}
    for kind, words in kinds.items():
        save: Callable[[], None] = lambda kind=kind: app.action_save_answer(kind)  # type: ignore[misc]  # noqa: E731
        yield SystemCommand(f"Save the answer as {words}", "to a new file here", save)
    for kind, words in (("txt", "text"), ("json", "JSON")):
        copy: Callable[[], None] = lambda kind=kind: app.action_copy_answer(kind)  # type: ignore[misc]  # noqa: E731
        yield SystemCommand(f"Copy the answer as {words}", "to the clipboard", copy)
    yield SystemCommand("Save the quote", "the price on the screen, into the quote book", app.action_save_quote)
    yield SystemCommand("Quote book", "quotes, what became of them, their documents", app.action_quote_book)
    yield SystemCommand("Keep the trial", "to compare it", app.action_keep_trial)
    yield SystemCommand("Buyer or maker", "for whom it answers", app.action_audience)
    yield SystemCommand("Millimetres or inches", "of every length", app.action_inches)
    yield SystemCommand("Dark or light", "colours", app.action_theme_turn)
    yield SystemCommand("Start afresh", "open every field", app.action_afresh)
    yield SystemCommand("Quit", "the form is kept", app.action_quit)
