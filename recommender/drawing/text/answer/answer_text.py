"""The answer in plain words: what to tell the maker first, then why, what to take care of, and the rest."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.text.answer.firmness_text import dimension_bands_words, flips_part, tolerances_part
from recommender.drawing.text.answer.form_text import form_part, form_words
from recommender.drawing.text.answer.parameters_text import (
    behind_edge,
    behind_edge_value,
    micro_bevel_words,
    parameter_rows,
)
from recommender.drawing.text.answer.section_text import section_lines
from recommender.drawing.text.answer.shop_figures_text import shop_part
from recommender.drawing.text.answer.summary_text import as_good, poor_words, sentences, summary
from recommender.drawing.text.answer.words_text import Audience, advice_part, cautions_part, rule_name
from recommender.drawing.text.text_page import TextPage
from recommender.drawing.text.usual_words import of_usual_words
from recommender.geometry.ground_face import GroundFace
from recommender.geometry.outline import Outline
from recommender.models.answer.proposal import (
    CARRIES_SHARE,
    Alternative,
    Answer,
    Confidence,
    MetricValue,
    Proposal,
    Reason,
    ShutOut,
)
from recommender.models.answer.served import Served
from recommender.text import capital, clean, plural
from recommender.units import Unit

PART_NAMES = (
    "title",
    "unnamed",
    "summary",
    "blade",
    "section",
    "why",
    "care",
    "figures",
    "others",
    "change",
    "keeping",
    "shop",
    "advice",
    "assumed",
    "made with",
)
"""Parts of an answer in the order of the page."""


LEAST_SHARE = 0.01
"""Of the draws: a grind that is the best in fewer is not listed."""
THIN_EVIDENCE = 0.5
"""Share of the points that rest on estimates from which evidence is called thin; our choice."""


def answer_text(
    answer: Answer,
    outline: Outline | None,
    *,
    audience: Audience = "buyer",
    width: int = 80,
    inches: bool = False,
    names: Sequence[str] = PART_NAMES,
) -> str:
    """Write an answer for a buyer or a maker; `outline` (v, 3) is the proposal's section, drawn when given.

    `names`: the parts of the page to write.
    """
    parts = answer_parts(answer, outline, audience=audience, width=width, inches=inches)
    return "\n".join(parts[name] for name in names if name in parts)


def answer_parts(
    answer: Answer,
    outline: Outline | None,
    *,
    audience: Audience = "buyer",
    width: int = 80,
    inches: bool = False,
) -> dict[str, str]:
    """Every part of an answer's page by name, each ending in one newline; parts with nothing to say are left out."""
    lengths = Lengths(inches)
    parts: dict[str, str] = {}

    def part(name: str, write: Callable[[TextPage], None]) -> None:
        page = TextPage(width, lengths)
        write(page)
        if page.lines:
            parts[name] = page.text()

    p = answer.proposal
    if answer.brief.title:
        part("title", lambda page: page.line(clean(str(answer.brief.title), one_line=True)))
    if p is None:
        part("blade", lambda page: _nothing_fits(page, answer))
    else:
        part("unnamed", lambda page: _unnamed(page, answer))
        part("summary", lambda page: _summary(page, answer, audience, lengths))
        part("blade", lambda page: _blade(page, answer, p, lengths))
        if outline is not None:
            part("section", lambda page: _section(page, outline, p, lengths))
        part("why", lambda page: _why(page, answer, lengths))
    part("care", lambda page: cautions_part(page, answer.cautions, audience))
    if p is not None:
        part("figures", lambda page: _figures(page, answer, lengths))
        part("others", lambda page: _why_not(page, answer, lengths))
        part("change", lambda page: flips_part(page, answer))
        if audience == "maker":
            part("keeping", lambda page: tolerances_part(page, answer.tolerances, lengths))
            part("shop", lambda page: shop_part(page, answer, lengths))
        part("advice", lambda page: advice_part(page, answer.advice, audience))
    part("assumed", lambda page: _assumed(page, answer, audience, lengths))
    part("made with", lambda page: _provenance(page, answer))
    return parts


def _section(page: TextPage, outline: Outline, p: Proposal, lengths: Lengths) -> None:
    for line in drawn_section(outline, p, page.width - 2, lengths):
        page.raw("  " + line if line else "")


