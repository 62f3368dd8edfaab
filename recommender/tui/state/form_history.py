"""What stood in the form before, so that every change of it can be undone and done again."""

from __future__ import annotations

from typing import NamedTuple

from recommender.tui.state.order_fields import OrderInHand

MOST_KEPT = 200


class FormState(NamedTuple):
    """The text of every field, and the order that they were filled in for."""

    values: dict[str, str]
    order: OrderInHand

    def is_that_of(self, values: dict[str, str], order: OrderInHand) -> bool:
        """Whether nothing differs; an order is the same while it is written on."""
        return self.values == values and self.order is order


class FormHistory:
    """States of the form, the one that stands there last."""

    def __init__(self, values: dict[str, str], order: OrderInHand) -> None:
        self._past: list[FormState] = []
        self._now = FormState(dict(values), order)
        self._future: list[FormState] = []
        self._typed = ""

    def changed(self, values: dict[str, str], order: OrderInHand, typed: str = "") -> None:
        """Take a change; what is `typed` into one field after the other key is one change."""
        if self._now.is_that_of(values, order):
            return
        if not typed or typed != self._typed:
            self._past = [*self._past, self._now][-MOST_KEPT:]
        self._typed, self._now = typed, FormState(dict(values), order)
        self._future.clear()

    def undo(self) -> FormState | None:
        """What stood there before; None where nothing was changed."""
        return self._turn(self._past, self._future)

    def redo(self) -> FormState | None:
        """What was undone last; None where nothing was, or the form was changed since."""
        return self._turn(self._future, self._past)

    def _turn(self, back: list[FormState], forth: list[FormState]) -> FormState | None:
        if not back:
            return None
        forth.append(self._now)
        self._now, self._typed = back.pop(), ""
        return FormState(dict(self._now.values), self._now.order)
