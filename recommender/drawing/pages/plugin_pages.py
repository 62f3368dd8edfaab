"""Pages of what plug-ins give: grinds and metrics."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from recommender.drawing.documents.document_markdown import escaped
from recommender.drawing.pages.markup import bullets, page, part, table
from recommender.drawing.pages.site import Site, path
from recommender.models.knowledge.rule import GoalEffect, LimitEffect, Rule, fields_of
from recommender.plugin.api import Grind, Metric, Parameter
from recommender.plugin.guard import Registered
from recommender.units import show


def grind_page(site: Site, stamped: Registered[Grind]) -> bytes:
    """A grind drawn: how it is made and sharpened, its knobs, and the rules that speak of it."""
    grind = stamped.item

    def blocks() -> Iterator[str]:
        yield _whence(grind.id, stamped)
        if grind.id in site.drawn_grinds:
            yield f"![Its section, edge left]({path('grinds', grind.id, 'svg').rpartition('/')[2]})"
        yield escaped(grind.about)
        yield f"Made: {escaped(grind.made)}"
        yield f"Sharpened: {escaped(grind.sharpened)}"
        able = (id_ for id_, gear in sorted(site.knowledge.gear.items()) if grind.surfaces <= set(gear.surfaces))
        yield from part("Gear that sharpens it", bullets(site.link("gear", id_) for id_ in able))
        yield from part("Dimensions", table(("dimension", "from", "to", "shop step"), map(_knob, grind.parameters)))
        yield from part("Rules that name it", bullets(site.rule_lines("grinds", grind.id)))

    return page(grind.label, blocks())


def _knob(knob: Parameter) -> tuple[str, ...]:
    if knob.choices:
        return escaped(knob.label), escaped(", ".join(map(str, knob.choices))), "", ""
    step = show(knob.step, knob.unit) if knob.step else ""
    return (
        escaped(knob.label),
        *(escaped(words) for words in (show(knob.low, knob.unit), show(knob.high, knob.unit), step)),
    )


def metric_page(site: Site, stamped: Registered[Metric]) -> bytes:
    """A metric: what it is, and the goals, limits and conditions on it."""
    metric = stamped.item

    def lines(wanted: Callable[[Rule], bool]) -> str:
        return bullets(site.rule_lines("metrics", metric.id, wanted))

    def asks(rule: Rule) -> bool:
        return f"metric.{metric.id}" in fields_of(rule.when)

    def blocks() -> Iterator[str]:
        yield _whence(metric.id, stamped)
        better = {"higher": "More is better", "lower": "Less is better", "either": "Neither more nor less is better"}
        unit = f" in {escaped(metric.unit.value)}" if metric.unit.value != "1" else ""
        yield f"A figure of the {metric.of}{unit}. {better[metric.better]} by itself."
        yield escaped(metric.about)
        yield "It leans on estimated coefficients." if metric.estimate else ""
        yield from part("Goals on it", lines(lambda rule: _on(rule, GoalEffect, metric.id)))
        yield from part("Limits on it", lines(lambda rule: _on(rule, LimitEffect, metric.id)))
        yield from part("Rules that ask for it", lines(asks))

    return page(metric.label, blocks())


def _on(rule: Rule, kind: type[GoalEffect | LimitEffect], metric: str) -> bool:
    return isinstance(rule.effect, kind) and rule.effect.metric == metric


def _whence(id_: str, stamped: Registered[Grind] | Registered[Metric]) -> str:
    return f"{escaped(id_)}, of plug-in {escaped(str(stamped.origin))}. [Everything](../index.md)"
