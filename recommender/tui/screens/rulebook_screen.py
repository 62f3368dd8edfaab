"""The rulebook over the answer: every loaded rule and whether it fired, and the plug-ins."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from textual.binding import Binding, BindingType

from recommender.drawing.text.rules.rule_text import Measured, rule_text
from recommender.service import STATES, PluginStatus, RuleTrace
from recommender.text import plural
from recommender.tui.screens.list_screen import ListScreen

MARKS = {"fired": "●", "silent": "○", "blocked": "–"}


class RulebookScreen(ListScreen):
    """Every loaded rule before this answer, searched and filtered, and the plug-ins."""

    NAME, BODY = "rule", "rulebook"
    SEARCHED = "search in all that rules say: tasks, titles, reasons, sources"
    FILTERS = ("all", *STATES, "plug-ins")
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back", id="rulebook.back"),
        Binding("slash", "search", "Search", id="rulebook.search"),
        Binding("f9", "filter", "Fired / silent / blocked", id="rulebook.filter"),
    ]

    def __init__(self, rule: str | None = None) -> None:
        super().__init__()
        self.rule_traces: list[RuleTrace] = []
        self.metrics: Mapping[str, Measured] = {}
        self.plugins: list[PluginStatus] = []
        self.wanted = rule
        self.told = False
        """Whether there is anything to list yet."""
        self.listed: list[RuleTrace] = []
        self.listed_plugins: list[PluginStatus] = []

    def take(self, rulings: list[RuleTrace], metrics: Mapping[str, Measured], plugins: list[PluginStatus]) -> None:
        """List what the engine tells."""
        self.rule_traces, self.metrics, self.plugins, self.told = rulings, metrics, plugins, True
        ids = [ruling.loaded.rule.id for ruling in rulings]
        former = {was: ruling.loaded.rule.id for ruling in rulings for was in ruling.loaded.rule.formerly}
        wanted = former.get(self.wanted or "", self.wanted)
        self.first = ids.index(wanted) if wanted in ids else 0
        if self.is_mounted:
            self.refill(self.first)
            self.choices.scroll_to_highlight()
            self.call_after_refresh(self.show)

    def found(self, words: str) -> list[str]:
        """Rules in that state, or plug-ins, that hold the words."""
        sought = words.strip().lower()
        self.listed, self.listed_plugins = [], []
        if self.filter == "plug-ins":
            self.listed_plugins = [plugin for plugin in self.plugins if sought in plugin.text.lower()]
            return [plugin.name for plugin in self.listed_plugins]
        self.listed = [
            r for r in self.rule_traces if self.filter in ("all", r.state) and (not sought or sought in r.loaded.words)
        ]
        return [_row(r) for r in self.listed]

    def summary(self) -> str:
        """How many are shown, and how many rules and broken plug-ins there are."""
        if not self.told:
            return "Rulebook: being looked up …"
        counts = ", ".join(f"{sum(r.state == s for r in self.rule_traces)} {s}" for s in STATES)
        failed = sum(1 for plugin in self.plugins if plugin.failed)
        broken = f", {plural(failed, 'plug-in')} with failures" if failed else ""
        shown = len(self.listed_plugins or self.listed)
        return f"Rulebook, showing {self.filter}: {shown}. {plural(len(self.rule_traces), 'rule')}: {counts}{broken}"

    def nothing(self, words: str) -> str:
        """How to see something again."""
        return "Nothing here; change the search (/) or the filter (f9)." if self.told else ""

    def text_of_marked(self, width: int) -> str | None:
        """The rule or plug-in."""
        index = self.choices.highlighted
        if index is None:
            return None
        if self.filter == "plug-ins":
            return self.listed_plugins[index].text if index < len(self.listed_plugins) else None
        return rule_text(self.listed[index], self.metrics, width) if index < len(self.listed) else None


def _row(ruling: RuleTrace) -> str:
    points = "" if ruling.points is None else f" {ruling.points:+.1f}"
    return f"{MARKS[ruling.state]} {ruling.loaded.rule.kind:<7} {ruling.loaded.rule.title}{points}"