def drawn_section(outline: Outline, p: Proposal, width: int, lengths: Lengths) -> list[str]:
    """The section (v, 3) of a proposal, drawn at most `width` columns wide."""
    return section_lines(
        outline,
        shoulder_mm=_shoulder(outline, p),
        grind_line_mm=p.grind_line_mm,
        edge_thickness_mm=0.0 if p.one_bevel_mm is not None else p.edge_thickness_mm,
        width=width,
        lengths=lengths,
    )


def headline(answer: Answer, p: Proposal, *, inches: bool = False) -> list[str]:
    """A blade in three lines: the grind, its edge and line, its size. `p` is the proposal or another blade."""
    lengths = Lengths(inches)
    line = (
        "at the spine"
        if p.grind_line_below_spine_mm < 1e-6
        else f"{lengths(p.grind_line_below_spine_mm, 1)} below the spine"
    )
    wheel = "" if p.wheel_diameter_mm is None else f", {lengths(p.wheel_diameter_mm, 0)} wheel"
    side = "" if p.side == "both" else f", {p.side} side only"
    grade = (answer.brief.steel.grade or "").upper()
    return [
        f"{capital(p.grind_label)}{side}: {angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)}",
        f"{behind_edge(p, lengths)}, grind line {line}{wheel}",
        f"{lengths(p.stock_thickness_mm)} stock, {lengths(p.blade_height_mm, 1)} high, "
        f"{lengths(p.blade_length_mm, 0)} long, {grade} at {answer.brief.steel.hardness_hrc:g} HRC",
    ]


def _unnamed(page: TextPage, answer: Answer) -> None:
    """Nobody said what the blade is for."""
    if answer.brief_sources["tasks"].source == "default":
        gear = "" if answer.brief_sources["owner.gear"].source == "given" else ", sharpened with the gear assumed below"
        page.line(
            f"No task was named, so this is for {', '.join(answer.brief.tasks)}{gear}. Name yours, such as "
            "--set tasks.food-prep=1; “bevelwright tasks” lists them."
        )


def _summary(page: TextPage, answer: Answer, audience: Audience, lengths: Lengths) -> None:
    """The answer in one breath; of an answer of an earlier version only what has to be known first."""
    if answer.summary is None:
        if words := poor_words(answer):
            page.line(words)
        return
    for text in sentences(summary(answer, answer.summary.named, lengths), maker=audience == "maker"):
        page.line(text, hanging="  ")
    page.gap()


def _shoulder(outline: Outline, proposal: Proposal) -> float:
    if proposal.one_bevel_mm is not None or not proposal.edge_thickness_mm:
        return 0.0
    return float(min(face.shoulder_y_mm[0] for face in (GroundFace.right(outline), GroundFace.left(outline))))


def _blade(page: TextPage, answer: Answer, p: Proposal, lengths: Lengths) -> None:
    points = answer.points
    assert points is not None  # comes with every proposal
    called = "Recommended" if answer.brief.wishes.grind is None else "As wished"
    page.line(f"{called}: {p.grind_label} ({points.total:.0f} of 100 points)")
    page.row("edge", angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg))
    if micro := micro_bevel_words(p):
        page.row("micro-bevel", micro)
    page.row("behind the edge", behind_edge_value(p, lengths))
    share = "" if p.grind_line_below_spine_mm < 1e-6 else f" ({100 * p.grind_line_share:.0f} % of the height)"
    page.row("grind line", grind_line_words(p, lengths) + share)
    for label, value in parameter_rows(p, lengths):
        page.row(label, value)
    page.row("ground on", _side(p))
    if p.wheel_diameter_mm is not None:
        page.row("contact wheel", lengths(p.wheel_diameter_mm, 0))
    page.row(
        "blade",
        f"{lengths(p.stock_thickness_mm)} stock (spine thickness), {lengths(p.blade_height_mm, 1)} high, "
        f"{lengths(p.blade_length_mm, 0)} long",
    )
    page.row("tip and spine", form_words(p, lengths))
    page.row("steel", steel_words(answer))
    fit = "; ".join(f"{task} {served_words(each)}" for task, each in answer.verdicts.items())
    page.row("serves", fit)
    if answer.summary is None and answer.confidence is not None and answer.alternatives:
        page.row("how sure", _sure_in_short(answer, answer.confidence))


