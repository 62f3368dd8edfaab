"""The public test kit: whether a plug-in, or a pack of rules, keeps what Bevelwright relies on.

A plug-in's own test is one line::

    from recommender.plugin.testing import assert_sound

    def test_it_is_sound():
        assert_sound(my_plugin)

Every `check_...` gives a list of findings, empty where all is well. Here alone may the kit lean on the whole program.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache, cached_property, partial
from pathlib import Path
from typing import Any

from recommender.errors import BevelwrightError
from recommender.models.answer.proposal import PER_SIDE, Proposal
from recommender.models.brief import Brief
from recommender.plugin.api import Grind, Metric, Writer
from recommender.plugin.guard import Registered
from recommender.plugin.kit.finding import Finding as Finding
from recommender.plugin.kit.grinds import check_grind as check_grind
from recommender.plugin.kit.metrics import Specimen, check_metric_on
from recommender.plugin.kit.sample_designs import WORKSHOP as WORKSHOP
from recommender.plugin.kit.sample_designs import designs_over_range as designs_over_range
from recommender.plugin.kit.sample_designs import refused as refused
from recommender.plugin.kit.writer_checks import check_writer_on
from recommender.plugin.registry import BUILTIN, installed
from recommender.service import Service, with_settings

_BRIEFS = {
    "a kitchen knife": ["tasks.food-prep=0.7", "tasks.pocket-carry=0.3"],
    "a splitting blade": ["tasks.wood-splitting=1", "owner.gear=belt-grinder"],
    "a prying knife": ["tasks.prying=0.6", "tasks.strap-cutting=0.4", "steel.grade=440c"],
}
_ANSWERED = (
    ["tasks.food-prep=1", "wishes.grind=full-flat"],
    ["tasks.leather-paring=1", "wishes.grind=chisel", "owner.hand=left"],
    ["tasks.game-dressing=1", "wishes.grind=compound"],
)
"""What a writer gets the answers to: two sides ground, one side, another section towards the tip."""
_TITLE = 'A "blade" <b>&</b> Käse; =1+1'
_SECTIONS, _DESIGNS = 24, 200
_NAME = "on-trial"


def check_plugin(module: Any, telling: Callable[[str], None] = lambda doing: None) -> list[Finding]:
    """Everything that a plug-in (a module, or an object with hooks) does not keep to; empty where all is well.

    `telling` is called with what is about to be done. What the plug-in raises becomes a finding.
    """
    telling("loading it")
    trial = _Trial(module)
    found = trial.failures()
    for doing, check in trial.checks():
        telling(doing)
        found += check()
    return list(dict.fromkeys(found))


def check_metric(metric: Metric) -> list[Finding]:
    """Everything that a metric does not keep to on sections, or blades, of every built-in grind.

    What it raises becomes a finding.
    """
    return check_metric_on(metric, _specimens())


def check_writer(writer: Writer) -> list[Finding]:
    """Everything that a writer does not keep to with answers of a two-sided, a one-sided and a compound blade.

    What it raises becomes a finding.
    """
    return check_writer_on(writer, _answers())


def check_pack(folder: str | Path) -> list[Finding]:
    """Everything that is wrong with a pack's folder, laid over the packs that Bevelwright ships.

    A folder that cannot be read is a finding too.
    """
    service = service_with(None, folder)
    try:
        own = service.knowledge.packs[-1].id
    except BevelwrightError as cause:
        return [Finding("pack", str(cause))]
    return _pack_findings(service, own)


def assert_sound(plugin: Any) -> None:
    """Fail with every finding of a plug-in module, or of a pack's folder given as a path.

    Raises AssertionError, a finding a line.
    """
    found = check_pack(plugin) if isinstance(plugin, (str, Path)) else check_plugin(plugin)
    assert not found, "\n".join(["it does not keep to:", *map(str, found)])


class _Trial:
    """A plug-in among what is shipped."""

    def __init__(self, module: Any) -> None:
        self.shipped = _is_shipped(module)
        self.service = service_with(module)
        known = () if self.shipped else service_with().knowledge.packs
        self.packs = [p.id for p in self.service.knowledge.packs if p.id not in {pack.id for pack in known}]

    def failures(self) -> list[Finding]:
        """What failed while it was loaded."""
        return [Finding("plug-in", f"{f.doing}: {f.cause}") for f in self.service.registry.failures]

    def checks(self) -> Iterator[tuple[str, Callable[[], list[Finding]]]]:
        """What there is to check, one thing after the other: in words, and how."""
        registry = self.service.registry
        kinds: dict[str, tuple[Mapping[str, Registered[Any]], Callable[[Any], list[Finding]]]] = {
            "grind": (registry.grinds, check_grind),
            "metric": (registry.metrics, lambda metric: check_metric_on(metric, self.specimens)),
            "writer": (registry.writers, check_writer),
        }
        for kind, (items, check) in kinds.items():
            for id_, stamped in items.items():
                if self.own(stamped):
                    yield f"checking {kind} {id_}", partial(check, stamped.item)
        for pack in self.packs:
            yield f"checking pack {pack}", partial(_pack_findings, self.service, pack)
        yield "answering with it", self.answering

    def own(self, stamped: Registered[Any]) -> bool:
        return stamped.origin.plugin == (BUILTIN if self.shipped else _NAME)

    @cached_property
    def specimens(self) -> list[Specimen]:
        return [*_specimens(), *(() if self.shipped else _specimens_of(self.service, self.own))]

    def answering(self) -> list[Finding]:
        """What fails while briefs are answered: a plain one, or one that wishes for each grind."""
        own = [stamped.item for stamped in self.service.registry.grinds.values() if self.own(stamped)]
        wished: list[Grind | None] = [*own] or [None]
        return [finding for grind in wished for finding in self._answered(grind)]

    def _answered(self, grind: Grind | None) -> list[Finding]:
        """A grind taken its whole way: proposal, life, drawing, set-up sheet, quote."""
        brief = with_settings(Brief(), [] if grind is None else [f"wishes.grind={grind.id}"])
        try:
            answer = self.service.recommend(brief, flips=False)
        except BevelwrightError as cause:
            return [Finding("plug-in", f"no brief can be answered with it: {cause}")]
        failed = [Finding("plug-in", words) for words in answer.provenance.failed]
        if grind is None or answer.proposal is None:
            return failed
        try:
            self.service.briefs.life_of(answer, brief)
            papers = self.service.workshop.papers(brief, answer)
        except BevelwrightError as cause:
            return [*failed, Finding(f"grind {grind.id}", f"its blade cannot be made: {cause}")]
        return failed + list(_unseen(grind, answer.proposal, papers))


def _unseen(grind: Grind, proposal: Proposal, papers: Mapping[str, str]) -> Iterator[Finding]:
    """Parameters of a grind that somebody who grinds or buys its blade is not shown."""
    for parameter in grind.parameters:
        if parameter.name in proposal.own_parameters:
            label = "".join(parameter.label.removesuffix(PER_SIDE).split()).casefold()
            for paper, words in papers.items():
                if label not in "".join(words.split()).casefold():
                    yield Finding(f"grind {grind.id}", f"the parameter {parameter.name} shows nowhere on the {paper}")


def service_with(plugin: Any = None, *packs: str | Path) -> Service:
    """What is shipped, a plug-in or packs on trial, and nothing else that happens to be installed or lies about."""
    others = sorted({point.name for point in installed() if point.name != BUILTIN})
    plugins = {} if plugin is None or _is_shipped(plugin) else {_NAME: plugin}
    folders = [str(pack) for pack in packs]
    return Service(plugins=plugins, packs=folders, own_packs=False, own_shop=False, without=others)


def _is_shipped(plugin: Any) -> bool:
    """Whether it is the built-in plug-in, which is there in any case."""
    return (BUILTIN, getattr(plugin, "__name__", None)) in {(point.name, point.value) for point in installed()}


def _specimens_of(service: Service, wanted: Callable[[Registered[Any]], bool]) -> Iterator[Specimen]:
    """Sections and blades of the grinds wanted, for every brief."""
    for name, settings in _BRIEFS.items():
        for measured in service.briefs.specimens(with_settings(Brief(), settings), _SECTIONS, _DESIGNS):
            if wanted(measured.grind):
                words = f"{measured.grind.item.label} for {name}"
                yield Specimen(words, measured.sections, measured.context, measured.forms)


@cache
def _specimens() -> tuple[Specimen, ...]:
    return tuple(_specimens_of(service_with(), lambda stamped: True))


@cache
def _answers() -> tuple[dict[str, Any], ...]:
    service = service_with()
    briefs = (with_settings(Brief(title=_TITLE), settings) for settings in _ANSWERED)
    return tuple(service.drawings.document_data(service.recommend(brief, flips=False)) for brief in briefs)


def _pack_findings(service: Service, pack: str) -> list[Finding]:
    """What is wrong with a loaded pack beyond what loading it finds."""
    return [Finding(f"pack {pack}", problem) for problem in service.rules.pack_problems(pack)]
