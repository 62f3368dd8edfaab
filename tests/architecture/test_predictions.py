"""The table of predictions in DEVELOPERS.md is what the validation suite says."""

from __future__ import annotations

import re
from pathlib import Path

from tests.validation.predictions import table

DOCUMENT = Path(__file__).parents[2] / "DEVELOPERS.md"


def test_the_table_is_measured() -> None:
    """Print it with ``python -m tests.validation.predictions``."""
    text = DOCUMENT.read_text(encoding="utf-8")
    (shown,) = re.findall(r"^\| set \| values .*?\|$(?=\n\n)", text, flags=re.DOTALL | re.MULTILINE)
    assert shown == table()
