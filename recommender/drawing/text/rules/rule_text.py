"""A rule before one answer: what it does, why, from where, and by which of its conditions it fired or not."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Protocol

from recommender.drawing.text.text_page import TextPage
from recommender.drawing.text.usual_words import of_usual_words
from recommender.engine.intake.tested_conditions import condition_lines
from recommender.models.base import Basis
from recommender.models.knowledge.rule import GoalEffect, LeanEffect, LimitEffect, Revision, Rule, WordsEffect
from recommender.packs.knowledge import LoadedRule
from recommender.units import Unit, show

if TYPE_CHECKING:  # showing a rule needs none of what answers a brief
    from recommender.engine.answer.rule_trace import RuleTrace


class Measured(Protocol):
    """What is told of a metric."""

    @property
    def label(self) -> str:
        """How it is called."""

    @property
    def unit(self) -> Unit:
        """What it is measured in."""


STATE_WORDS = {
    "fired": "fired: its condition holds here",
    "silent": "silent: its condition does not hold here",
    "blocked": "blocked: something that it asks for is not known or has no meaning here",
}
_HELD = {True: "yes", False: "no", None: "cannot be told"}


def rule_text(ruling: RuleTrace, metrics: Mapping[str, Measured], width: int) -> str:
    """Everything about a rule before an answer, `width` columns wide."""
    page, rule = TextPage(width), ruling.loaded.rule
    _name(page, ruling.loaded)
    page.line(STATE_WORDS[ruling.state].capitalize() + ".")
    for line in ruling.tested:
        found = f" (here: {line.found})" if line.found else ""
        indent = "  " * (line.depth + 1)
        page.line(f"{line.asks}{found}: {_HELD[line.held]}", indent, indent + "  ")
    page.gap()
    page.line(effect_words(rule, metrics))
    if ruling.points is not None and ruling.most_points is not None:
        most = f" of {ruling.most_points:.1f}" if rule.kind == "goal" else ""
        ratio = "" if ruling.of_usual is None else f" The blade has {of_usual_words(ruling.of_usual)}."
        page.line(f"It brought {ruling.points:+.1f}{most} points.{ratio}")
    elif ruling.points is not None:
        page.line(
            f"It cost {-ruling.points:.1f} points: the blade falls short of it for work that is less than half. Where "
            "that is half or more, it shuts out."
        )
    if ruling.shut_out:
        page.line(f"It shuts out {ruling.shut_out:,} candidates of other grinds, alone or with other limits.")
    _grounds(page, rule)
    return page.text()


def rule_page(loaded: LoadedRule, metrics: Mapping[str, Measured], width: int) -> str:
    """Everything that a rule says by itself, `width` columns wide."""
    page, rule = TextPage(width), loaded.rule
    _name(page, loaded)
    page.line("Fires where:")
    for depth, asks in condition_lines(rule.when):
        indent = "  " * (depth + 1)
        page.line(asks, indent, indent + "  ")
    page.gap()
    page.line(effect_words(rule, metrics))
    _grounds(page, rule)
    return page.text()


def _name(page: TextPage, loaded: LoadedRule) -> None:
    page.line(loaded.rule.title)
    page.line(f"{loaded.rule.kind} “{loaded.rule.id}”, pack {loaded.pack}, {loaded.file}")
    if loaded.rule.formerly:
        page.line(f"Formerly “{'”, “'.join(loaded.rule.formerly)}”.")
    if loaded.rule.safety:
        page.line("It guards people: who switches it off has to say why.")
    page.gap()


def _grounds(page: TextPage, rule: Rule) -> None:
    page.gap()
    page.line(f"Because: {rule.because}")
    for line in basis_lines(rule):
        page.line(line)
    for line in map(revision_words, rule.history):
        page.line(line)
    if rule.examples:
        page.heading("Examples")
    for example in rule.examples:
        facts = ", ".join(f"{k} = {_value(v)}" for k, v in example.facts.items()) or "nothing given"
        page.line(f"{'fires' if example.fires else 'silent'}: {facts}", "  ", "    ")


def basis_lines(rule: Rule) -> list[str]:
    """How the claim of a rule is known, and its numbers where that is another thing."""
    lines = [f"Basis: {_source(rule.basis)}."]
    return lines if rule.numbers is None else [*lines, f"Basis of its numbers: {_source(rule.numbers)}."]


def _source(basis: Basis) -> str:
    source = basis.citation or ("no source: known in the trade" if basis.level == "common practice" else "no source")
    return f"{basis.level}; {source}"


def revision_words(revision: Revision) -> str:
    """What a number was before, and why it is another now."""
    what = f"{revision.key} " if revision.key else ""
    return f"{revision.date}: {what}from {revision.from_} to {revision.to}: {revision.why}"


def effect_words(rule: Rule, metrics: Mapping[str, Measured]) -> str:
    """What a rule does when it fires."""
    effect = rule.effect
    match effect:
        case GoalEffect():
            metric = metrics[effect.metric]
            if effect.of_usual:
                low, high = (f"{v:g} times" for v in (effect.from_, effect.to))
                of = " what the usual blade for the task has"
            else:
                low, high = (show(v, metric.unit) for v in (effect.from_, effect.to))
                of = ""
            return (
                f"Wants {metric.label} from {low} (worth nothing) to {high} (worth all){of}, weight {effect.weight:g}."
            )
        case LeanEffect():
            return f"Leans {effect.points:+g} points."
        case LimitEffect():
            found = metrics.get(effect.metric or "")
            name, unit = (found.label, found.unit) if found else (str(effect.field), Unit.NONE)
            bounds = [
                words
                for bound, words in (
                    (effect.min, f"at least {show(effect.min or 0.0, unit)}"),
                    (effect.max, f"at most {show(effect.max or 0.0, unit)}"),
                )
                if bound is not None
            ]
            if effect.in_ is not None:
                bounds.append("one of " + ", ".join(str(v) for v in effect.in_))
            return f"Shuts out what does not keep {name} {' and '.join(bounds)}."
        case WordsEffect():
            return f"Says to {effect.audience}: {effect.text}"


def _value(value: object) -> str:
    return ", ".join(map(str, value)) or "none" if isinstance(value, (list, tuple)) else str(value)
