"""What the palette offers: everything that can be done, by name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from textual.app import SystemCommand
from textual.command import CommandList, CommandPalette

_PLAIN = (
    ("Rulebook", "every rule, why it fired or not; plug-ins", "rulebook"),
    ("Help and glossary", "keys, words, each grind drawn", "help_here"),
    ("Open a brief", "fill the form from a file", "open"),
    ("Save the brief", "to a new file here", "save"),
    ("Save the brief as", "under a name", "save_as"),
)
_AFTER_SAVING = (
    ("Save the quote", "the price on the screen, into the quote book", "save_quote"),
    ("Quote book", "quotes, what became of them, their documents", "quote_book"),
    ("Keep the trial", "to compare it", "keep_trial"),
    ("Search the answer", "for words, on every page", "search"),
    ("Another grind, dotted", "drawn over the proposal, one after the other", "dotted"),
    ("Two blades instead", "one for what goes together, one for the rest", "two_blades"),
    ("Undo", "the last change of the form", "undo"),
    ("Redo", "what was undone last", "redo"),
    ("Buyer or maker", "for whom it answers", "audience"),
    ("Millimetres or inches", "of every length", "inches"),
    ("Dark or light", "colours", "theme_turn"),
    ("Start afresh", "open every field", "afresh"),
    ("Quit", "the form is kept", "quit"),
)
"""Title, help, action of the app."""


class Palette(CommandPalette):
    """Textual's, in which a key that moves a list not laid out yet (or too small to be) ends the program."""

    def _action_command_list(self, action: str) -> None:
        if self.query_one(CommandList).scrollable_content_region:
            super()._action_command_list(action)


def commands(
    action: Callable[..., Callable[[], None]],
    tabs: Sequence[tuple[str, str]],
    writers: Iterable[str],
    left_out: str = "",
    keys: Mapping[str, str] | None = None,
) -> Iterable[SystemCommand]:
    """Pages of the answer by (id, title), then everything else.

    `action` gives what runs an action of the app, by its name and arguments; `writers` are the documents' ids,
    `left_out` is a plug-in that may be blocked, `keys` are what does the same, by action.
    """

    def plain(title: str, about: str, name: str) -> SystemCommand:
        key = (keys or {}).get(name)
        return SystemCommand(title, f"{key}: {about}" if key else about, action(name))

    if left_out:
        yield SystemCommand(f"Block the plug-in {left_out}", "not import it any more", action("block_plugin"))
    for name, title in tabs:
        yield SystemCommand(f"Show: {title}", "a page of the answer", action("show_tab", name))
    for title, about, name in _PLAIN:
        yield plain(title, about, name)
    kinds = {"txt": "text", "json": "JSON", **{writer: writer.upper() for writer in writers}}
    for kind, words in kinds.items():
        yield SystemCommand(f"Save the answer as {words}", "to a new file here", action("save_answer", kind))
    for kind, words in (("txt", "text"), ("json", "JSON")):
        yield SystemCommand(f"Copy the answer as {words}", "to the clipboard", action("copy_answer", kind))
    for title, about, name in _AFTER_SAVING:
        yield plain(title, about, name)
