"""What asking a quoted brief again, with today's rules and rates, would change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from recommender.models.answer.proposal import PER_SIDE, Answer, Proposal, Provenance, SwedgeBevel
from recommender.models.workshop.book import Difference
from recommender.models.workshop.quote import Price, Quote
from recommender.packs.facts import FACTS

_DIMENSIONS = {
    "grind_label": "design.grind",
    "edge_angle_per_side_deg": "design.edge_angle_per_side_deg",
    "edge_angle_included_deg": "design.edge_angle_included_deg",
    "edge_thickness_mm": "design.edge_thickness_mm",
    "micro_bevel_per_side_deg": "design.micro_bevel_per_side_deg",
    "stock_thickness_mm": "design.stock_thickness_mm",
    "blade_height_mm": "design.height_mm",
    "blade_length_mm": "brief.blade.length_mm",
    "grind_line_mm": "design.grind_line_mm",
    "wheel_diameter_mm": "design.wheel_diameter_mm",
    "side": "design.side",
    "tip": "design.tip",
    "distal_taper": "design.distal_taper_mm_per_mm",
}
"""Keys of a proposal -> the facts that say what they are called."""


def differences(quote: Quote, answer: Answer, price: Price | None) -> list[Difference]:
    """Everything in a quote that a fresh answer and price have otherwise; no price where nothing fits any more."""
    return [
        *_of_blade(quote.answer.proposal, answer.proposal),
        *(_of_price(quote.price, price) if price is not None else ()),
        *_of_versions(quote.answer.provenance, answer.provenance),
    ]


def _of_blade(then: Proposal | None, now: Proposal | None) -> Iterator[Difference]:
    if then is None or now is None:
        if then is not now:
            yield Difference("grind", _shown(then and then.grind_label), _shown(now and now.grind_label))
        return
    for name, fact in _DIMENSIONS.items():
        if getattr(then, name) != getattr(now, name):
            yield Difference(str(FACTS[fact].about), _shown(getattr(then, name)), _shown(getattr(now, name)))
    ours, theirs = then.own_parameters, now.own_parameters
    for name in dict.fromkeys([*ours, *theirs]):
        was, is_now = (None if own.get(name) is None else own[name].value for own in (ours, theirs))
        if was != is_now:
            labels = (own[name].label for own in (theirs, ours) if name in own)
            label = next((label for label in labels if label), name.replace("_", " "))
            yield Difference(label.removesuffix(PER_SIDE), _shown(was), _shown(is_now))
    old, new = (_shown(None if p.swedge is None else _swedge(p.swedge)) for p in (then, now))
    if old != new:  # in words: a key that came since is no difference
        yield Difference("swedge", old, new)


def _swedge(s: SwedgeBevel) -> str:
    return f"{s.length_mm:g} mm long at {s.angle_per_side_deg:g}° per side, {s.spine_mm:g} mm of spine left"


def _of_price(then: Price, now: Price) -> Iterator[Difference]:
    if then.currency != now.currency:
        yield Difference("currency", then.currency, now.currency)
    labels = {line.id: line.label for line in (*now.lines, *then.lines)}
    yield from _changed(
        labels, {line.id: str(line.amount) for line in then.lines}, {line.id: str(line.amount) for line in now.lines}
    )
    if then.total != now.total:
        yield Difference("total", str(then.total), str(now.total))


def _of_versions(then: Provenance, now: Provenance) -> Iterator[Difference]:
    def versions(p: Provenance) -> dict[str, str]:
        return {f"pack {name}": version for name, version in p.packs.items()} | {
            f"plug-in {used.plugin}": used.version for used in p.plugins
        }

    if then.version != now.version:
        yield Difference("Bevelwright", then.version, now.version)
    old, new = versions(then), versions(now)
    yield from _changed({name: name for name in (*old, *new)}, old, new)


def _changed(labels: Mapping[str, str], then: Mapping[str, str], now: Mapping[str, str]) -> Iterator[Difference]:
    for name, label in labels.items():
        if then.get(name) != now.get(name):
            yield Difference(label, _shown(then.get(name)), _shown(now.get(name)))


def _shown(value: object) -> str:
    if value is None:
        return "none"
    return f"{value:g}" if isinstance(value, float) else str(value)
