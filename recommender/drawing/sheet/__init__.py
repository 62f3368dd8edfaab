"""The workshop drawing: views, dimensions and title block laid out on paper."""

from __future__ import annotations

from typing import Any


def __getattr__(name: str) -> Any:
    # What this name gave while it was a module of its own, in version 0.1.
    if name == "workshop_sheet":
        from recommender.drawing.sheet.sheets import workshop_sheet

        return workshop_sheet
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
