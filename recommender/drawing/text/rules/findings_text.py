"""What is wrong with rules, by file, and what a kind of finding means."""

from __future__ import annotations

from itertools import groupby

from recommender.drawing.text.text_page import TextPage
from recommender.engine.audit.checks.check import CheckReport
from recommender.packs.findings import Kind, RuleFinding
from recommender.text import plural


def findings_text(checked: CheckReport, width: int) -> str:
    """Write findings by file, one a line with its proof, and how many there are."""
    page = TextPage(width)
    for file, findings in groupby(checked.findings, key=lambda finding: finding.file):
        page.heading(file)
        for finding in findings:
            _finding(page, finding)
    page.gap()
    errors = sum(finding.level == "error" for finding in checked.findings)
    counts = f"{plural(errors, 'error')}, {plural(len(checked.findings) - errors, 'warning')}"
    page.line(f"{plural(checked.rules, 'rule')} of {', '.join(checked.packs)} checked: {counts}.")
    if checked.findings:
        page.line("rules check --explain ID tells what a finding means and how to put it right.")
    return page.text()


def kind_text(kind: Kind, width: int) -> str:
    """Write the page of a kind of finding."""
    page = TextPage(width)
    page.line(f"{kind.title} ({kind.id}, {kind.level})")
    for lead, words in (("What", kind.what), ("Why", kind.why), ("Example", kind.example), ("How to fix", kind.fix)):
        page.gap()
        page.line(f"{lead}: {words}")
    return page.text()


def _finding(page: TextPage, finding: RuleFinding) -> None:
    named = f"{finding.rules[0]}: " if finding.rules else ""
    page.line(f"{finding.level} {finding.id}: {named}{finding.says}", "  ", "    ")
    if finding.proof:
        page.line(finding.proof, "      ")
    if finding.settings is not None:
        asked = " ".join(f"--set {setting}" for setting in finding.settings) or "one that says nothing"
        page.line(f"brief: {asked}", "      ")