def grind_line_words(p: Proposal, lengths: Lengths) -> str:
    """Where the grind line of a blade runs."""
    if p.grind_line_below_spine_mm < 1e-6:
        return "at the spine (full height)"
    return lengths.grind_line(p.grind_line_mm, p.grind_line_below_spine_mm)


def steel_words(answer: Answer) -> str:
    """The steel and its hardness, and whose choice it was."""
    steel = answer.brief.steel
    chosen = "" if answer.brief_sources["steel.grade"].source == "given" else " (our choice: none was named)"
    return f"{(steel.grade or '').upper()} at {steel.hardness_hrc:g} HRC{chosen}"


def served_words(served: Served) -> str:
    """How a task is served: the word first, how much of what it asks, and what it falls short of."""
    short = f", short of “{'” and “'.join(served.short_of)}”" if served.short_of else ""
    return f"{served.verdict} ({100 * served.met:.0f} % of what it asks{short})"


def _sure_in_short(answer: Answer, sure: Confidence) -> str:
    assert answer.proposal is not None
    share = 100 * sure.wins.get(answer.proposal.grind, 0.0)
    text = f"the best in {share:.0f} % of the cases that the uncertain numbers allow"
    equal = [other.grind_label for other in as_good(answer)]
    if equal:
        text += f"; {' and '.join(equal)} would do just as well"
    return text


def _side(p: Proposal) -> str:
    if p.side == "both":
        return "both sides alike: suits either hand"
    return f"the {p.side} side only (seen edge down, tip forward)"


_SHOWN_FIGURES = (
    "cut_force",
    "split_depth",
    "release_margin_deg",
    "edge_strength",
    "pry_moment",
    "edge_retention",
    "sharpening_minutes",
    "sharpenings",
)


def _figures(page: TextPage, answer: Answer, lengths: Lengths) -> None:
    page.heading("Figures (~ marks an estimate, with its band; they compare shapes)")
    for name in _SHOWN_FIGURES:
        metric = answer.metrics.get(name)
        if metric is not None and name == "edge_retention" and not metric.value:
            page.row(metric.label, "not told: an edge as steep or soft as this lies past the range of the test", 32)
            continue
        if metric is None or metric.value is None:
            continue
        unit = Unit(metric.unit)
        text = _figure(metric, metric.value, lengths)
        if metric.low is not None and metric.high is not None and metric.high > metric.low:
            low, high = (lengths.figure(float(_two_digits(end)), unit) for end in (metric.low, metric.high))
            text += f", from {low} to {high}"
        if len(metric.by_task) > 1:
            parts = (f"{task} {_figure(metric, v, lengths)}" for task, v in metric.by_task.items() if v is not None)
            text += f" ({', '.join(parts)})"
        page.row(metric.label, text, 32)
    _whole_blade(page, answer, lengths)


def _whole_blade(page: TextPage, answer: Answer, lengths: Lengths) -> None:
    blade = answer.blade
    if blade is None:
        return
    page.row(
        "blade alone, without handle",
        f"{blade.mass_g:.0f} g, balance {lengths(blade.balance_mm, 0)} from the plunge line",
        32,
    )
    bend = answer.metrics.get("tip_bend_strength")
    band = ""
    if bend is not None and bend.low is not None and bend.high is not None:
        band = f" (from {_two_digits(bend.low)} to {_two_digits(bend.high)})"
    page.row(
        f"tip, sideways {lengths(blade.behind_tip_mm, 0)} behind it",
        f"~ fails at {_two_digits(blade.tip_strength_n)} N{band}, bends 1 mm under "
        f"{_two_digits(blade.stiffness_n_per_mm)} N",
        32,
    )


def _figure(metric: MetricValue, value: float, lengths: Lengths) -> str:
    """A figure with its unit; an estimate is marked, and told to two digits."""
    unit = Unit(metric.unit)
    return f"~ {lengths.figure(float(_two_digits(value)), unit)}" if metric.estimate else lengths.figure(value, unit)


