"""The pages of the answer, each on a tab."""

from __future__ import annotations

from recommender.tui.widgets.answer_page import Paragraphs, TextPart
from recommender.tui.widgets.order_form import OrderForm
from recommender.tui.widgets.trial_rows import Steppers

TABS = (
    ("blade", "Blade", TextPart, ("blade",)),
    ("why", "Why", Paragraphs, ("why", "figures")),
    ("others", "Others", TextPart, ("others",)),
    ("change", "What if", TextPart, ("change",)),
    ("try", "Try", Steppers, ()),
    ("compare", "Compare", Steppers, ()),
    ("life", "Life", TextPart, ()),
    ("shop", "Shop", TextPart, ()),
    ("price", "Price", OrderForm, ()),
    ("care", "Care", Paragraphs, ("care", "advice")),
    ("assumed", "Assumed", TextPart, ("assumed", "made with")),
    ("save", "Save", TextPart, ()),
)
"""Tab, its title, what it is made of, and the parts of the answer on it."""
MAKERS = ("shop", "price")
"""Tabs that only a maker has."""
