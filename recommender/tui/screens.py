"""Screens over the answer: the rulebook, help with the glossary, and a line to type a file's name in."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen, Screen
from textual.widgets import Footer, Input, OptionList, Static
from textual.widgets.option_list import Option

from recommender.drawing.rule_text import rule_text
from recommender.engine.rulings import STATES, Ruling
from recommender.plugin.api import Metric
from recommender.service import PluginTold
from recommender.text import plural
from recommender.tui.form_rows import Box
from recommender.tui.page import Part, literal

MARKS = {"fired": "●", "silent": "○", "blocked": "–"}
SHOWN = ("all", *STATES, "plug-ins")


class Rulebook(Screen[None]):
    """Every loaded rule before this answer, searched and filtered, and the plug-ins."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back", id="rulebook.back"),
        Binding("slash", "search", "Search", id="rulebook.search"),
        Binding("f9", "filter", "Fired / silent / blocked", id="rulebook.filter"),
    ]

    def __init__(
        self, rulings: list[Ruling], metrics: dict[str, Metric], plugins: list[PluginTold], rule: str | None = None
    ) -> None:
        super().__init__()
        self.rulings, self.metrics, self.plugins, self.wanted = rulings, metrics, plugins, rule
        self.filter = "all"
        self.listed: list[Ruling] = []
        self.told: list[PluginTold] = []

    def compose(self) -> ComposeResult:
        """Search, list, and the rule that is marked."""
        yield Static("", id="rule-state")
        yield Box(placeholder="search in ids, titles, reasons and sources", compact=True, id="rule-search")
        with Horizontal(id="rulebook"):
            yield OptionList(id="rule-list", markup=False)
            yield Part(id="rule-text")
        yield Footer()

    def on_mount(self) -> None:
        """List everything, or go to the rule that was asked for."""
        self.refill()
        listed = self.query_one("#rule-list", OptionList)
        listed.focus()
        ids = [r.loaded.rule.id for r in self.listed]
        if self.wanted in ids:
            listed.highlighted = ids.index(str(self.wanted))
            listed.scroll_to_highlight()

    def refill(self) -> None:
        """List what the filter and the search leave."""
        sought = self.query_one("#rule-search", Input).value.strip().lower()
        listed = self.query_one("#rule-list", OptionList)
        listed.clear_options()
        counts = ", ".join(f"{sum(r.state == s for r in self.rulings)} {s}" for s in STATES)
        failed = sum(1 for plugin in self.plugins if plugin.failed)
        broken = f", {plural(failed, 'plug-in')} with failures" if failed else ""
        if self.filter == "plug-ins":
            self.listed = []
            self.told = [plugin for plugin in self.plugins if sought in plugin.text.lower()]
            listed.add_options([Option(literal(plugin.name)) for plugin in self.told])
        else:
            self.listed = [
                r for r in self.rulings if self.filter in ("all", r.state) and (not sought or sought in _searched(r))
            ]
            listed.add_options([Option(literal(_row(r))) for r in self.listed])
        shown = listed.option_count
        words = f"Rulebook, showing {self.filter}: {shown}. {plural(len(self.rulings), 'rule')}: {counts}{broken}"
        self.query_one("#rule-state", Static).update(literal(words))
        if listed.option_count:
            listed.highlighted = 0
        else:
            self.query_one("#rule-text", Part).show("Nothing here; change the search (/) or the filter (f9).")

    def on_input_changed(self) -> None:
        """Search as one types."""
        self.refill()

    def on_input_submitted(self) -> None:
        """Back to the list."""
        self.query_one("#rule-list", OptionList).focus()

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Show the rule or plug-in that is marked."""
        self.open_at(event.option_index)

    def open_at(self, index: int) -> None:
        """Show what is listed at a place."""
        part = self.query_one("#rule-text", Part)
        width = max(40, part.size.width - 4)
        if self.filter == "plug-ins":
            if index < len(self.told):
                part.show(self.told[index].text)
        elif index < len(self.listed):
            part.show(rule_text(self.listed[index], self.metrics, min(width, 100)))
        part.scroll_home(animate=False)

    def on_resize(self) -> None:
        """Wrap to the new width."""
        index = self.query_one("#rule-list", OptionList).highlighted
        if index is not None:
            self.call_after_refresh(self.open_at, index)

    def action_filter(self) -> None:
        """All, fired, silent, blocked, plug-ins in turn."""
        self.filter = SHOWN[(SHOWN.index(self.filter) + 1) % len(SHOWN)]
        self.refill()

    def action_search(self) -> None:
        """Type what to look for."""
        self.query_one("#rule-search", Input).focus()

    def action_leave(self) -> None:
        """From the search to the list, from the list back to the answer."""
        listed = self.query_one("#rule-list", OptionList)
        if self.focused is self.query_one("#rule-search", Input):
            listed.focus()
        else:
            self.dismiss()


def _searched(ruling: Ruling) -> str:
    rule = ruling.loaded.rule
    return " ".join([rule.id, rule.kind, rule.title, rule.because, rule.basis.citation, rule.basis.level]).lower()


def _row(ruling: Ruling) -> str:
    points = "" if ruling.points is None else f" {ruling.points:+.1f}"
    return f"{MARKS[ruling.state]} {ruling.loaded.rule.kind:<7} {ruling.loaded.rule.title}{points}"


class Help(Screen[None]):
    """What the cursor is on, the keys, the trade's words and the grinds."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,f1", "leave", "Back", id="help.back")]

    def __init__(self, write: Callable[[int], str]) -> None:
        super().__init__()
        self.write = write

    def compose(self) -> ComposeResult:
        """One text."""
        yield Part(id="help")
        yield Footer()

    def on_mount(self) -> None:
        """Scroll with the arrow keys at once."""
        self.query_one(Part).focus()

    def on_resize(self) -> None:
        """Wrap to the width."""
        self.query_one(Part).show(self.write(max(40, min(self.size.width - 4, 100))))

    def action_leave(self) -> None:
        """Back to the answer."""
        self.dismiss()


class AskPath(ModalScreen[Path | None]):
    """A line to type a file's name in, with files to choose from."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Leave it", id="path.leave")]

    def __init__(self, title: str, given: str, files: list[Path]) -> None:
        super().__init__()
        self.words, self.given, self.files = title, given, files

    def compose(self) -> ComposeResult:
        """Title, line, files."""
        with Vertical(id="path"):
            yield Static(literal(self.words))
            yield Box(self.given, compact=True, id="path-box")
            yield OptionList(*(Option(literal(str(file))) for file in self.files), id="path-list", markup=False)
            yield Static(literal("enter takes it, tab goes to the list, esc leaves it"))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take what is typed."""
        self.dismiss(Path(event.value.strip()).expanduser() if event.value.strip() else None)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Take a file."""
        self.dismiss(self.files[event.option_index])

    def action_leave(self) -> None:
        """Take nothing."""
        self.dismiss(None)
