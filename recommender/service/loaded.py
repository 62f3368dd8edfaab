"""What every question starts from: plug-ins and packs loaded once; briefs answered, blades weighed and drawn."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property, partial
from itertools import islice
from typing import TYPE_CHECKING, Any

from recommender.drawing.blade_view import BladeView
from recommender.engine.answer import trial
from recommender.engine.answer.explain import designs_of
from recommender.engine.answer.recommend import STAGES, answers, recommend
from recommender.engine.identify.readings import CaliperBlade
from recommender.engine.identify.section_figures import SectionFigures, SectionRequest, section
from recommender.engine.intake.brief_text import with_settings
from recommender.engine.intake.case import Case
from recommender.engine.intake.resolve import Resolved, resolve
from recommender.errors import GeometryError, InputError, PackError, PluginError
from recommender.geometry.outline import Outline
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.answer.trial import Knob, Weighed
from recommender.models.brief import Brief, Wishes
from recommender.packs.fields import fields
from recommender.packs.knowledge import Knowledge
from recommender.packs.load import Pack, layered, read_pack
from recommender.packs.sources import named_packs, own_packs
from recommender.plugin.api import MOST_DOCUMENT_BYTES, Grind
from recommender.plugin.guard import UnusableResultError
from recommender.plugin.plugin_status import PluginStatus, plugin_statuses
from recommender.plugin.registry import Registry, load
from recommender.text import clean, shorten

if TYPE_CHECKING:  # what only some commands need is imported by them
    from recommender.engine.answer.rule_trace import RuleTrace
    from recommender.engine.identify.existing_blade import Regrinds, Suit
    from recommender.engine.identify.identification import Identification
    from recommender.engine.search.measuring import Measured
    from recommender.models.answer.life import Life
    from recommender.models.workshop.sheet import Paper, Sheet


@dataclass
class Loaded:
    """Plug-ins and packs loaded once, then asked about one blade or one brief."""

    strict: bool = False
    plugins: dict[str, Any] = field(default_factory=dict)
    """Plug-in objects by name, besides those installed."""
    packs: Sequence[str] = ()
    """Folders of packs over all others."""
    own_packs: bool = True
    """Whether the user's own packs count."""
    without: Sequence[str] = ()
    """Plug-ins, by name, that are not to be imported."""

    @cached_property
    def registry(self) -> Registry:
        """Loaded plug-ins."""
        return load(strict=self.strict, extra=self.plugins, without=self.without)

    @cached_property
    def knowledge(self) -> Knowledge:
        """Loaded packs: of plug-ins, then the user's own, then those given; the last has the last word.

        A pack that does not load is left out and named; one that was given raises PackError.
        """
        over = partial(layered, grinds=self.registry.grinds, metrics=self.registry.metrics)
        kept: list[Pack] = []
        knowledge: Knowledge | None = None
        for stamped in self.registry.packs:
            read = self.registry.call(stamped.origin, "loading its pack", read_pack, stamped.item)
            if read is None:
                continue
            try:
                knowledge = over([*kept, read])
                kept.append(read)
            except PackError as cause:
                self.registry.failed(stamped.origin, "loading its pack", cause)
        if knowledge is None:
            raise self.registry.failures[-1] if self.registry.failures else PackError("no pack of rules is installed")
        left_out = []
        for folder in own_packs() if self.own_packs else []:
            try:
                pack = read_pack(folder)
                knowledge = over([*kept, pack])
                kept.append(pack)
            except (PackError, OSError) as cause:
                if self.strict:
                    raise
                left_out.append(f"your pack {clean(str(folder), one_line=True)}: {cause}")
        if self.packs:
            knowledge = over([*kept, *(read_pack(folder) for folder in named_packs(self.packs))])
        knowledge.left_out += left_out
        return knowledge

    @property
    def grinds(self) -> dict[str, Grind]:
        """Grind families by id; where a function of one fails it raises PluginError."""
        return {name: stamped.item for name, stamped in self.registry.for_answer().grinds.items()}

    def resolve(self, brief: Brief, file: str = "brief") -> Resolved:
        """Fill a brief's open fields. Raises InputError."""
        return resolve(brief, self.knowledge, self.registry.grinds, file)

    def case(self, brief: Brief, file: str = "brief") -> Case:
        """A brief with everything that is loaded. Raises InputError."""
        return Case.of(self.resolve(brief, file), self.knowledge, self.registry)

    def recommend(self, brief: Brief, file: str = "brief", *, flips: bool = True) -> Answer:
        """Answer a brief, `flips` and all unless that may wait. Raises InputError for a brief that makes no sense."""
        return recommend(self.case(brief, file), with_flips=flips)

    def answers(self, brief: Brief, file: str = "brief", *, flips: bool = True) -> Iterator[Answer]:
        """The answer to a brief as soon as it stands, then how sure, then its flips unless they may be left out.

        Raises InputError like `recommend`.
        """
        return islice(answers(self.case(brief, file)), STAGES if flips else STAGES - 1)

    def life(self, brief: Brief, file: str = "brief") -> Life:
        """Follow an answer's blades through their sharpenings. Raises InputError for a brief that makes no sense."""
        from recommender.engine.answer.sharpening_course import life

        case = self.case(brief, file)
        return life(recommend(case, with_flips=False), case.resolved, case.registry)

    def life_of(self, answer: Answer, brief: Brief) -> Life:
        """Follow the blades of an answer already given to a brief."""
        from recommender.engine.answer.sharpening_course import life

        case = self.case(brief)
        return life(answer, case.resolved, case.registry)

    def title(self, answer: Answer) -> str:
        """What an answer is about: the brief's title, else its tasks."""
        return answer.brief.title or ", ".join(self.knowledge.tasks[task].label for task in answer.brief.tasks)

    def weigh(self, brief: Brief, blade: Proposal) -> Weighed:
        """Measure and score any blade under a brief. Raises InputError for a brief that makes no sense."""
        return trial.weigh(self.case(brief), blade)

    def changed(self, brief: Brief, blade: Proposal, values: Mapping[str, float | str]) -> Proposal:
        """A blade with some of its dimensions moved, by the names of its knobs; what follows from them follows."""
        return trial.changed(self.case(brief), blade, values)

    def knobs(self, brief: Brief, blade: Proposal, base: Proposal) -> tuple[Knob, ...]:
        """What can be moved on a blade tried from another."""
        return trial.knobs(self.case(brief), blade, base)

    def rule_traces(self, brief: Brief, answer: Answer) -> list[RuleTrace]:
        """What every loaded rule says of an answer given to a brief, and why it fired or not."""
        from recommender.engine.answer.rule_trace import rule_traces

        return rule_traces(self.case(brief), answer)

    def view(self, blade: Proposal) -> BladeView | None:
        """What there is to draw of a blade; None where its section cannot be followed to the tip."""
        try:
            return BladeView.of(trial.followed_blade(self.grinds[blade.grind], blade))
        except (GeometryError, PluginError):
            return None

    def section_of(self, blade: Proposal) -> Outline:
        """A blade's section between plunge line and tip (v, 3)."""
        drawn: Outline = self.grinds[blade.grind].outlines(designs_of(blade))[0]
        return drawn

    def tip_section_of(self, blade: Proposal) -> Outline | None:
        """A blade's section in the tip zone (v, 3), None where it is the same."""
        draw = self.grinds[blade.grind].tip_outlines
        return None if draw is None else draw(designs_of(blade))[0]

    def outline_of(self, answer: Answer) -> Outline | None:
        """The proposal's section (v, 3), None when nothing fits or its plug-in fails to draw it again."""
        with suppress(PluginError):
            return None if answer.proposal is None else self.section_of(answer.proposal)
        return None

    def tip_outline_of(self, answer: Answer) -> Outline | None:
        """The proposal's section in the tip zone (v, 3), None where it is the same or nothing fits."""
        return None if answer.proposal is None else self.tip_section_of(answer.proposal)

    def plugin_statuses(self, answer: Answer | None = None) -> list[PluginStatus]:
        """Every plug-in with what it gives and what failed of it: while loading, and in an answer.

        What could not be loaded or is blocked is among them.
        """
        return plugin_statuses(self.registry, () if answer is None else answer.provenance.failed)

    def specimens(self, brief: Brief, sections: int, designs: int) -> Iterator[Measured]:
        """What a metric would be given for a brief: sections of each grind, then its best of some designs as blades."""
        from recommender.engine.audit import metric_samples as specimens

        case = self.case(brief)
        yield from specimens.sections(case, sections)
        yield from specimens.blades(case, designs)

    def pack_problems(self, pack: str) -> list[str]:
        """What is wrong with a loaded pack, by its id, beyond what loading it finds."""
        from recommender.engine.audit.pack_trial import pack_problems

        return list(pack_problems(pack, self.knowledge, partial(self.recommend, flips=False)))

    def grinds_drawn(self) -> list[tuple[Grind, Outline | None, float]]:
        """Each grind with an ordinary section (v, 3) on a 4 mm bar 22 mm high and its grind line, mm."""
        from recommender.engine.answer.representative import representative

        case = self.case(with_settings(Brief(), ["blade.stock_thickness_mm=4", "blade.height_mm=22"]))
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

    def sheet(self, answer: Answer, *, paper: Paper = "a4", inches: bool = False) -> Sheet:
        """Draw an answer that has a proposal, lying on paper."""
        from recommender.drawing.sheet.sheets import workshop_sheet

        p = answer.proposal
        assert p is not None
        tip = self.tip_section_of(p)
        sections = (self.section_of(p),) if tip is None else (self.section_of(p), tip)
        return workshop_sheet(answer, self.title(answer), self.view(p), sections, paper=paper, inches=inches)

    def document(self, answer: Answer, writer: str, *, paper: Paper = "a4", inches: bool = False) -> bytes:
        """Write an answer that has a proposal with a writer by id; paper and inches are the drawing's.

        Raises InputError for an unknown writer, PluginError when it fails.
        """
        if writer not in self.registry.writers:
            raise InputError(f"unknown name {shorten(writer)}", given=writer, valid=self.registry.writers)
        stamped, doing = self.registry.writers[writer], f"writing {writer}"
        data = self.document_data(answer, paper=paper, inches=inches)

        def document() -> bytes:
            written: object = stamped.item.write(data)
            if not isinstance(written, bytes):
                raise UnusableResultError(f"{type(written).__name__} came back instead of bytes")
            if len(written) > MOST_DOCUMENT_BYTES:
                raise UnusableResultError(f"a document of {len(written):,} bytes")
            return written

        return self.registry.for_answer().run(stamped.origin, doing, document)

    def document_data(self, answer: Answer, *, paper: Paper = "a4", inches: bool = False) -> dict[str, Any]:
        """What a writer gets of an answer."""
        outline, tip = self.outline_of(answer), self.tip_outline_of(answer)
        return {
            **answer.as_json(),
            "title": self.title(answer),
            "outline": None if outline is None else outline.tolist(),
            "tip_outline": None if tip is None else tip.tolist(),
            "sheet": None if answer.proposal is None else self.sheet(answer, paper=paper, inches=inches),
        }

    def listing(self, kind: str) -> list[dict[str, Any]]:
        """Tasks, steels, gear, materials, grinds, metrics or fields of rules as plain data."""
        if kind == "metrics":
            return [
                {
                    "id": metric.id,
                    "label": metric.label,
                    "unit": metric.unit.value,
                    "better": metric.better,
                    "about": metric.about,
                    "estimate": metric.estimate,
                    "of": metric.of,
                    "plugin": str(self.registry.metrics[name].origin),
                }
                for name, metric in ((name, stamped.item) for name, stamped in sorted(self.registry.metrics.items()))
            ]
        if kind == "fields":
            known = fields(self.knowledge, self.registry.grinds, self.registry.metrics).values()
            return [
                {"id": f.name, "kind": f.kind, "label": f.kind, "about": f.about, "values": sorted(f.values)}
                for f in known
                if not f.name.startswith("metric.")
            ]
        if kind == "grinds":
            return [
                {
                    "id": grind.id,
                    "label": grind.label,
                    "parent": grind.parent,
                    "about": grind.about,
                    "made": grind.made,
                    "sharpened": grind.sharpened,
                    "surfaces": sorted(grind.surfaces),
                    "parameters": [
                        {
                            "name": p.name,
                            "label": p.label,
                            "unit": p.unit.value,
                            "low": p.low,
                            "high": p.high,
                            "step": p.step,
                            "choices": list(p.choices),
                        }
                        for p in grind.parameters
                    ],
                    "plugin": str(self.registry.grinds[name].origin),
                }
                for name, grind in self.grinds.items()
            ]
        tables: Mapping[str, Any] = getattr(self.knowledge, kind)
        return [tables[name].model_dump(mode="json", by_alias=True) for name in sorted(tables)]

    def measure(
        self,
        blade: CaliperBlade,
        *,
        original_height_mm: float | None = None,
        original_edge_thickness_mm: float | None = None,
    ) -> tuple[Identification, float | None]:
        """Say which grind a blade has and how far it has been sharpened back, mm. Raises InputError."""

        from recommender.engine.identify.identification import identify, sharpened_away_mm

        registry = self.registry.for_answer()
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
        plain = [f for f in found.fits if found.blade.tip == "other" or self.grinds[f.grind].tip_outlines is None]
        fit = plain[0] if plain else found.best
        told_apart = {name for name in found.grinds if name in {f.grind for f in plain}} <= {fit.grind}
        designs = fit.designs
        grind = self.registry.for_answer().grinds[fit.grind]

        def case(tasks: dict[str, float], height_mm: float) -> Case:
            size = {"height_mm": height_mm, "stock_thickness_mm": float(designs["stock_thickness_mm"][0])}
            blade = brief.blade.model_copy(update=size)
            return self.case(brief.model_copy(update={"tasks": tasks, "blade": blade, "wishes": Wishes()}), file)

        height = float(designs["height_mm"][0])
        suited = suits(lambda task: case({task: 1.0}, height), list(self.knowledge.tasks), grind, designs)
        tasks = dict(brief.tasks) or {suited[0].task: 1.0}
        return suited, regrinds(lambda height_mm: case(tasks, height_mm), grind, designs) if told_apart else None

    def section(self, request: SectionRequest) -> SectionFigures:
        """Measure one section of a grind. Raises InputError or GeometryError."""
        return section(self.grinds, request)
