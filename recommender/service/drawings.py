"""What there is to draw: sections and views of blades, a workshop drawing, a writer's document, pages of the rules."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from recommender.engine.answer.explain import designs_of
from recommender.engine.intake.brief_text import with_settings
from recommender.errors import GeometryError, InputError, PluginError
from recommender.geometry.outline import Outline
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.brief import Brief
from recommender.plugin.api import MOST_DOCUMENT_BYTES, Grind
from recommender.plugin.guard import UnusableResultError
from recommender.service.briefs import Briefs
from recommender.service.loaded import Loaded
from recommender.text import shorten

if TYPE_CHECKING:  # what only some commands need is imported by them
    from recommender.drawing.blade_view import BladeView
    from recommender.models.workshop.sheet import Paper, Sheet


@dataclass(frozen=True)
class Drawings:
    """Draws blades, answers and everything that is loaded."""

    loaded: Loaded
    briefs: Briefs

    def view(self, blade: Proposal) -> BladeView | None:
        """What there is to draw of a blade; None where its section cannot be followed to the tip."""
        from recommender.drawing.blade_view import BladeView
        from recommender.engine.answer import tried_blade

        try:
            return BladeView.of(tried_blade.followed_blade(self.loaded.grinds[blade.grind], blade))
        except (GeometryError, PluginError):
            return None

    def section_of(self, blade: Proposal) -> Outline:
        """A blade's section between plunge line and tip (v, 3)."""
        drawn: Outline = self.loaded.grinds[blade.grind].outlines(designs_of(blade))[0]
        return drawn

    def tip_section_of(self, blade: Proposal) -> Outline | None:
        """A blade's section in the tip zone (v, 3), None where it is the same."""
        draw = self.loaded.grinds[blade.grind].tip_outlines
        return None if draw is None else draw(designs_of(blade))[0]

    def outline_of(self, answer: Answer) -> Outline | None:
        """The proposal's section (v, 3), None when nothing fits or its plug-in fails to draw it again."""
        with suppress(PluginError):
            return None if answer.proposal is None else self.section_of(answer.proposal)
        return None

    def tip_outline_of(self, answer: Answer) -> Outline | None:
        """The proposal's section in the tip zone (v, 3), None where it is the same or nothing fits."""
        return None if answer.proposal is None else self.tip_section_of(answer.proposal)

    def sheet(self, answer: Answer, *, paper: Paper = "a4", inches: bool = False) -> Sheet:
        """Draw an answer that has a proposal, lying on paper."""
        from recommender.drawing.sheet.sheets import workshop_sheet

        p = answer.proposal
        assert p is not None
        tip = self.tip_section_of(p)
        sections = (self.section_of(p),) if tip is None else (self.section_of(p), tip)
        return workshop_sheet(answer, self.loaded.title(answer), self.view(p), sections, paper=paper, inches=inches)

    def document(self, answer: Answer, writer: str, *, paper: Paper = "a4", inches: bool = False) -> bytes:
        """Write an answer that has a proposal with a writer by id; paper and inches are the drawing's.

        Raises InputError for an unknown writer, PluginError when it fails.
        """
        if writer not in self.loaded.registry.writers:
            raise InputError(f"unknown name {shorten(writer)}", given=writer, valid=self.loaded.registry.writers)
        stamped, doing = self.loaded.registry.writers[writer], f"writing {writer}"
        data = self.document_data(answer, paper=paper, inches=inches)

        def document() -> bytes:
            written: object = stamped.item.write(data)
            if not isinstance(written, bytes):
                raise UnusableResultError(f"{type(written).__name__} came back instead of bytes")
            if len(written) > MOST_DOCUMENT_BYTES:
                raise UnusableResultError(f"a document of {len(written):,} bytes")
            return written

        return self.loaded.registry.for_answer().run(stamped.origin, doing, document)

    def document_data(self, answer: Answer, *, paper: Paper = "a4", inches: bool = False) -> dict[str, Any]:
        """What a writer gets of an answer."""
        outline, tip = self.outline_of(answer), self.tip_outline_of(answer)
        return {
            **answer.as_json(),
            "title": self.loaded.title(answer),
            "outline": None if outline is None else outline.tolist(),
            "tip_outline": None if tip is None else tip.tolist(),
            "sheet": None if answer.proposal is None else self.sheet(answer, paper=paper, inches=inches),
        }

    def grinds_drawn(self) -> list[tuple[Grind, Outline | None, float]]:
        """Each grind with an ordinary section (v, 3) on a 4 mm bar 22 mm high and its grind line, mm."""
        from recommender.engine.answer.representative import representative

        case = self.briefs.case(with_settings(Brief(), ["blade.stock_thickness_mm=4", "blade.height_mm=22"]))
        out: list[tuple[Grind, Outline | None, float]] = []
        for stamped in case.registry.grinds.values():
            designs = representative(stamped, case)
            drawn = None
            if designs is not None:
                outlines = case.registry.call(
                    stamped.origin, f"drawing {stamped.item.id}", stamped.item.outlines, designs
                )
                drawn = None if outlines is None else outlines[0]
            line = 0.0 if designs is None else float(designs["grind_line_mm"][0])
            out.append((stamped.item, drawn, line))
        return out

    def pages(self, progress: Callable[[int], None] = lambda done: None) -> dict[str, bytes]:
        """Everything that is loaded, as pages of Markdown and pictures by path; `progress` gets the count drawn."""
        from recommender.drawing.pages.page_set import book
        from recommender.drawing.pages.site import DrawnSection, Site
        from recommender.packs.findings import KINDS

        drawn = {
            grind.id: DrawnSection(outline, line) for grind, outline, line in self.grinds_drawn() if outline is not None
        }
        proposed = {}
        for done, task in enumerate(self.loaded.knowledge.tasks):
            progress(done)
            blade = next(self.briefs.answers(Brief(tasks={task: 1.0}))).proposal
            if blade is not None:
                proposed[task] = blade, DrawnSection(self.section_of(blade), blade.grind_line_mm)
        kinds = {k.id: (k.title, (k.what, k.why, f"Example: {k.example}", k.fix)) for k in KINDS.values()}
        knowledge, registry = self.loaded.knowledge, self.loaded.registry
        return book(Site(knowledge, registry.grinds, registry.metrics, drawn, proposed, findings=kinds))
