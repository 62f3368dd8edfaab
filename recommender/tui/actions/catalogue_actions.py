"""What there is to choose from: kept from last time, corrected by the engine, offered by the form."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recommender.processes.process_limits import MEMORY_IS_LIMITED
from recommender.text import clean
from recommender.tui.state.form_fields import groups
from recommender.tui.state.kept_catalogue import KeptCatalogue
from recommender.tui.state.opening_questions import opening_questions
from recommender.tui.widgets.brief_form import BriefForm
from recommender.tui.widgets.opening_page import OpeningPage
from recommender.worker.client import Reply
from recommender.worker.messages import Failed, Refused
from recommender.worker.parts import Catalogue
from recommender.worker.questions import CatalogueQuestion

if TYPE_CHECKING:
    from recommender.tui.app import BevelwrightApp


class CatalogueActions:
    """Owned by the application, whose form offers it."""

    def __init__(self, app: BevelwrightApp, kept: KeptCatalogue | None) -> None:
        self.app, self._kept = app, kept
        found = kept.read() if kept is not None else None
        self._is_kept = found is not None
        self._told_unkept = False
        self.now = found or app.engine.catalogue()

    def start(self) -> None:
        """Have what was kept corrected, else keep what there is."""
        if self._is_kept:
            self.app.put(CatalogueQuestion(), self._take, always=True)
        else:
            self.keep(self.now)
            self._say_bounds(self.now)

    def ask_again(self) -> None:
        """What a plug-in gave that is gone is not there to choose any more."""
        self.app.put(CatalogueQuestion(), self._take_another, always=True)

    async def offer(self, catalogue: Catalogue) -> None:
        """Offer it in the questions and in the form."""
        self.now = catalogue
        self.app.main.query_one(OpeningPage).offer(opening_questions(catalogue))
        await self.app.main.query_one(BriefForm).offer(groups(catalogue))

    def keep(self, catalogue: Catalogue) -> None:
        """Keep it for the next start, or say once that nothing can be kept."""
        if self._kept is not None and not self._kept.keep(catalogue) and not self._told_unkept:
            self._told_unkept = True
            where = clean(str(self._kept.folder), one_line=True)
            words = f"Nothing can be kept in {where}: every start reads it anew."
            self.app.notify(words, timeout=60, markup=False)

    def _take(self, reply: Reply) -> None:
        """Correct what was kept by what is there; where nothing is, end as if nothing had been kept."""
        if isinstance(reply, (Refused, Failed)):
            self.app.end_without_engine(reply)
        else:
            self._take_another(reply)

    def _take_another(self, reply: Reply) -> None:
        if isinstance(reply, Catalogue):
            if reply != self.now:
                self.keep(reply)
                self.app.run_worker(self.offer(reply), group="offer")
            self._say_bounds(reply)

    def _say_bounds(self, catalogue: Catalogue) -> None:
        """Say what the system does not do for plug-ins."""
        if catalogue.foreign and not MEMORY_IS_LIMITED:
            words = f"This system does not bound the memory of plug-ins ({', '.join(catalogue.foreign)})."
            self.app.notify(words, markup=False)
