"""Which rules matter over many briefs, as a table."""

from __future__ import annotations

from recommender.drawing.text.text_page import TextPage
from recommender.models.knowledge.coverage import Coverage, RuleCoverage
from recommender.text import plural

_HEADS = ("rule", "kind", "fired", "silent", "blocked", "other", "decided", "grind", "most")
_ROOM = 96
"""Columns for all of it; on less the last and the kind are left out."""
_GROUPS = {
    "never fires": "Never fire: their conditions hold for no blade of these briefs",
    "never decides": "Fire, and no answer hangs on them",
    "decides": "Decide",
}


def coverage_text(found: Coverage, *, width: int = 80, never_only: bool = False) -> str:
    """Write every rule with its counts, what matters least first; or only the rules that never fire."""
    page = TextPage(width)
    for matters, heading in _GROUPS.items():
        rows = [rule for rule in found.rules if rule.matters == matters]
        if rows and (matters == "never fires" or not never_only):
            page.heading(f"{heading} ({len(rows)})")
            page.table(_HEADS, [_cells(rule, page.width) for rule in rows])
    page.gap()
    counts = {matters: sum(rule.matters == matters for rule in found.rules) for matters in _GROUPS}
    page.line(
        f"{plural(len(found.rules), 'rule')} over {plural(found.briefs, 'brief')}: {counts['decides']} decide, "
        f"{counts['never decides']} fire only, {counts['never fires']} never fire."
    )
    for words in found.failed:
        page.line(f"left out: {words}", "  - ", "    ")
    if found.briefs > found.answered:
        page.line(f"{plural(found.briefs - found.answered, 'brief')} fit nothing.")
    if not never_only:
        page.line(
            "Fired, silent and blocked add up to the briefs. Other: not for the proposal, but for a blade that was "
            "not proposed. Decided: without it another grind would have won (grind), or other dimensions or another "
            "form; of words, that they were said. Most: points it brought or cost; candidates that a limit shut out "
            "of grinds of which none is left."
        )
    return page.text()


def _cells(rule: RuleCoverage, width: int) -> tuple[str, ...]:
    counts = (rule.fired, rule.silent, rule.blocked, rule.elsewhere, rule.decided, rule.decided_grind)
    wide = width >= _ROOM
    most = f"{rule.most:,.0f}" if rule.kind == "limit" else f"{rule.most:.1f}"
    return (rule.rule, rule.kind if wide else "", *map(str, counts), most if wide and rule.most else "")
