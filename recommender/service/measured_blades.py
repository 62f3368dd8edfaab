"""Blades by their measures: the figures of a section, and which grind a blade in the hand has and what it suits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from recommender.engine.identify.readings import CaliperBlade
from recommender.engine.identify.section_figures import SectionFigures, SectionRequest, section
from recommender.engine.intake.case import Case
from recommender.errors import InputError
from recommender.models.brief import Brief, Wishes
from recommender.service.briefs import Briefs
from recommender.service.loaded import Loaded

if TYPE_CHECKING:  # what only some commands need is imported by them
    from recommender.engine.identify.existing_blade import Regrinds, Suit
    from recommender.engine.identify.identification import Identification


@dataclass(frozen=True)
class MeasuredBlades:
    """Tells of blades whose measures are given."""

    loaded: Loaded
    briefs: Briefs

    def section(self, request: SectionRequest) -> SectionFigures:
        """Measure one section of a grind. Raises InputError or GeometryError."""
        return section(self.loaded.grinds, request)

    def identify(
        self,
        blade: CaliperBlade,
        *,
        original_height_mm: float | None = None,
        original_edge_thickness_mm: float | None = None,
    ) -> tuple[Identification, float | None]:
        """Say which grind a blade has and how far it has been sharpened back, mm. Raises InputError."""
        from recommender.engine.identify.identification import identify, sharpened_away_mm

        registry = self.loaded.registry.for_answer()
        grinds = {name: stamped.item for name, stamped in registry.grinds.items()}

        def attempt(grind: str, doing: str, function: Any, *args: Any) -> Any:
            return registry.call(registry.grinds[grind].origin, f"{doing} of {grind}", function, *args)

        found = identify(grinds, blade, attempt)
        if found.verdict == "none fits":
            return found, None
        back = sharpened_away_mm(
            grinds[found.best.grind],
            found.best,
            original_height_mm=original_height_mm,
            original_edge_thickness_mm=original_edge_thickness_mm,
        )
        return found, back

    def in_hand(self, found: Identification, brief: Brief, file: str = "brief") -> tuple[list[Suit], Regrinds | None]:
        """What a fitted blade suits, and what regrinding it would bring for the brief's tasks.

        Without tasks in the brief, for the one that it serves best. Its size is that of the fit. A blade counts as one
        with another grind towards the tip only where that is stated; where it is open which grind it is, nothing is
        said of regrinding. Raises InputError, also for a brief that decides sizes or wishes: the blade is there.
        """
        from recommender.engine.identify.existing_blade import regrinds, suits

        if brief.blade.model_fields_set or brief.wishes.model_fields_set:
            key = "blade" if brief.blade.model_fields_set else "wishes"
            raise InputError(
                "the blade is there already", file=file, key=key, expected="tasks, steel, owner or workshop"
            )
        plain = [
            f for f in found.fits if found.blade.tip == "other" or self.loaded.grinds[f.grind].tip_outlines is None
        ]
        fit = plain[0] if plain else found.best
        told_apart = {name for name in found.grinds if name in {f.grind for f in plain}} <= {fit.grind}
        designs = fit.designs
        grind = self.loaded.registry.for_answer().grinds[fit.grind]

        def case(tasks: dict[str, float], height_mm: float) -> Case:
            size = {"height_mm": height_mm, "stock_thickness_mm": float(designs["stock_thickness_mm"][0])}
            blade = brief.blade.model_copy(update=size)
            return self.briefs.case(brief.model_copy(update={"tasks": tasks, "blade": blade, "wishes": Wishes()}), file)

        height = float(designs["height_mm"][0])
        suited = suits(lambda task: case({task: 1.0}, height), list(self.loaded.knowledge.tasks), grind, designs)
        tasks = dict(brief.tasks) or {suited[0].task: 1.0}
        return suited, regrinds(lambda height_mm: case(tasks, height_mm), grind, designs) if told_apart else None
