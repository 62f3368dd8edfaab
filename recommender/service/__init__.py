"""The only door for every face: what is loaded, briefs, drawings, measured blades, batches, rules, the workshop.

What a face needs besides the objects (readers of what is typed, types, names) passes through here too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from importlib import import_module
from typing import TYPE_CHECKING, Any

from recommender.service.loaded import Loaded

if TYPE_CHECKING:  # each is imported when it is first asked for: most commands need few of them
    from recommender.engine.answer.rule_trace import STATES, RuleTrace
    from recommender.engine.audit.designed_briefs import Question
    from recommender.engine.batch.rows import Kind as RowsKind
    from recommender.engine.batch.rows import SweepRow
    from recommender.engine.identify.readings import LARGEST_WHEEL_MM, CaliperBlade, parse_readings
    from recommender.engine.identify.section_figures import SectionRequest
    from recommender.engine.intake.brief_text import MAX_BRIEF_BYTES, brief_toml, read_brief, with_settings
    from recommender.errors import PluginError
    from recommender.models.answer.proposal import Answer
    from recommender.models.brief import Brief
    from recommender.packs.facts import FORM, Fact, FormRow
    from recommender.packs.knowledge import Knowledge, LoadedRule
    from recommender.packs.located import MAX_BYTES as MAX_TOML_BYTES
    from recommender.packs.located import parse_toml
    from recommender.plugin.api import Grind, Metric
    from recommender.plugin.block_list import block_plugin, blocked_file, blocked_names
    from recommender.plugin.guard import Origin
    from recommender.plugin.plugin_status import PluginStatus
    from recommender.plugin.registry import GROUP as PLUGIN_GROUP
    from recommender.plugin.registry import Registry, installed
    from recommender.plugin.scaffold import new_plugin
    from recommender.service.batch import Batch
    from recommender.service.briefs import Briefs
    from recommender.service.drawings import Drawings
    from recommender.service.measured_blades import MeasuredBlades
    from recommender.service.rules import Rules
    from recommender.service.workshop import WorkshopPapers
    from recommender.shop.quotes.quote_book import Book as QuoteBook

_PASSED_THROUGH = {
    "engine.answer.rule_trace": "STATES RuleTrace",
    "engine.audit.designed_briefs": "Question",
    "engine.batch.rows": "SweepRow RowsKind=Kind",
    "engine.identify.readings": "LARGEST_WHEEL_MM CaliperBlade parse_readings",
    "engine.identify.section_figures": "SectionRequest",
    "engine.intake.brief_text": "MAX_BRIEF_BYTES brief_toml read_brief with_settings",
    "models.answer.proposal": "Answer",
    "models.brief": "Brief",
    "packs.facts": "FORM Fact FormRow",
    "packs.knowledge": "Knowledge LoadedRule",
    "packs.located": "MAX_TOML_BYTES=MAX_BYTES parse_toml",
    "plugin.api": "Grind Metric",
    "plugin.block_list": "block_plugin blocked_file blocked_names",
    "plugin.guard": "Origin",
    "plugin.plugin_status": "PluginStatus",
    "plugin.registry": "PLUGIN_GROUP=GROUP Registry installed",
    "plugin.scaffold": "new_plugin",
    "shop.quotes.quote_book": "QuoteBook=Book",
}
"""Modules -> what faces get of them from here, and under which name where that is another."""
_FROM = {
    name: (module, its_name or name)
    for module, names in _PASSED_THROUGH.items()
    for name, _, its_name in (item.partition("=") for item in names.split())
}
__all__ = [
    "FORM", "LARGEST_WHEEL_MM", "MAX_BRIEF_BYTES", "MAX_TOML_BYTES", "PLUGIN_GROUP", "STATES",
    "Answer", "Brief", "CaliperBlade", "Fact", "FormRow", "Grind", "Knowledge", "LoadedRule", "Metric", "Origin",
    "PluginStatus", "Question", "QuoteBook", "Registry", "RowsKind", "RuleTrace", "SectionRequest", "Service",
    "SweepRow", "block_plugin", "blocked_file", "blocked_names", "brief_toml", "installed", "new_plugin",
    "parse_readings", "parse_toml", "quote_book", "read_brief", "with_settings",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    if name not in _FROM:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, its_name = _FROM[name]
    found = globals()[name] = getattr(import_module(f"recommender.{module}"), its_name)
    return found


def quote_book(file: str | None = None) -> QuoteBook:
    """The quote book of a file, else the user's own; it is opened when it is used, and nothing is loaded for it."""
    from pathlib import Path

    from recommender.shop.quotes.quote_book import Book

    return Book(None if file is None else Path(file))


class Service:
    """Owns what is loaded and the objects that answer with it; the questions asked most can be put to it directly."""

    def __init__(
        self,
        strict: bool = False,
        plugins: dict[str, Any] | None = None,
        packs: Sequence[str] = (),
        own_packs: bool = True,
        without: Sequence[str] = (),
        shop: str | None = None,
        own_shop: bool = True,
        foreign: bool = True,
        left_out: Mapping[Origin, PluginError] | None = None,
    ) -> None:
        self.loaded = Loaded(
            strict, plugins or {}, packs, own_packs, without, shop, own_shop, foreign, left_out=left_out or {}
        )

    @cached_property
    def briefs(self) -> Briefs:
        """Questions about one brief."""
        from recommender.service.briefs import Briefs

        return Briefs(self.loaded)

    @cached_property
    def drawings(self) -> Drawings:
        """What there is to draw."""
        from recommender.service.drawings import Drawings

        return Drawings(self.loaded, self.briefs)

    @cached_property
    def measured(self) -> MeasuredBlades:
        """Blades by their measures."""
        from recommender.service.measured_blades import MeasuredBlades

        return MeasuredBlades(self.loaded, self.briefs)

    @cached_property
    def batch(self) -> Batch:
        """Many briefs at once."""
        from recommender.service.batch import Batch

        return Batch(self.loaded)

    @cached_property
    def rules(self) -> Rules:
        """Questions about the rules themselves."""
        from recommender.service.rules import Rules

        return Rules(self.loaded, self.briefs)

    @cached_property
    def workshop(self) -> WorkshopPapers:
        """From an answer to steel and money."""
        from recommender.service.workshop import WorkshopPapers

        return WorkshopPapers(self.loaded, self.briefs, self.drawings)

    @property
    def registry(self) -> Registry:
        """Loaded plug-ins."""
        return self.loaded.registry

    @property
    def knowledge(self) -> Knowledge:
        """Loaded packs. Raises PackError."""
        return self.loaded.knowledge

    @property
    def grinds(self) -> dict[str, Grind]:
        """Grind families by id."""
        return self.loaded.grinds

    def recommend(self, brief: Brief, file: str = "brief", *, flips: bool = True) -> Answer:
        """Answer a brief. Raises InputError for a brief that makes no sense."""
        return self.briefs.recommend(brief, file, flips=flips)

    def answers(self, brief: Brief, file: str = "brief", *, flips: bool = True) -> Iterator[Answer]:
        """The answer to a brief in stages, each as soon as it stands. Raises InputError."""
        return self.briefs.answers(brief, file, flips=flips)

    def two_blades(self, brief: Brief, file: str = "brief") -> Answer:
        """Two blades for tasks that quarrel: the first, with `second_blade`. Raises InputError, also for one task."""
        from recommender.service.two_blades import two_blades

        return two_blades(self.briefs, brief, file)
