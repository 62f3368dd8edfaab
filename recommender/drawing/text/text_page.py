"""Lines of text wrapped to a width."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from recommender.drawing.lengths import Lengths
from recommender.text import clean


class TextPage:
    """Collects wrapped lines, headings and rows; sentences that state lengths come in the reader's unit."""

    def __init__(self, width: int, lengths: Lengths | None = None) -> None:
        self.width, self._lengths = max(40, width), lengths or Lengths()
        self.lines: list[str] = []

    def raw(self, line: str) -> None:
        """Add a line as it is."""
        self.lines.append(clean(line, one_line=True))

    def gap(self) -> None:
        """Leave one empty line, never two."""
        if self.lines and self.lines[-1]:
            self.lines.append("")

    def heading(self, text: str) -> None:
        """Start a part."""
        self.gap()
        self.line(text)

    def line(self, text: str, indent: str = "", hanging: str | None = None) -> None:
        """Add text, wrapped; later lines start with `hanging`."""
        self.lines += textwrap.wrap(
            self._lengths.prose(clean(text, one_line=True)),
            self.width,
            initial_indent=indent,
            subsequent_indent=indent if hanging is None else hanging,
            break_long_words=True,
            break_on_hyphens=False,
        ) or [""]

    def row(self, name: str, value: str, room: int = 16) -> None:
        """Add a name with its value; on a narrow page the value goes below."""
        if self.width < room + 34:
            self.line(f"{name}: {value}", "  ", "    ")
        else:
            self.line(value, f"  {name:<{room}}  ", " " * (room + 4))

    def spread(self, left: str, right: str) -> None:
        """Add text with something at the right-hand edge of its last line."""
        left = self._lengths.prose(clean(left, one_line=True))
        lines = textwrap.wrap(left, self.width - 4 - len(right), subsequent_indent="  ") or [""]
        lines[-1] = lines[-1].ljust(self.width - 4 - len(right) + 2) + right
        self.lines += ["  " + line for line in lines]

    def table(self, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        """Add columns: the first from the left, the others from the right; a column without any text is left out.

        Where they would be wider than the page, heads stand on several lines.
        """
        lines = [[self._lengths.prose(clean(cell, one_line=True)) for cell in line] for line in (heads, *rows)]
        kept = [k for k in range(len(heads)) if any(line[k] for line in lines[1:])]
        titles, cells = [lines[0][k] for k in kept], [[line[k] for k in kept] for line in lines[1:]]
        widths = [max(map(len, column)) for column in zip(titles, *cells, strict=True)]
        if sum(widths) + 2 * len(widths) > self.width:
            words = [max(map(len, title.split()), default=0) for title in titles]
            widths = [max(least, *map(len, column)) for least, *column in zip(words, *cells, strict=True)]
        stacked = [textwrap.wrap(title, width) for title, width in zip(titles, widths, strict=True)]
        deep = max(map(len, stacked), default=0)
        headed = list(zip(*([""] * (deep - len(title)) + title for title in stacked), strict=True))
        for line in (*headed, *cells):
            placed = [
                cell.rjust(w) if k else cell.ljust(w) for k, (cell, w) in enumerate(zip(line, widths, strict=True))
            ]
            self.lines.append(("  " + "  ".join(placed)).rstrip())

    def text(self) -> str:
        """Everything, ending in one newline."""
        return "\n".join(self.lines).rstrip() + "\n"


Page = TextPage
"""Its name in version 0.1."""
