"""The quote and the care sheet in plain words, as documents for somebody who knows nothing about grinds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from recommender import __version__
from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.text.answer.form_text import form_words
from recommender.drawing.text.answer.life_text import life_facts
from recommender.drawing.text.answer.parameters_text import behind_edge_value, parameter_rows
from recommender.drawing.text.answer.summary_text import main_reasons, not_for, summary, unwise_words
from recommender.drawing.text.answer.words_text import for_audience
from recommender.drawing.text.workshop.price_text import money
from recommender.models.answer.proposal import Answer, Proposal, Words
from recommender.models.answer.sharpening_life import Life
from recommender.models.answer.summary import Named
from recommender.models.workshop.document import Block, Bullets, Document, Heading, Paragraph, Picture, Table
from recommender.models.workshop.quote import Order, Price
from recommender.models.workshop.shop import Business
from recommender.text import capital, clean, plural

TOLD_REASONS = 3
TOLD_GRINDS = 3  # of 0.1, which told of the next best in points
MOST_PAGES = 2


@dataclass(frozen=True)
class Names:
    """What things are called in the answer's knowledge."""

    tasks: tuple[str, ...]
    steel: str
    gear: tuple[str, ...]
    ordered: tuple[tuple[str, str], ...]
    """What is ordered besides the blade: (what, which)."""
    about: str
    """The grind, for somebody who has never seen it."""
    sharpened: str


@dataclass(frozen=True)
class QuoteHead:
    """What stands at the top of a quote."""

    name: str
    made: date
    valid_until: date
    order: Order
    business: Business


Head = QuoteHead  # its name in 0.1


def quote_document(
    head: QuoteHead, answer: Answer, price: Price, names: Names, pictures: Sequence[Picture], *, inches: bool = False
) -> Document:
    """The quote: what is made, what it costs, the terms, why, what guards people in short, how to keep it.

    For somebody who knows nothing, on two pages: rates, rules, points and estimates are the maker's, in `book show`.
    """
    p = answer.proposal
    assert p is not None
    lengths = Lengths(inches)
    blocks: list[Block] = [
        Heading(text=f"Quote {head.name}", level=1),
        *_head(head, answer, price),
        Heading(text="What you get"),
        *_recommended(answer, p, names, lengths),
        Heading(text="What it costs"),
        *_costs(price, names),
        *_included(head.order, price, names),
        *pictures,
        Heading(text="Terms"),
        _terms(head, price),
        Heading(text="Why this blade"),
        *_why(answer, lengths),
        *_cautions_in_short(answer, head.name),
        Heading(text="Sharpening and care"),
        *_care_in_short(p, names),
        Heading(text="How exact it is"),
        Paragraph(text=_how_exact(p)),
    ]
    foot = _foot(head.business, f"quote {head.name}")
    return Document(title=f"Quote {head.name}", foot=foot, blocks=_in_readers_units(blocks, lengths), pages=MOST_PAGES)


def care_document(head: QuoteHead, answer: Answer, life: Life, names: Names, *, inches: bool = False) -> Document:
    """The care sheet: what the blade is, how to sharpen it, when it wants thinning, what not to do with it."""
    p = answer.proposal
    assert p is not None
    lengths = Lengths(inches)
    facts = life_facts(life, life.blades[0], lengths) if life.blades else []
    if p.edge_thickness_mm == 0:
        facts = [(name, text) for name, text in facts if name != "work limit"]  # there is no shoulder to thicken
    blocks: list[Block] = [
        Heading(text=f"Care of your {p.grind_label} blade", level=1),
        Paragraph(text=f"It goes with quote {head.name} of {_plain(head.business.name)}. Keep it with the knife."),
        Heading(text="Your blade"),
        Paragraph(text=_plain(names.about)),
        _figures(answer, p, names, lengths),
        Heading(text="Sharpening"),
        *_sharpening(answer, p, names),
        Heading(text="How it ages (estimates)"),
        Table(rows=tuple((capital(name), text) for name, text in facts)),
        *_cautions(answer),
    ]
    foot = _foot(head.business, "care sheet")
    return Document(
        title=f"Care sheet {head.name}", foot=foot, blocks=_in_readers_units(blocks, lengths), pages=MOST_PAGES
    )


def _in_readers_units(blocks: Sequence[Block], lengths: Lengths) -> tuple[Block, ...]:
    """Blocks with the lengths that stand in their sentences in the reader's unit: rules state theirs in mm."""
    return tuple(_in_readers_unit(block, lengths) for block in blocks) if lengths.inches else tuple(blocks)


def _in_readers_unit(block: Block, lengths: Lengths) -> Block:
    match block:
        case Heading() | Paragraph():
            return block.model_copy(update={"text": lengths.prose(block.text)})
        case Bullets():
            return block.model_copy(update={"items": tuple(map(lengths.prose, block.items))})
        case Table():
            return block.model_copy(update={"rows": tuple(tuple(map(lengths.prose, row)) for row in block.rows)})
        case Picture():
            return block


def _plain(text: str) -> str:
    return clean(text, one_line=True)


