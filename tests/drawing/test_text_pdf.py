"""A sheet of text as PDF, read by an independent reader: ISO 216 and Letter, every line there, nothing cut."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from recommender.drawing.documents.text_pdf import COLUMNS, text_pdf

POINTS = 72 / 25.4


@pytest.mark.parametrize(("paper", "size_mm"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
def test_every_line_is_there_and_fits(paper: str, size_mm: tuple[float, float]) -> None:
    lines = [f"{number:03} " + "x" * (COLUMNS - 4) for number in range(200)]
    reader = PdfReader(io.BytesIO(text_pdf("\n".join(lines) + "\n", "A sheet", paper)))
    for page in reader.pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            [side * POINTS for side in size_mm], abs=0.01
        )
    read = "\n".join(page.extract_text() for page in reader.pages).split("\n")
    assert [line for line in read if line.endswith("x")] == lines
    # Courier's letters are 0.6 of their size wide (Adobe font metrics): 90 of 9 pt are 486 pt.
    assert (size_mm[0] - 30) * POINTS + 1e-6 >= COLUMNS * 0.6 * 9
    assert f"{len(reader.pages)} of {len(reader.pages)}" in read


def test_hostile_text_and_the_same_bytes_twice() -> None:
    text = "5 ≤ 6 → 17.5° ± 0.5\n\x1b[31mred \u202e łα\n"
    assert text_pdf(text, "t") == text_pdf(text, "t")
    told = PdfReader(io.BytesIO(text_pdf(text, "\x1bt"))).pages[0].extract_text()
    assert "5 <= 6 > 17.5° ± 0.5" in told
    assert "\x1b" not in told