def _two_digits(value: float) -> str:
    """A figure that is an estimate, to two digits.

    >>> _two_digits(1234.5), _two_digits(87.2)
    ('1200', '87')
    """
    return f"{float(f'{value:.2g}'):g}"


def _why(page: TextPage, answer: Answer, lengths: Lengths) -> None:
    points = answer.points
    assert points is not None
    page.heading("Why this")
    for reason in answer.reasons:
        if reason.carries:
            _reason(page, answer, reason, lengths)
    for reason in answer.reasons:
        if reason.kind == "lean" and reason.points < 0:
            _reason(page, answer, reason, lengths)
    short = [r for r in answer.reasons if r.kind == "goal" and r.points < CARRIES_SHARE * r.most_points]
    if short:
        listed = "; ".join(f"{r.title.lower()} ({r.points:.1f} of {r.most_points:.1f})" for r in short)
        page.line(f"Falls short of: {listed}.", "  ", "    ")
    page.line(
        f"Points: {points.goals:.1f} of 75 from what is wanted, {12.5 + points.leans:.1f} of 25 from practice "
        "(12.5 where nothing tips it).",
        "  ",
        "    ",
    )
    page.line(evidence_words(answer.reasons), "  ", "    ")
    form_part(page, answer, lengths)
    _how_sure(page, answer, lengths)
    for limit in answer.deciding:
        named = rule_name(limit.rule, limit.pack)
        page.line(f"Decided by the limit “{limit.title}” [{named}]: {limit.text}.", "  ", "    ")


def evidence_words(reasons: Sequence[Reason]) -> str:
    """How well founded the goals' points are, apart from how sure the choice is; "" without any."""
    by_level: dict[str, float] = {}
    for reason in reasons:
        if reason.kind == "goal" and reason.points > 0:
            by_level[reason.basis.level] = by_level.get(reason.basis.level, 0.0) + reason.points
    total = sum(by_level.values())
    if not total:
        return ""
    estimates = by_level.get("estimate", 0.0) / total
    word = "thin" if estimates >= THIN_EVIDENCE else "fair" if by_level.get("published", 0.0) < total / 2 else "firm"
    kinds = {"estimate": "estimates", "common practice": "common practice", "published": "published figures"}
    parts = [f"{by_level[level]:.0f} on {words}" for level, words in kinds.items() if level in by_level]
    return f"Evidence: {word}; of {total:.0f} points from what is wanted {', '.join(parts)}."


def _how_sure(page: TextPage, answer: Answer, lengths: Lengths) -> None:
    sure = answer.confidence
    if sure is None or answer.proposal is None or not answer.alternatives:
        return
    labels = {answer.proposal.grind: answer.proposal.grind_label}
    labels.update({a.grind: a.grind_label for a in answer.alternatives})
    wins = ", ".join(f"{labels[grind]} {100 * share:.0f}" for grind, share in sure.wins.items() if share >= LEAST_SHARE)
    what = "the best" if answer.brief.wishes.grind is None else "the best without the wish"
    text = f"Chances: with every uncertain number drawn {sure.draws} times from its band, {what} of 100 is {wins}."
    main = sure.main_uncertainty
    if main is not None:
        text += f" What matters most is the {main.input} (a {main.favours_proposal_when} one speaks for this answer)."
    page.line(text, "  ", "    ")
    if bands := dimension_bands_words(answer.proposal, sure, lengths):
        page.line(bands, "  ", "    ")
    for limit in sure.may_break:
        tasks = f" for {' and '.join(limit.tasks)}" if limit.tasks else ""
        page.line(
            f"Limit at risk: this blade breaks “{limit.title}”{tasks} in {100 * limit.share:.0f} of 100 draws "
            f"[{rule_name(limit.rule, limit.pack)}].",
            "  ",
            "    ",
        )


def _reason(page: TextPage, answer: Answer, reason: Reason, lengths: Lengths) -> None:
    points = f"{reason.points:+.1f}" + (f" of {reason.most_points:.1f}" if reason.kind == "goal" else "")
    figure = ""
    if reason.value is not None and reason.unit is not None and reason.metric is not None:
        metric = answer.metrics[reason.metric]
        usual = "" if reason.of_usual is None else f", {of_usual_words(reason.of_usual)}"
        figure = f"{metric.label} {_figure(metric, reason.value, lengths)}{usual}; "
    page.line(
        f"{reason.title}: {reason.text} [{figure}{points}; {rule_name(reason.rule, reason.pack)}: "
        f"{reason.basis.level}]",
        "  ",
        "    ",
    )


