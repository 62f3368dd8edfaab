"""An answer on one screen: sentences, dimensions, drawing, reasons, what would change it, every warning in a line."""

from __future__ import annotations

from recommender.drawing.lengths import Lengths, angle
from recommender.drawing.text.answer.answer_text import answer_parts, grind_line_words, steel_words
from recommender.drawing.text.answer.firmness_text import flips_in_short
from recommender.drawing.text.answer.parameters_text import behind_edge, micro_bevel_words, parameter_rows
from recommender.drawing.text.answer.section_text import whole_lines
from recommender.drawing.text.answer.summary_text import main_reasons, sentences, summary
from recommender.drawing.text.answer.words_text import Audience, for_audience
from recommender.drawing.text.text_page import TextPage
from recommender.geometry.outline import Outline
from recommender.models.answer.proposal import Answer, Proposal
from recommender.text import clean, plural

MOST_LINES = 40
_FULLNESS = ((6, True), (6, False), (3, False), (0, False))
"""Rows of the drawing, and whether reasons stand in full, the fullest first."""
_READ_ON = "More: --why, --others, --what-if, --care, --figures; --full prints everything."
_CHANGE_LINES = 3
"""Kept free for what would change the answer, which is known last."""


def screen_text(
    answer: Answer,
    outline: Outline | None,
    *,
    audience: Audience = "buyer",
    width: int = 80,
    inches: bool = False,
) -> tuple[str, str]:
    """What stands as soon as the answer does, and what follows once it is known what would change it.

    At most MOST_LINES together. Where warnings need more room the reasons shrink to a sentence, then the drawing goes,
    and then there are more lines: no warning is left out.
    """
    if answer.proposal is None:
        return "\n".join(answer_parts(answer, outline, audience=audience, width=width, inches=inches).values()), ""
    page = _Screen(answer, answer.proposal, outline, audience, width, Lengths(inches))
    tail = page.tail()
    room = MOST_LINES - tail.count("\n") - (0 if answer.tried else _CHANGE_LINES)
    fuller = (page.head(rows=rows, reasons=reasons) for rows, reasons in _FULLNESS)
    head = ""
    for head in fuller:
        if head.count("\n") <= room:
            break
    return head, tail


class _Screen:
    def __init__(
        self, answer: Answer, p: Proposal, outline: Outline | None, audience: Audience, width: int, lengths: Lengths
    ) -> None:
        self.answer, self.p, self.outline, self.audience, self.lengths = answer, p, outline, audience, lengths
        self.width = width

    def head(self, *, rows: int, reasons: bool) -> str:
        """Sentences, dimensions, drawing of at most so many rows, and reasons in full or as a sentence."""
        page = TextPage(self.width, self.lengths)
        answer = self.answer
        if answer.brief.title:
            page.line(clean(str(answer.brief.title), one_line=True))
            page.gap()
        found = summary(answer, answer.summary.named if answer.summary else None, self.lengths)
        if reasons:  # they stand below in full
            found = found.model_copy(update={"why": ""})
        for text in sentences(found, maker=self.audience == "maker"):
            page.line(text, hanging="  ")
        if answer.brief_sources["tasks"].source == "default":
            page.line(f"No task was named: answered for {', '.join(answer.brief.tasks)}; --set tasks.food-prep=1.")
        page.gap()
        self._dimensions(page)
        if rows and self.outline is not None:
            page.gap()
            grind_line = self.p.grind_line_mm
            lines = whole_lines(
                self.outline, grind_line_mm=grind_line, width=self.width - 4, rows=rows, lengths=self.lengths
            )
            for line in lines:
                page.raw("  " + line if line else "")
        if reasons:
            page.heading("Why")
            self._reasons(page)
        return page.text()

    def _dimensions(self, page: TextPage) -> None:
        p, lengths = self.p, self.lengths
        edge = angle(p.edge_angle_per_side_deg, p.edge_angle_included_deg)
        page.row(
            "grind", p.grind_label + ("" if p.side == "both" else f", {p.side} side only (edge down, tip forward)")
        )
        page.row("edge", f"{edge}, {behind_edge(p, lengths)}")
        if micro := micro_bevel_words(p):
            page.row("micro-bevel", micro)
        page.row("grind line", grind_line_words(p, lengths))
        for label, value in parameter_rows(p, lengths):
            page.row(label, value)
        if p.wheel_diameter_mm is not None:
            page.row("contact wheel", lengths(p.wheel_diameter_mm, 0))
        size = f"{lengths(p.stock_thickness_mm)} stock, {lengths(p.blade_height_mm, 1)} high"
        page.row("blade", f"{size}, {lengths(p.blade_length_mm, 0)} long")
        page.row("steel", steel_words(self.answer))

    def _reasons(self, page: TextPage) -> None:
        for reason in main_reasons(self.answer):
            page.line(f"{reason.title}: {reason.text}", "  ", "    ")

    def tail(self) -> str:
        """What would change it, every warning that guards a person, and where to read on."""
        page = TextPage(self.width, self.lengths)
        if self.answer.tried:
            page.line(flips_in_short(self.answer), hanging="  ")
        words = for_audience(self.answer.cautions, self.audience)
        guards = [w for w in words if w.short]
        page.heading("Take care")
        for word in sorted(guards, key=lambda w: not w.specific):
            page.line(clean(str(word.short), one_line=True), "  - ", "    ")
        others = [w for w in words if not w.short]
        if others:
            page.line(f"  and {plural(len(others), 'caution')} on workshop and upkeep: --care")
        page.gap()
        if len(self.answer.verdicts) > 1 and self.answer.served_poorly:
            page.line("Two blades instead: --two.")
        page.line(_READ_ON)
        if self.answer.provenance.failed:
            page.line(
                f"Left out: {'; '.join(clean(failed, one_line=True) for failed in self.answer.provenance.failed)}"
            )
        return page.text()