def _foot(business: Business, what: str) -> str:
    return f"{_plain(business.name)}, {what}; made with Bevelwright {__version__}"


def _head(head: QuoteHead, answer: Answer, price: Price) -> list[Block]:
    business, order = head.business, head.order
    rows = [("From", ", ".join(map(_plain, (business.name, *business.address))))]
    if order.customer:
        rows.append(("For", _plain(order.customer)))
    if order.reference:
        rows.append(("Your reference", _plain(order.reference)))
    if answer.brief.title:
        rows.append(("About", _plain(answer.brief.title)))
    rows.append(("Date", f"{head.made.isoformat()}, valid until {head.valid_until.isoformat()}"))
    blocks: list[Block] = [Table(rows=tuple(rows))]
    if price.shop_values == "invented":
        blocks.append(Paragraph(text="An example: shop, rates and terms are invented, so nobody offers this."))
    return blocks


def _recommended(answer: Answer, p: Proposal, names: Names, lengths: Lengths) -> list[Block]:
    work = " and ".join((", ".join(names.tasks[:-1]), names.tasks[-1])) if len(names.tasks) > 1 else names.tasks[0]
    named = answer.summary.named if answer.summary else None
    blade = "blade" if named is None else _plain(named.blade)
    what = f"a {blade} of {_plain(names.steel)} with a {p.grind_label} grind"
    return [
        Paragraph(text=f"For {_plain(work)}: {what}. {_plain(names.about)}"),
        *_reservations(answer, names),
        _figures(answer, p, names, lengths),
    ]


def _reservations(answer: Answer, names: Names) -> list[Block]:
    """What the blade does poorly, and what a wish costs: whoever pays for it has to know before."""
    unwise: list[Block] = [Paragraph(text=_plain(words))] if (words := unwise_words(answer)) else []
    return [*unwise, *_served_poorly(answer, names)]


def _served_poorly(answer: Answer, names: Names) -> list[Block]:
    labels = dict(zip(answer.verdicts, names.tasks, strict=True))
    poor = [_plain(labels[task]) for task in answer.served_poorly]
    if not poor:
        return []
    if len(names.tasks) == 1:
        return [Paragraph(text="Mind: within what was asked for, no blade does this well; this one does it best.")]
    return [
        Paragraph(
            text=f"Mind: no single blade does all of this well, and this one is poor at {' and '.join(poor)}. Two "
            "blades would serve better."
        )
    ]


def _figures(answer: Answer, p: Proposal, names: Names, lengths: Lengths) -> Table:
    line = (
        "at the spine: ground over its full height"
        if p.grind_line_below_spine_mm < 1e-6
        else f"{lengths.grind_line(p.grind_line_mm, p.grind_line_below_spine_mm)}: where the ground face ends"
    )
    behind = f"{lengths(p.edge_thickness_mm)}, where the small bevel of the edge begins"
    if p.one_bevel_mm is not None:
        behind = f"{behind_edge_value(p, lengths)}: edge and face run into each other without a shoulder"
    elif not p.edge_thickness_mm:
        behind = "ground to zero: the faces themselves meet in the edge"
    rows = [
        ("Edge", f"{angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)}: what to hold when you sharpen it"),
        ("Thickness behind the edge" if _has_edge_bevel(p) else "Behind the edge", behind),
        ("Grind line", line),
        *((capital(_plain(label)), _plain(value)) for label, value in parameter_rows(p, lengths)),
        ("Ground on", "both sides" if p.side == "both" else f"the {p.side} side, seen edge down and tip forward"),
        (
            "Blade",
            f"{lengths(p.stock_thickness_mm)} thick at the spine, {lengths(p.blade_height_mm, 1)} high, "
            f"{lengths(p.blade_length_mm, 0)} long",
        ),
        ("Tip and spine", form_words(p, lengths)),
        ("Steel", f"{_plain(names.steel)} at {answer.brief.steel.hardness_hrc:g} HRC"),
    ]
    if p.micro_bevel_per_side_deg is not None and p.micro_bevel_included_deg is not None:
        rows.insert(1, ("Micro-bevel", angle(p.micro_bevel_per_side_deg, p.micro_bevel_included_deg)))
    if answer.blade is not None:
        rows.append(("Weight of the blade", f"about {answer.blade.mass_g:.0f} g without tang and handle"))
    return Table(rows=tuple(rows))


def _why(answer: Answer, lengths: Lengths) -> list[Block]:
    telling = main_reasons(answer)[:TOLD_REASONS]
    blocks: list[Block] = []
    if telling:
        blocks.append(Bullets(items=tuple(f"{_plain(r.title)}: {_plain(r.text)}" for r in telling)))
    # What the wish for this grind costs stands in it too: a customer has to hear that.
    next_best = summary(answer, answer.summary.named if answer.summary else Named(), lengths).next_best
    return [*blocks, Paragraph(text=_plain(next_best))] if next_best else blocks


