"""The answer on the screen: the blade in three lines with its section, texts, cautions; text is shown literally."""

from __future__ import annotations

import re
import textwrap
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.events import Resize
from textual.message import Message
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from recommender.models.answer.proposal import Answer
from recommender.text import clean, plural


def literal(lines: list[str] | str) -> Content:
    """A text, or lines, shown as they are."""
    return Content(clean(lines if isinstance(lines, str) else "\n".join(lines)))


def marked(text: str, words: str) -> Content:
    """A text as it is, every place that has the words marked."""
    content = literal(text)
    return content.highlight_regex(f"(?i){re.escape(words)}", style="reverse") if words else content


class TextPart(VerticalScroll, can_focus=True):
    """A text, scrolled by itself."""

    text = ""

    def compose(self) -> ComposeResult:
        """One text."""
        yield Static(Content(""))

    def show(self, text: str | list[str]) -> None:
        """Show a text as it is."""
        self.text = text if isinstance(text, str) else "\n".join(text)
        self.mark("")

    def mark(self, words: str) -> None:
        """Mark every place that has the words; none for ""."""
        self.query_one(Static).update(marked(self.text, words))

    def reveal(self, line: int) -> None:
        """Bring a line of the text into sight."""
        self.scroll_to(y=max(0, line - 2), animate=False)


class Widened(Message):
    """The page has another width: lines are to be wrapped anew."""


class AnswerHead(Vertical):
    """The blade in few lines and its section: always on the screen."""

    wide = 0

    def on_resize(self, event: Resize) -> None:
        """Tell another width, once it is laid out."""
        if event.size.width != self.wide:
            self.wide = event.size.width
            self.post_message(Widened())

    def compose(self) -> ComposeResult:
        """Words, then the drawing."""
        yield Static(Content(""), id="headline")
        yield Static(Content(""), id="section")

    def show(self, headline: list[str], section: list[str]) -> None:
        """Show words and drawing as they are."""
        self.query_one("#headline", Static).update(literal(headline))
        self.query_one("#section", Static).update(literal(section))


class Opened(Message):
    """A rule is asked for by id."""

    def __init__(self, rule: str) -> None:
        super().__init__()
        self.rule = rule


class Paragraphs(OptionList):
    """Paragraphs below each other; those about a rule open it with enter or a click."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("space", "select", "open", id="rule.open", show=False)]
    text = ""
    _texts: tuple[str, ...] = ()

    def show(self, paragraphs: list[tuple[str | None, str]]) -> None:
        """Show paragraphs, each with the id of its rule where it has one."""
        at = self.highlighted
        self.clear_options()
        self.add_options([Option(literal(text), disabled=rule is None) for rule, text in paragraphs])
        self.rules = [rule for rule, _ in paragraphs]
        self._texts = tuple(text for _, text in paragraphs)
        self.text = "\n".join(self._texts)
        if at is not None and at < len(self.rules) and self.rules[at] is not None:
            self.highlighted = at

    def mark(self, words: str) -> None:
        """Mark every place that has the words; none for ""."""
        for at, text in enumerate(self._texts):
            self.replace_option_prompt_at_index(at, marked(text, words))

    def reveal(self, line: int) -> None:
        """Bring a line of the text into sight, and the cursor to its paragraph where that has a rule."""
        first = 0
        for at, text in enumerate(self._texts):
            after = first + text.count("\n") + 1
            if line < after:
                if self.rules[at] is not None:
                    self.highlighted = at
                break
            first = after
        self.scroll_to(y=max(0, line - 2), animate=False)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Ask for the rule."""
        event.stop()
        rule = self.rules[event.option_index]
        if rule is not None:
            self.post_message(Opened(rule))


def paragraphs(text: str, answer: Answer) -> list[tuple[str | None, str]]:
    """A part of an answer cut into paragraphs, each with the rule that it speaks of."""
    titles = {f"{r.title}:": r.rule for r in answer.reasons}
    titles |= {f"Decided by the limit “{d.title}”:": d.rule for d in answer.deciding}
    texts = {clean(w.text, one_line=True)[:30]: w.id for w in [*answer.cautions, *answer.advice]}
    out: list[tuple[str | None, str]] = []
    for line in text.split("\n"):
        starts = not line.startswith("    ") or not out
        if not starts:
            out[-1] = (out[-1][0], f"{out[-1][1]}\n{line}")
            continue
        words = line.strip().removeprefix("- ")
        rule = next((rule for title, rule in titles.items() if words.startswith(title[:60])), None)
        out.append((rule or next((id_ for start, id_ in texts.items() if words.startswith(start)), None), line))
    return out


class Care(Static):
    """Cautions, always on the screen, in a line each: as many as there is room for, the rest counted."""

    texts: tuple[str, ...] = ()

    def show(self, answer: Answer, audience: str) -> None:
        """Those that guard a person first, and of these those of this blade."""
        words = [w for w in answer.cautions if w.audience in ("everyone", audience)]
        self.texts = tuple(clean(w.short or w.text, one_line=True) for w in sorted(words, key=lambda w: not w.short))
        self._wrap()

    def on_resize(self) -> None:
        """Wrap to the new size: an answer may come before the first layout."""
        self._wrap()

    def _wrap(self) -> None:
        width, rows = max(20, self.size.width), max(2, self.size.height)
        self.update(literal(cautions(list(self.texts), width, rows)))


def cautions(texts: list[str], width: int, rows: int) -> list[str]:
    """Cautions in order on so many rows, each whole; only a first one too long is cut, and the rest is counted."""
    lines: list[str] = []
    for shown, text in enumerate(texts):
        wrapped = textwrap.wrap(text, width, initial_indent="! ", subsequent_indent="  ")
        left = len(texts) - shown - 1
        more = f" ({plural(len(texts) - shown, 'more caution')} under Care)"
        if len(lines) + len(wrapped) + (left > 0) <= rows:
            lines += wrapped
        elif not lines:
            more = f"… ({plural(left, 'more caution')} under Care)" if left else "…"
            room = max(1, width - 2, width * rows - len(more) - 8 * rows)  # on a tiny screen the count has no place
            whole = textwrap.wrap(text, room, initial_indent="! ")[0]
            return textwrap.wrap(whole + more, width, subsequent_indent="  ")
        else:
            return [*lines, more]
    return lines
