"""The only door for every face: what is loaded, briefs, drawings, measured blades, batches, rules, the workshop.

What a face needs besides the objects (readers of what is typed, types, names) passes through here too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from recommender.engine.answer.rule_trace import STATES as STATES
from recommender.engine.answer.rule_trace import RuleTrace as RuleTrace
from recommender.engine.identify.readings import LARGEST_WHEEL_MM as LARGEST_WHEEL_MM
from recommender.engine.identify.readings import CaliperBlade as CaliperBlade
from recommender.engine.identify.readings import parse_readings as parse_readings
from recommender.engine.identify.section_figures import SectionRequest as SectionRequest
from recommender.engine.intake.brief_text import MAX_BRIEF_BYTES as MAX_BRIEF_BYTES
from recommender.engine.intake.brief_text import brief_toml as brief_toml
from recommender.engine.intake.brief_text import read_brief as read_brief
from recommender.engine.intake.brief_text import with_settings as with_settings
from recommender.errors import PluginError
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.packs.facts import FORM as FORM
from recommender.packs.facts import Fact as Fact
from recommender.packs.facts import FormRow as FormRow
from recommender.packs.knowledge import Knowledge
from recommender.packs.knowledge import LoadedRule as LoadedRule
from recommender.packs.located import MAX_BYTES as MAX_TOML_BYTES
from recommender.packs.located import parse_toml as parse_toml
from recommender.plugin.api import Grind
from recommender.plugin.api import Metric as Metric
from recommender.plugin.block_list import block_plugin as block_plugin
from recommender.plugin.block_list import blocked_file as blocked_file
from recommender.plugin.block_list import blocked_names as blocked_names
from recommender.plugin.guard import Origin
from recommender.plugin.plugin_status import PluginStatus as PluginStatus
from recommender.plugin.registry import GROUP as PLUGIN_GROUP
from recommender.plugin.registry import Registry
from recommender.plugin.registry import installed as installed
from recommender.plugin.scaffold import new_plugin as new_plugin
from recommender.service.batch import Batch
from recommender.service.briefs import Briefs
from recommender.service.drawings import Drawings
from recommender.service.loaded import Loaded
from recommender.service.measured_blades import MeasuredBlades
from recommender.service.rules import Rules
from recommender.service.workshop import WorkshopPapers

if TYPE_CHECKING:  # modules that only some commands load
    from recommender.engine.audit.designed_briefs import Question as Question
    from recommender.engine.batch.rows import Kind as RowsKind
    from recommender.engine.batch.rows import SweepRow as SweepRow
    from recommender.shop.quotes.quote_book import Book as QuoteBook

__all__ = ["MAX_TOML_BYTES", "PLUGIN_GROUP", "QuoteBook", "RowsKind"]


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
        self.briefs = Briefs(self.loaded)
        self.drawings = Drawings(self.loaded, self.briefs)
        self.measured = MeasuredBlades(self.loaded, self.briefs)
        self.batch = Batch(self.loaded)
        self.rules = Rules(self.loaded, self.briefs)
        self.workshop = WorkshopPapers(self.loaded, self.briefs, self.drawings)

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