def _costs(price: Price, names: Names) -> list[Block]:
    def amount(value: Decimal) -> str:
        return f"{value:,.{price.minor_digits}f}"

    chosen = dict(names.ordered)

    def called(label: str) -> str:
        """What a customer sees as one, with which it is."""
        which = chosen.get("Finish" if label == "blade" else capital(label))
        if which is None:
            return capital(_plain(label))
        return _plain(f"{plural(price.pieces, label) if price.pieces > 1 else capital(label)}: {which}")

    rows = [(called(share.label), amount(share.amount)) for share in price.shares]
    tax = next((line for line in price.lines if line.group == "tax"), None)
    totals = [(f"Total in {price.currency}", amount(price.total))]
    if tax is not None:
        taxed = (f"{capital(_plain(tax.label))}, {tax.quantity} %", amount(tax.amount))
        totals = [("Before tax", amount(price.net)), taxed, *totals]
    if price.pieces > 1:
        totals.append((f"Each of {plural(price.pieces, 'piece')}", amount(price.each)))
    if price.deposit:
        totals.append((f"Deposit on order, {price.deposit_percent} %", amount(price.deposit)))
        totals.append(("Rest", amount(price.total - price.deposit)))
    return [Table(rows=(*rows, *totals), totals=len(totals), figures=True)]


def _included(order: Order, price: Price, names: Names) -> list[Block]:
    """What is in the price and what is not, each by name: nobody has to ask what goes without saying."""
    chosen = dict(names.ordered)
    blades = "the blade" if order.pieces == 1 else f"{order.pieces} blades, all alike,"
    tax = next((_plain(line.label) for line in price.lines if line.group == "tax"), None)
    asked = {"a handle": "Handle", "a sheath": "Sheath", "sending it to you": "Sent"}
    parts = {what: _plain(chosen[name]) if name in chosen else None for what, name in asked.items()} | {"tax": tax}
    made = f"{blades} of the steel named, ground, hardened, finished and sharpened"
    has = "; ".join([made, *(words for words in parts.values() if words)])
    lacks = "; ".join([*(what for what, words in parts.items() if not words), "anything else that is not named here"])
    return [Bullets(items=(f"Included: {has}.", f"Not included: {lacks}."))]


def _terms(head: QuoteHead, price: Price) -> Bullets:
    terms = [f"This quote holds until {head.valid_until.isoformat()}."]
    if price.deposit:
        rest = money(price.total - price.deposit, price)
        terms.append(f"Deposit on order: {money(price.deposit, price)}; then {rest} are left to pay.")
    return Bullets(items=(*terms, *map(_plain, head.business.terms)))


def _cautions_in_short(answer: Answer, name: str) -> list[Block]:
    """What it is not for, and every caution that guards a person in one line; where they stand in full."""
    words = for_audience(answer.cautions, "buyer")
    guards = sorted((w for w in words if w.short), key=lambda w: not w.specific)
    others = len(words) - len(guards)
    more = f", with {plural(others, 'caution')} on upkeep" if others else ""
    blocks: list[Block] = [Heading(text="Take care")]
    if unfit := not_for(answer):
        blocks.append(Paragraph(text=_plain(unfit)))
    if guards:
        blocks.append(Bullets(items=tuple(_plain(str(w.short)) for w in guards)))
    return [
        *blocks,
        Paragraph(
            text=f"Read all of it in full{more} in care sheet {name}, which comes with this quote. "
            "Local law and licensed practice come before anything written here."
        ),
    ]


def _how_exact(p: Proposal) -> str:
    behind = ", the thickness behind the edge within 0.05 mm" if _has_edge_bevel(p) else ""
    return (
        f"It is ground by hand: edge angles within half a degree{behind}, lengths within 0.5 mm. How it cuts, lasts "
        "and bears load is reckoned with coefficients that are estimates. Strength figures compare shapes and never "
        "licence a load."
    )


def _has_edge_bevel(p: Proposal) -> bool:
    return p.one_bevel_mm is None and p.edge_thickness_mm > 0


def _care_in_short(p: Proposal, names: Names) -> list[Block]:
    keep = f"Keep the angle it has: {angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)}."
    return [
        Bullets(
            items=(
                f"You have: {', '.join(map(_plain, names.gear))}. {_plain(names.sharpened)}",
                keep,
                "The care sheet says step by step how to sharpen it, how it ages, and when it wants thinning.",
            )
        )
    ]


def _sharpening(answer: Answer, p: Proposal, names: Names) -> list[Block]:
    advice = [word for word in for_audience(answer.advice, "buyer") if not word.choosing]
    steps = [
        _plain(names.sharpened),
        f"Keep the angle it has: {angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)}.",
        *(_plain(word.text) for word in advice),
    ]
    return [Paragraph(text=f"You have: {', '.join(map(_plain, names.gear))}."), Bullets(items=tuple(steps))]


def _cautions(answer: Answer) -> list[Block]:
    words = for_audience(answer.cautions, "buyer")
    return [
        *_listed("What not to do with it", [w for w in words if w.specific]),
        *_listed("Take care", [w for w in words if not w.specific]),
        Paragraph(text="Local law and licensed practice come before anything written here."),
    ]


def _listed(heading: str, words: Sequence[Words]) -> list[Block]:
    if not words:
        return []
    return [Heading(text=heading), Bullets(items=tuple(_plain(word.text) for word in words))]
