"""An answer in one breath: what to ask for, why, how sure, the next best and what it is not for, in sentences."""

from __future__ import annotations

from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.text.answer.parameters_text import behind_edge, micro_bevel_words
from recommender.drawing.text.answer.words_text import Audience
from recommender.drawing.text.text_page import TextPage
from recommender.models.answer.proposal import EQUAL_POINTS, Alternative, Answer, Lost, MayBreak, Proposal, Reason
from recommender.models.answer.served import AS_GOOD_AS_MET
from recommender.models.answer.summary import Named, Summary
from recommender.text import capital
from recommender.units import INCH_MM, Unit, show

THIN_MM, STOUT_MM = 2.2, 5.0
"""Stock that is called thin up to the one and stout from the other on; an estimate of how people speak."""
NEAR_POINTS, FAR_POINTS = 2.0, 6.0
"""So far behind is called close, and from there on well behind."""
REASONS = 3
AT_RISK = 2
"""Limits that may break, named in a breath; the others under --why."""
LIKELY_WORDS = (
    (0.9, "very likely"),
    (0.66, "likely"),
    (0.33, "about as likely as not"),
    (0.1, "unlikely"),
    (0.0, "very unlikely"),
)
"""Chance from which a word is used. Source: Mastrandrea et al., IPCC guidance note on uncertainties (2010), table 1,
without its outermost rows; from memory."""


def summary(answer: Answer, named: Named | None, lengths: Lengths = Lengths()) -> Summary:  # noqa: B008 - frozen
    """An answer's sentences, in the reader's unit; `named` where there is a proposal."""
    p = answer.proposal
    if p is None or named is None:
        return Summary(first="Nothing fits this brief; no wish was replaced.")
    equal = as_good(answer) if answer.brief.wishes.grind is None else []
    return Summary(
        first=" ".join(filter(None, (poor_words(answer), unwise_words(answer), *failed_words(answer)))),
        ask_for=_ask_for(p, equal, named, lengths),
        grind=_grind(answer, p, equal, lengths),
        why=_why(answer),
        sure=_sure(answer, p, equal),
        next_best=_next_best(answer, equal),
        not_for=not_for(answer),
        named=named,
    )


def sentences(found: Summary, *, maker: bool) -> list[str]:
    """Those for a buyer or a maker, in their order."""
    what = found.grind if maker else found.ask_for
    return [text for text in (found.first, what, found.why, found.sure, found.next_best, found.not_for) if text]


def two_blades_text(first: Answer, audience: Audience, width: int, inches: bool) -> str:
    """Two blades in a breath each, with what each is for."""
    page = TextPage(width, Lengths(inches))
    page.heading("Two blades instead")
    for word, answer in (("One", first), ("The other", first.second_blade)):
        if answer is not None:
            found = summary(answer, answer.summary.named if answer.summary else None, Lengths(inches))
            words = " ".join(sentences(found, maker=audience == "maker"))
            page.line(f"{word}, for {', '.join(answer.brief.tasks)}: {words}", "  ", "    ")
    return page.text()


def poor_words(answer: Answer) -> str:
    """What a reader has to know before the recommendation: some task is served poorly; else ""."""
    told = {cost.task for cost in answer.costs if cost.met < AS_GOOD_AS_MET}
    poor = [task for task in answer.served_poorly if task not in told]
    if poor and len(answer.verdicts) > 1:
        return f"No single blade does all of this well: poor at {' and '.join(poor)}. Consider two blades."
    return "Mind: within what this brief fixes, no blade does this well." if poor else ""


def failed_words(answer: Answer) -> list[str]:
    """Tasks of which the blade fails a demand, a sentence each."""
    of_tasks = {cost.rule for cost in answer.costs}
    return [w.short for w in answer.cautions if w.id in of_tasks and w.short and w.in_draws is None]


def unwise_words(answer: Answer) -> str:
    """What a reader has to know of a wish that costs much; else ""."""
    better = _better_than_wished(answer)
    if not better or answer.proposal is None or -(better[0].behind or 0.0) < FAR_POINTS:
        return ""
    wished = answer.proposal.grind_label
    return f"Mind: a {wished} grind is what was wished, not what serves best; {_wish_costs(better)}."


def _better_than_wished(answer: Answer) -> list[Alternative]:
    """The grind that would have been proposed without the wish for another, and those as good; none if it is that."""
    if answer.brief.wishes.grind is None:
        return []
    ahead = [a for a in answer.alternatives if a.proposal and a.behind is not None and a.behind <= -EQUAL_POINTS]
    first = min((a.behind or 0.0 for a in ahead), default=0.0)
    return sorted((a for a in ahead if (a.behind or 0.0) < first + EQUAL_POINTS), key=lambda a: a.behind or 0.0)