def _why_not(page: TextPage, answer: Answer, lengths: Lengths) -> None:
    if not answer.alternatives:
        return
    page.heading("Why not another")
    for other in answer.alternatives:
        page.line(_alternative(other, lengths), "  ", "    ")


def _alternative(other: Alternative, lengths: Lengths) -> str:
    if other.proposal is None:
        return f"{other.grind_label}: {other.why_not}"
    p = other.proposal
    edge = angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)
    return f"{other.grind_label} ({edge}, {behind_edge(p, lengths)}): {other.why_not}"


def _nothing_fits(page: TextPage, answer: Answer) -> None:
    page.line("Nothing fits this brief; no wish was replaced.")
    page.heading("The smallest changes that would help")
    for text in answer.relaxations or ["none of the limits or wishes helps when loosened alone"]:
        page.line(text, "  ", "    ")
    page.heading("What shuts everything out")
    for shut in answer.blocked[:8]:
        page.line(_shut(shut), "  ", "    ")
    if answer.against:
        page.heading("What speaks against the wished grind, even where it can be made")
    for said in answer.against:
        page.line(f"{said.title}: {said.text} [{rule_name(said.rule, said.pack)}]", "  ", "    ")


def _shut(shut: ShutOut) -> str:
    count = plural(shut.candidates, "candidate")
    alone = f", {shut.alone:,} of them alone" if shut.alone else ""
    what = f"the limit “{shut.reason}”" if shut.kind == "limit" else shut.reason
    named = "" if shut.rule is None else f" [{rule_name(shut.rule, shut.pack or '')}]"
    return f"{what} ({count}{alone}){named}"


def _assumed(page: TextPage, answer: Answer, audience: Audience, lengths: Lengths) -> None:
    hidden = "workshop." if audience == "buyer" else "-"
    open_fields = [
        (key, source)
        for key, source in answer.brief_sources.items()
        if source.source != "given" and not key.startswith(("wishes.", hidden))
    ]
    if not open_fields:
        return
    page.heading("Assumed, as the brief left it open")
    for key, source in open_fields:
        page.line(f"{key} = {_field(answer, key, lengths)}: {source.reason}", "  ", "    ")


def _field(answer: Answer, key: str, lengths: Lengths) -> str:
    """The value as a brief states it; to a reader in inches a length as well in theirs."""
    value: object = answer.brief
    for part in key.split("."):
        value = getattr(value, part)
    if isinstance(value, float) and lengths.inches and key.endswith("_mm"):
        return f"{value:g} ({lengths(value)})"
    if isinstance(value, dict):
        return ", ".join(value)
    if isinstance(value, tuple):
        return ", ".join(f"{v:g}" if isinstance(v, float) else str(v) for v in value) or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "open" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def _provenance(page: TextPage, answer: Answer) -> None:
    p = answer.provenance
    page.gap()
    packs = ", ".join(
        f"{name} {version}" + (f" ({p.pack_digests[name]})" if name in p.pack_digests else "")
        for name, version in p.packs.items()
    )
    page.line(
        f"Bevelwright {p.version}, rules: {packs}; {plural(p.candidates, 'candidate')} tried, "
        f"{p.made:,} can be made, {p.feasible:,} pass every limit. Figures compare shapes and never licence a load."
    )
    for used in p.plugins:
        if used.digest and (used.plugin == p.grind_from or len(p.plugins) > 1):
            whose = ", whose grind this is" if used.plugin == p.grind_from else ""
            page.line(f"Plug-in {used.plugin} ({used.distribution} {used.version}, {used.digest}){whose}.")
    for overruled in p.overruled:
        page.line(f"Overruled: {clean(overruled, one_line=True)}")
    for blocked in p.blocked:
        page.line(f"Blocked, not imported: plug-in {clean(blocked, one_line=True)}")
    for failure in p.failed:
        page.line(f"Left out: {clean(failure, one_line=True)}")
