"""The names by which keys can be changed, of the application, its rows and its other screens."""

from __future__ import annotations

from collections.abc import Iterator

from textual.binding import Binding


def bindings() -> Iterator[Binding]:
    """Every key with a name, once each, in the order in which one meets them."""
    # Only who has keys of his own needs all screens at the start.
    from recommender.tui.app import BevelwrightApp
    from recommender.tui.screens.book_screen import BookScreen
    from recommender.tui.screens.choice_screen import ChoiceScreen
    from recommender.tui.screens.file_name_screen import FileNameScreen
    from recommender.tui.screens.help_screen import HelpScreen
    from recommender.tui.screens.rulebook_screen import RulebookScreen
    from recommender.tui.widgets.answer_page import Paragraphs
    from recommender.tui.widgets.brief_form import FieldRow
    from recommender.tui.widgets.form_rows import SafeInput
    from recommender.tui.widgets.order_form import ActionRow, OrderBox
    from recommender.tui.widgets.search_line import SearchBox
    from recommender.tui.widgets.trial_rows import Stepper

    owners = (
        BevelwrightApp, FieldRow, SafeInput, Paragraphs, Stepper, OrderBox, ActionRow, SearchBox,
        ChoiceScreen, RulebookScreen, BookScreen, FileNameScreen, HelpScreen,
    )  # fmt: skip
    for owner in owners:
        yield from (b for b in owner.BINDINGS if isinstance(b, Binding) and b.id)


def key_names() -> Iterator[str]:
    """Their names."""
    return (str(binding.id) for binding in bindings())
