"""The form: one row a field, moved with the arrow keys, every change sent at once."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input, Static

from recommender.text import clean
from recommender.tui.state.form_fields import MOST_PARTS, ChoiceField, FieldGroup, FlagField, NumberField, ShareField
from recommender.tui.widgets.form_rows import CursorRow, Rows, SafeInput, Styled, TypedRow, row_key


class Changed(Message):
    """A field has another value, as text; "" leaves it open. What is `typed` comes letter by letter."""

    def __init__(self, key: str, value: str, *, typed: bool = False) -> None:
        super().__init__()
        self.key, self.value, self.typed = key, value, typed


class ChoiceWanted(Message):
    """One of many choices of a row is asked for."""

    def __init__(self, row: FieldRow) -> None:
        super().__init__()
        self.row = row


MANY = 8
"""Of more choices than these one is asked for from a list that is filtered as one types."""


class FieldRow(CursorRow):
    """One field on one line: its label, its value, and how it moves."""

    BINDINGS: ClassVar[list[BindingType]] = [
        row_key("up", "go(-1)", "field above", id="field.above"),
        row_key("down", "go(1)", "field below", id="field.below"),
        row_key("left", "step(-1)", "less", id="field.less"),
        row_key("right", "step(1)", "more", id="field.more"),
        row_key("space", "step(1)", "more", id="field.next"),
        row_key("enter", "choose", "more; a long list is searched", id="field.choose"),
        row_key("backspace,delete", "open", "leave open", id="field.open"),
    ]

    def __init__(self, field: ChoiceField | ShareField | FlagField, value: str = "") -> None:
        super().__init__()
        self.field = field
        self.value = value
        self.every_part = 0.0
        """Parts of all tasks together, for shares."""
        self.tooltip = Content(clean(field.about, one_line=True))

    def words_shown(self) -> list[Styled]:
        """Label and value; what is open is dim."""
        room = self._room
        label = clean(self.field.label, one_line=True)
        label = label if len(label) <= room else label[: room - 1] + "…"
        return [f"{label:<{room}} ", self._shown()]

    @property
    def _room(self) -> int:
        """Columns of the label."""
        return max(8, self.size.width - 20)

    def _shown(self) -> tuple[str, str]:
        field = self.field
        if isinstance(field, ShareField):
            parts = self.parts
            cells = min(MOST_PARTS, max(round(parts), 1 if parts else 0))
            share = f"{parts:.3g} of {self.every_part:.3g}" if parts else ""
            return f"{'━' * cells}{'·' * (MOST_PARTS - cells)} {share}", "$accent" if parts else "$text-muted"
        if isinstance(field, FlagField):
            return ("at hand" if self.value else "·", "$accent" if self.value else "$text-muted")
        words = clean(dict(field.options).get(self.value, self.value), one_line=True)
        return f"‹ {words[:13]} ›", "$accent" if self.value else "$text-muted"

    @property
    def parts(self) -> float:
        """Of the work, as a number."""
        try:
            return float(self.value or 0)
        except ValueError:
            return 0.0

    def action_step(self, by: int) -> None:
        """Move the value one step."""
        field = self.field
        if isinstance(field, ShareField):
            parts = min(MOST_PARTS, max(0, round(self.parts) + by))
            self.put(str(parts) if parts else "")
        elif isinstance(field, FlagField):
            self.put("" if self.value else "1")
        else:
            values = [value for value, _ in field.options]
            at = values.index(self.value) if self.value in values else 0
            self.put(values[(at + by) % len(values)])

    def action_choose(self) -> None:
        """Move the value one step; of many choices ask for one."""
        if isinstance(self.field, ChoiceField) and len(self.field.options) > MANY:
            self.post_message(ChoiceWanted(self))
        else:
            self.action_step(1)

    def action_open(self) -> None:
        """Leave the field open."""
        self.put("")

    def on_click(self, event: events.Click) -> None:
        """A click moves on, opens a long list, and on the bar of a share sets it to that length."""
        cell = event.x - self._room - 1
        if isinstance(self.field, ShareField) and 1 <= cell <= MOST_PARTS:
            self.put(str(cell))
        else:
            self.action_choose()

    def put(self, value: str) -> None:
        """Set the value, and tell it."""
        if value != self.value:
            self.value = value
            self.refresh()
            self.post_message(Changed(self.field.key, value))


class NumberRow(TypedRow):
    """A label with a box to type a number in."""

    def __init__(self, field: NumberField, value: str = "") -> None:
        super().__init__(clean(field.label, one_line=True), SafeInput(value, compact=True, max_length=40))
        self.field = field
        self.box.tooltip = Content(clean(field.about, one_line=True))

    def typed(self, text: str) -> Changed:
        """The field has another value."""
        return Changed(self.field.key, text, typed=True)


class BriefForm(Rows):
    """Every field, in groups."""

    def __init__(self, groups: list[FieldGroup], values: dict[str, str]) -> None:
        super().__init__(id="ask")
        self.groups, self.values = groups, values
        self._last: Widget | None = None
        """Where the cursor was last."""

    def compose(self) -> ComposeResult:
        """A word on how it goes, titles and rows."""
        how = "Up and down choose, left and right change, enter opens a long list; leave open what you do not know."
        yield Static(Content(how), id="how")
        yield from self._rows()

    def _rows(self) -> ComposeResult:
        for group in self.groups:
            yield Static(Content(group.title), classes="title")
            for field in group.fields:
                value = self.values.get(field.key, "")
                yield NumberRow(field, value) if isinstance(field, NumberField) else FieldRow(field, value)

    async def offer(self, groups: list[FieldGroup]) -> None:
        """Offer other choices than before: every row is made anew, and the field in focus is again if it is there."""
        if not self.is_attached:
            return
        focused = next((row.field.key for row in self.query(FieldRow) if row.has_focus_within), None)
        self.groups = groups
        former, rows = [child for child in self.children if child.id != "how"], list(self._rows())
        # Nothing is awaited before the new row has the focus: until then keys would go elsewhere.
        mounted = self.mount_all(rows)
        for row in rows:
            if isinstance(row, FieldRow) and row.field.key == focused:
                self.screen.set_focus(row)
        async with self.batch():
            await self.remove_children(former)
            await mounted
        self.add_up()

    def on_mount(self) -> None:
        """Shares add up from the start, and the form is shown from its first line."""
        self.add_up()
        self.call_after_refresh(self.scroll_home, animate=False)

    def on_descendant_focus(self) -> None:
        """The cursor finds its row again; the first field brings what stands over it into sight."""
        if self.display:  # as it is hidden the focus goes anywhere
            self._last = self.screen.focused
        if self.screen.focused is self.query("FieldRow").first():
            self.call_after_refresh(self.scroll_home, animate=False)

    def focus_row(self) -> None:
        """The cursor goes to the row that it was on last, else to the first."""
        among = list(self.query("CursorRow, SafeInput"))
        self.screen.set_focus(self._last if self._last in among else among[0])

    def add_up(self) -> None:
        """Tell every task what all parts come to."""
        shares = [row for row in self.query(FieldRow) if isinstance(row.field, ShareField)]
        total = sum(row.parts for row in shares)
        for row in shares:
            row.every_part = total
            row.refresh()

    def fill(self, values: dict[str, str]) -> None:
        """Put other values into every field, without telling each."""
        for row in self.query(FieldRow):
            row.value = values.get(row.field.key, "")
            row.refresh()
        for number in self.query(NumberRow):
            with number.box.prevent(Input.Changed):
                number.box.value = values.get(number.field.key, "")
        self.add_up()
