"""Screens over the answer: the rulebook, help with the glossary, and a line to type a file's name in."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen, Screen
from textual.widgets import Footer, Input, OptionList, Static
from textual.widgets.option_list import Option

from recommender.drawing.text.rules.rule_text import rule_text
from recommender.engine.answer.rule_trace import STATES, RuleTrace
from recommender.plugin.api import Metric
from recommender.service import PluginStatus
from recommender.text import plural
from recommender.tui.screens.list_screen import ListScreen
from recommender.tui.widgets.answer_page import TextPart, literal
from recommender.tui.widgets.form_rows import SafeInput

MARKS = {"fired": "●", "silent": "○", "blocked": "–"}


class RulebookScreen(ListScreen):
    """Every loaded rule before this answer, searched and filtered, and the plug-ins."""

    NAME, BODY = "rule", "rulebook"
    SEARCHED = "search in ids, titles, reasons and sources"
    FILTERS = ("all", *STATES, "plug-ins")
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back", id="rulebook.back"),
        Binding("slash", "search", "Search", id="rulebook.search"),
        Binding("f9", "filter", "Fired / silent / blocked", id="rulebook.filter"),
    ]

    def __init__(
        self, rulings: list[RuleTrace], metrics: dict[str, Metric], plugins: list[PluginStatus], rule: str | None = None
    ) -> None:
        super().__init__()
        self.rule_traces, self.metrics, self.plugins, self.wanted = rulings, metrics, plugins, rule
        self.listed: list[RuleTrace] = []
        self.told: list[PluginStatus] = []
        ids = [ruling.loaded.rule.id for ruling in rulings]
        self.first = ids.index(rule) if rule in ids else 0

    def found(self, words: str) -> list[str]:
        """Rules in that state, or plug-ins, that hold the words."""
        sought = words.strip().lower()
        self.listed, self.told = [], []
        if self.filter == "plug-ins":
            self.told = [plugin for plugin in self.plugins if sought in plugin.text.lower()]
            return [plugin.name for plugin in self.told]
        self.listed = [
            r for r in self.rule_traces if self.filter in ("all", r.state) and (not sought or sought in _searched(r))
        ]
        return [_row(r) for r in self.listed]

    def summary(self) -> str:
        """How many are shown, and how many rules and broken plug-ins there are."""
        counts = ", ".join(f"{sum(r.state == s for r in self.rule_traces)} {s}" for s in STATES)
        failed = sum(1 for plugin in self.plugins if plugin.failed)
        broken = f", {plural(failed, 'plug-in')} with failures" if failed else ""
        shown = len(self.told or self.listed)
        return f"Rulebook, showing {self.filter}: {shown}. {plural(len(self.rule_traces), 'rule')}: {counts}{broken}"

    def nothing(self, words: str) -> str:
        """How to see something again."""
        return "Nothing here; change the search (/) or the filter (f9)."

    def text_of_marked(self, width: int) -> str | None:
        """The rule or plug-in."""
        index = self.choices.highlighted
        if index is None:
            return None
        if self.filter == "plug-ins":
            return self.told[index].text if index < len(self.told) else None
        return rule_text(self.listed[index], self.metrics, width) if index < len(self.listed) else None


def _searched(ruling: RuleTrace) -> str:
    rule = ruling.loaded.rule
    return " ".join([rule.id, rule.kind, rule.title, rule.because, rule.basis.citation, rule.basis.level]).lower()


def _row(ruling: RuleTrace) -> str:
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
        yield TextPart(id="help")
        yield Footer()

    def on_mount(self) -> None:
        """Scroll with the arrow keys at once."""
        self.query_one(TextPart).focus()

    def on_resize(self) -> None:
        """Wrap to the width."""
        self.query_one(TextPart).show(self.write(max(40, min(self.size.width - 4, 100))))

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
            yield SafeInput(self.given, compact=True, id="path-box")
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
