"""The engine's side of every question: what is told on it, part by part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from recommender.errors import BevelwrightError, InputError
from recommender.models.answer.proposal import Proposal
from recommender.models.brief import Brief
from recommender.processes.left_out import failures_of
from recommender.service import Service, with_settings
from recommender.worker.drawn_blade import NOTHING_DRAWN, DrawnBlade
from recommender.worker.messages import Start
from recommender.worker.parts import (
    AlternativePart,
    AnswerPart,
    Catalogue,
    Choice,
    ComparisonPart,
    DocumentPart,
    FreshPart,
    GlossaryPart,
    GrindWords,
    LifePart,
    Measure,
    Part,
    PricePart,
    QuotePart,
    RulebookPart,
    TrialPart,
    TwoBladesPart,
    written,
)
from recommender.worker.questions import (
    AlternativeQuestion,
    AnswerQuestion,
    CatalogueQuestion,
    DocumentQuestion,
    FreshQuestion,
    GlossaryQuestion,
    PriceQuestion,
    Question,
    QuoteQuestion,
    RulebookQuestion,
    TrialQuestion,
    TwoBladesQuestion,
)


def service_of(start: Start) -> Service:
    """What is to be loaded, not loaded yet."""
    return Service(without=start.without, foreign=start.foreign, left_out=failures_of(start.left_out))


def parts(service: Service, question: Question) -> Iterator[Part]:
    """Everything that is told on a question, each part as soon as it stands. Raises BevelwrightError."""
    match question:
        case CatalogueQuestion():
            yield catalogue(service)
        case AnswerQuestion():
            yield from _answer(service, question)
        case AlternativeQuestion():
            yield AlternativePart(grind=question.blade.grind, drawn=_drawn(service, question.blade))
        case TwoBladesQuestion():
            yield TwoBladesPart(answer=service.two_blades(question.brief))
        case TrialQuestion():
            yield from _trial(service, question)
        case PriceQuestion():
            yield _price(service, question)
        case QuoteQuestion():
            yield _quote(service, question)
        case DocumentQuestion():
            yield DocumentPart(data=service.drawings.document(question.answer, question.writer, inches=question.inches))
        case FreshQuestion():
            found = service.workshop.fresh(question.quote, service.workshop.shop())
            yield FreshPart(differences=tuple(found))
        case RulebookQuestion():
            yield _rulebook(service, question)
        case GlossaryQuestion():
            yield _glossary(service)


def catalogue(service: Service) -> Catalogue:
    """What there is to choose from. Raises PackError."""
    known = service.knowledge

    def choices(rows: Iterable[Any], meaning: str = "") -> tuple[Choice, ...]:
        return tuple(
            Choice(id=row.id, label=row.label, meaning=getattr(row, meaning) if meaning else "") for row in rows
        )

    return Catalogue(
        tasks=choices(known.tasks_to_choose, "meaning"),
        gear=choices(known.gear.values(), "meaning"),
        steels=choices(known.steels.values(), "family"),
        grinds=choices(service.grinds.values()),
        writers=tuple(service.registry.writers),
        foreign=tuple(str(origin) for origin in service.registry.origins if origin.foreign),
    )


def _drawn(service: Service, blade: Proposal | None) -> DrawnBlade:
    if blade is None:
        return NOTHING_DRAWN
    try:
        section = service.drawings.section_of(blade)
    except BevelwrightError:
        section = None
    return DrawnBlade(section=section, view=service.drawings.view(blade))


def _answer(service: Service, question: AnswerQuestion) -> Iterator[Part]:
    brief = with_settings(Brief(), question.settings)
    blade, drawn = None, NOTHING_DRAWN
    for answer in service.answers(brief, flips=question.flips):
        if answer.proposal != blade:
            blade, drawn = answer.proposal, _drawn(service, answer.proposal)
        yield AnswerPart(brief=brief, answer=answer, drawn=drawn)
    yield LifePart(life=service.briefs.life_of(answer, brief))


def _trial(service: Service, question: TrialQuestion) -> Iterator[Part]:
    brief, briefs, first = question.brief, service.briefs, question.proposal
    blade = briefs.changed(brief, question.base, question.values)
    trial = briefs.weigh(brief, blade)
    proposal = trial if blade == first else briefs.weigh(brief, first)
    knobs = briefs.knobs(brief, blade, question.base)
    yield TrialPart(proposal=proposal, trial=trial, knobs=knobs, drawn=_drawn(service, blade))
    blades = []
    for label, other in question.beside:
        if other is None or other == blade:
            blades.append((label, trial))
        else:
            blades.append((label, proposal if other == first else briefs.weigh(brief, other)))
    yield ComparisonPart(blades=tuple(blades))


def _price(service: Service, question: PriceQuestion) -> PricePart:
    shop = sheet = price = None
    try:
        shop = service.workshop.shop()
        sheet = service.workshop.worksheet(question.brief, question.answer, shop, question.order)
        price = service.workshop.price(question.answer, question.order, shop)
    except BevelwrightError as error:
        return PricePart(shop=shop, sheet=sheet, price=None, words=str(error))
    return PricePart(shop=shop, sheet=sheet, price=price, words="")


def _quote(service: Service, asked: QuoteQuestion) -> QuotePart:
    make = service.workshop.quote(
        asked.brief, asked.answer, asked.order, service.workshop.shop(), asked.made, inches=asked.inches
    )
    return QuotePart(quote=make(asked.number, asked.revision))


def _rulebook(service: Service, question: RulebookQuestion) -> RulebookPart:
    from recommender.engine.answer.rule_trace import RuleTrace
    from recommender.plugin.plugin_status import PluginStatus

    metrics = {name: stamped.item for name, stamped in service.registry.metrics.items()}
    return RulebookPart(
        traces=written(RuleTrace, service.briefs.rule_traces(question.brief, question.answer)),
        measures={name: Measure(label=metric.label, unit=metric.unit) for name, metric in metrics.items()},
        plugins=written(PluginStatus, service.loaded.plugin_statuses(question.answer)),
    )


def _glossary(service: Service) -> GlossaryPart:
    try:
        drawn = service.drawings.grinds_drawn()
    except InputError:  # no task or steel of the shipped ones is left to draw them by
        drawn = [(grind, None, 0.0) for grind in service.grinds.values()]
    return GlossaryPart(
        grinds=tuple(
            GrindWords(
                label=grind.label,
                about=grind.about,
                made=grind.made,
                sharpened=grind.sharpened,
                outline=outline,
                line_mm=line_mm,
            )
            for grind, outline, line_mm in drawn
        )
    )