def _labels(grinds: list[Alternative]) -> str:
    return " or ".join(a.grind_label for a in grinds)


def _wish_costs(better: list[Alternative]) -> str:
    """What the wish costs, in words: how much better others would serve, and the first in which two things most."""
    ahead = -(better[0].behind or 0.0)
    how = "a little" if ahead < NEAR_POINTS else "much" if ahead >= FAR_POINTS else "clearly"
    gained = sorted(better[0].gained, key=lambda gain: gain.points)[:2]
    things = "; ".join(f"{_lower(gain.title)} ({_against(gain)})" for gain in gained)
    return f"{_labels(better)} would serve {how} better" + (f": {things}" if things else "")


def _against(gain: Lost) -> str:
    """The other's figure against that of the wish."""
    other, own = (
        "does not get there" if value is None else show(value, Unit(gain.unit))
        for value in (gain.alternative, gain.proposal)
    )
    return f"{other} against {own}"


def main_reasons(answer: Answer) -> list[Reason]:
    """The first goals that speak clearly for the proposal."""
    return [reason for reason in answer.reasons if reason.kind == "goal" and reason.carries][:REASONS]


def likely(chance: float) -> str:
    """A chance, 0 to 1, in a word.

    >>> likely(0.93), likely(0.5)
    ('very likely', 'about as likely as not')
    """
    return next(word for least, word in LIKELY_WORDS if chance >= least)


def of_100(share: float) -> str:
    """A share of the draws as so many of 100; draws are no proof of always or never.

    >>> of_100(0.734), of_100(1.0), of_100(0.0)
    ('73', 'more than 99', 'fewer than 1')
    """
    if share > 0.995:
        return "more than 99"
    return "fewer than 1" if share < 0.005 else f"{100 * share:.0f}"


def as_good(answer: Answer) -> list[Alternative]:
    """Other grinds that do as well, by points alone."""
    return [a for a in answer.alternatives if a.behind is not None and abs(a.behind) < EQUAL_POINTS]


def _ask_for(p: Proposal, equal: list[Alternative], named: Named, lengths: Lengths) -> str:
    article = "An" if named.steel[0] in "aeiou" else "A"
    looks = [_looks(p, named, lengths), *(_looks(a.proposal, named, lengths) for a in equal if a.proposal)]
    ground = looks[0] if len(looks) == 1 else f"{_either(looks)} (one as good as the other)"
    return (
        f"{article} {named.steel} {named.blade} about {_about(p.blade_length_mm, lengths)} long, "
        f"{_thick(p.stock_thickness_mm, lengths)}, ground {ground}, its edge at {_edge(p)}."
    )


def _either(looks: list[str]) -> str:
    """Ways to grind of which one is as good as the other; what all begin with is said once.

    >>> _either(["on one face only, from back to edge", "on one face only, up to a line"])
    'on one face only, either from back to edge or up to a line'
    """
    starts = [words.rpartition(", ")[0] for words in looks]
    if starts[0] and len(set(starts)) == 1:
        return f"{starts[0]}, either {' or '.join(words.rpartition(', ')[2] for words in looks)}"
    return f"either {' or '.join(looks)}"


def _looks(p: Proposal, named: Named, lengths: Lengths) -> str:
    words = named.grinds.get(p.grind) or f"as a {p.grind_label}"
    return f"{words} {lengths(p.grind_line_mm, 0)} above the edge" if words.endswith("up to a line") else words


def _about(mm: float, lengths: Lengths) -> str:
    """A length as people say it.

    >>> _about(203.0, Lengths()), _about(203.0, Lengths(inches=True)), _about(46.0, Lengths())
    ('20 cm', '8 inches', '4.6 cm')
    """
    if lengths.inches:
        size = f"{mm / INCH_MM:.0f}" if mm >= 100 else f"{mm / INCH_MM:.1f}"
        return f"{size} inches"
    return f"{mm / 10:.0f} cm" if mm >= 100 else f"{mm / 10:.2g} cm"


def _thick(mm: float, lengths: Lengths) -> str:
    at_back = f"{lengths(mm)} at the back"
    if THIN_MM < mm < STOUT_MM:
        return f"{lengths(mm)} thick at the back"
    return f"{'thin' if mm <= THIN_MM else 'stout'} ({at_back})"


def _edge(p: Proposal) -> str:
    each, both = f"{p.edge_angle_per_side_deg:g}", f"{p.edge_angle_included_deg:g}"
    text = f"{each} degrees a side, {both} in all"
    if p.side != "both":
        text = f"{both} degrees, on the {p.side} side alone (edge down, tip forward)"
    if p.micro_bevel_per_side_deg is not None and p.micro_bevel_included_deg is not None:
        text += (
            f", ending in a tiny bevel of {p.micro_bevel_per_side_deg:g} a side, {p.micro_bevel_included_deg:g} in all"
        )
    return text


