"""What other rules would change, brief by brief."""

from __future__ import annotations

from recommender.drawing.text.text_page import TextPage
from recommender.models.knowledge.rules_diff import BriefChanged, Reach, RulesDiff, Stand, Through
from recommender.text import plural

MOST_LISTED = 20
_UNITS = {
    "distal_taper": "mm per mm",
    "_mm_per_mm": "mm per mm",
    "_deg": "°",
    "_mm": "mm",
    "_hrc": "HRC",
    "_shore_a": "Shore A",
}


_STATES = {
    None: "no such rule",
    "fired": "the rule holds for it",
    "silent": "the rule is not about such a blade",
    "blocked": "the rule cannot be told of it",
}
"""What a rule said of a blade, for somebody who knows knives."""


def rules_diff_text(found: RulesDiff, *, width: int = 80) -> str:
    """Write every brief that comes out otherwise, and count the others."""
    page = TextPage(width)
    _changes(page, found)
    for changed in found.changed:
        _brief(page, changed)
    page.gap()
    counted = plural(len(found.changed), "brief") + " of " + f"{found.briefs:,}"
    page.line(f"{counted} come out otherwise; {found.unchanged:,} as before.")
    for reach in found.reaches[:MOST_LISTED]:
        page.line(_reach(reach, found.briefs), "  - ", "    ")
    idle = [reach for reach in found.reaches if not reach.changed]
    if any(not reach.concerned for reach in idle):
        page.line(
            "What was not met was read, and may be right: write a brief that meets it into a folder (a file as "
            "bevelwright recommend takes it) and ask again with --briefs FOLDER."
        )
    if any(reach.concerned for reach in idle):
        page.line(
            "Where a change was met and changed no blade, the blade that led without it leads with it too: rules why "
            "ID BRIEF --packs FOLDER shows what it brought."
        )
    return page.text()


def _reach(reach: Reach, briefs: int) -> str:
    """How far a change reaches, in words for its author."""
    change = reach.change
    name = f"{change.kind} {change.id}, {change.how}"
    if not reach.concerned:
        met = "no brief of them uses it" if change.kind != "rule" else "its condition holds in none of the briefs"
        return f"{name}: {met}."
    if reach.found is None:
        met = f"used in {reach.concerned:,} of {plural(briefs, 'brief')}"
    else:
        met = f"its condition can hold in {reach.concerned:,} of {plural(briefs, 'brief')}"
        met += f", and holds for the recommended blade in {reach.found:,}"
    did = f"it changes the blade in {reach.changed:,}" if reach.changed else "it changes no blade"
    return f"{name}: {met}; {did}."


def _changes(page: TextPage, found: RulesDiff) -> None:
    if not found.changes:
        page.line("The same rules and tables. (A draft is not loaded: its line with status has to go first.)")
        return
    old, new = ("what is loaded" if place == "-" else place for place in (found.old, found.new))
    page.line(f"From {old} to {new}: {plural(len(found.changes), 'change')} of rules and tables")
    for change in found.changes[:MOST_LISTED]:
        words = "" if change.moves else " (words only)"
        page.line(f"{change.kind} {change.id} {change.how}{words}", "  - ", "    ")
    if len(found.changes) > MOST_LISTED:
        page.line(f"and {len(found.changes) - MOST_LISTED} more, see --json", "  - ")


def _brief(page: TextPage, changed: BriefChanged) -> None:
    page.heading(changed.brief)
    page.line(f"{_stand(changed.then)} → {_stand(changed.now)}", "  ", "    ")
    for moved in changed.dimensions:
        page.line(f"{_label(moved.name)}: {_value(moved.name, moved.then)} → {_value(moved.name, moved.now)}", "    ")
    if changed.alone:
        how = "through any of these" if len(changed.through) > 1 else "through"
    elif len(changed.through) > 1:
        how = "through no single one of these, but together"
    else:
        how = "not through this alone" if changed.through else "through nothing that was found"
    if changed.untried and not changed.alone:
        how += f" ({changed.untried} more were not tried one by one)"
    page.line(f"{how}:" if changed.through else f"{how}.", "  ")
    for through in changed.through:
        page.line(_through(through), "    ", "      ")


def _through(through: Through) -> str:
    change = through.change
    title = f"{change.kind} {change.id}, {change.how}"
    states = (through.then_state, through.now_state)
    if change.kind != "rule" or states == (None, None):
        return title
    before, now = _ruling(states[0], through.then_points), _ruling(states[1], through.now_points)
    return f"{title}. The blade before: {before}. The blade now: {now}."


def _ruling(state: str | None, points: float | None) -> str:
    words = _STATES[state]
    return words if points is None else f"{words}, {points:+.1f} points"


def _stand(stand: Stand) -> str:
    if stand.error is not None:
        return f"cannot be asked ({stand.error})"
    return "nothing fits" if stand.points is None else f"{stand.grind_label} ({stand.points:.1f} points)"


def _unit(name: str) -> tuple[str, str]:
    return next(((end, unit) for end, unit in _UNITS.items() if name.endswith(end)), ("", ""))


def _label(name: str) -> str:
    return (name.removesuffix(_unit(name)[0]) or name).replace("_", " ")


def _value(name: str, value: float | str | None) -> str:
    if value is None:
        return "none"
    unit = _unit(name)[1]
    return f"{value:.4g}{'' if unit in ('', '°') else ' '}{unit}" if isinstance(value, (int, float)) else value