def _grind(answer: Answer, p: Proposal, equal: list[Alternative], lengths: Lengths) -> str:
    line = "at the spine" if p.grind_line_below_spine_mm < 1e-6 else f"{lengths(p.grind_line_mm, 1)} above the edge"
    wheel = "" if p.wheel_diameter_mm is None else f" on the {lengths(p.wheel_diameter_mm, 0)} wheel"
    side = "" if p.side == "both" else f", {p.side} side only"
    micro = f", micro-bevel {words}" if (words := micro_bevel_words(p)) else ""
    labels = " or ".join([p.grind_label, *(a.grind_label for a in equal)])
    either = f"Either {labels} (one as good as the other); as {p.grind_label}" if equal else capital(labels)
    steel = answer.brief.steel
    return (
        f"{either}{side}: {lengths(p.stock_thickness_mm)} stock of {(steel.grade or '').upper()} at "
        f"{steel.hardness_hrc:g} HRC, {behind_edge(p, lengths)}{wheel}, grind line {line}, edge "
        f"{angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)}{micro}."
    )


def _why(answer: Answer) -> str:
    titles = [_lower(reason.title) for reason in main_reasons(answer)]
    return f"Why: {'; '.join(titles)}." if titles else ""


def _lower(title: str) -> str:
    """As it stands within a sentence: an abbreviation stays."""
    return title if title[:2].isupper() and title[:2].isalpha() else title[:1].lower() + title[1:]


def _sure(answer: Answer, p: Proposal, equal: list[Alternative]) -> str:
    if answer.confidence is None or not answer.alternatives:
        return ""
    wins = answer.confidence.wins
    named, what, rest = {p.grind, *(a.grind for a in equal)}, "one of these is" if equal else "it is", ""
    if answer.brief.wishes.grind is not None:
        better = _better_than_wished(answer)
        named = {a.grind for a in better} or {p.grind}
        what = f"without the wish {_labels(better) or p.grind_label} would be"
        rest = f"; {p.grind_label} in {of_100(wins.get(p.grind, 0.0))}" if better else ""
    chance = round(sum(wins.get(grind, 0.0) for grind in named), 2)
    often = [a for a in answer.alternatives if a.grind not in named and wins.get(a.grind, 0.0) > chance]
    if often and not rest:
        first = max(often, key=lambda a: wins[a.grind])
        rest = f"; {first.grind_label} in {of_100(wins[first.grind])}"
    text = f"How sure: {what} the best in {of_100(chance)} of 100 sets of numbers that the sources allow"
    return " ".join(filter(None, (f"{text} ({likely(chance)}){rest}.", _may_break(answer, p, equal))))


def _may_break(answer: Answer, p: Proposal, equal: list[Alternative]) -> str:
    """Limits that the proposal breaks in a good part of the draws, those that guard people first."""
    at_risk = answer.confidence.may_break if answer.confidence is not None else ()
    if not at_risk:
        return ""
    blade = f"As {p.grind_label} it" if equal or answer.brief.wishes.grind is not None else "It"
    named = [
        f"“{each.title}” ({_of_tasks(answer, each)}in {100 * each.share:.0f} of 100)"
        for each in sorted(at_risk, key=lambda each: not each.safety)[:AT_RISK]
    ]
    more = len(at_risk) - len(named)
    return f"{blade} may fail {' and '.join(named)}" + (f"; {more} more under --why." if more else ".")


def _of_tasks(answer: Answer, limit: MayBreak) -> str:
    """For which tasks a limit may break, where it is not for all."""
    some = 0 < len(limit.tasks) < len(answer.brief.tasks)
    return f"{' and '.join(limit.tasks)}, " if some else ""


def _next_best(answer: Answer, equal: list[Alternative]) -> str:
    others = [a for a in answer.alternatives if a.proposal and a.behind is not None and a not in equal]
    if not others:
        return ""
    if better := _better_than_wished(answer):
        return "" if unwise_words(answer) else f"Without the wish: {_wish_costs(better)}."
    first = min(others, key=lambda a: a.behind or 0.0)
    behind = first.behind or 0.0
    how = "close behind" if behind < NEAR_POINTS else "well behind" if behind >= FAR_POINTS else "somewhat behind"
    return f"Next best: {first.grind_label}, {how}."


def not_for(answer: Answer) -> str:
    """What its cautions say that it must not do; "" where none says anything."""
    uses = list(dict.fromkeys(w.forbids for w in answer.cautions if w.forbids))
    return f"Not for {', nor for '.join(uses)}." if uses else ""
