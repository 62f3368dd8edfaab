"""The application: passes messages between the form, the service and the page; holds no computation."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import ClassVar

from textual import work
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import Footer, Input, Static, TabbedContent, TabPane
from textual.worker import get_current_worker

from recommender.drawing.answer_text import Audience, answer_parts
from recommender.drawing.life_text import life_text
from recommender.errors import BevelwrightError
from recommender.geometry.outline import Outline
from recommender.models.brief import Brief
from recommender.models.life import Life
from recommender.models.proposal import Answer
from recommender.service import Service, brief_toml, with_settings
from recommender.text import clean
from recommender.tui.ask import Ask, Changed, Row
from recommender.tui.fields import groups, settings
from recommender.tui.keep import Keep, save
from recommender.tui.page import Care, Part, Picture
from recommender.tui.themes import DARK, LIGHT

TABS = (
    ("why", "Why this", ("why", "figures")),
    ("others", "Why not others", ("others",)),
    ("change", "What would change it", ("change",)),
    ("shop", "In the shop", ("keeping", "shop")),
    ("life", "Its life", ()),
    ("care", "Care", ("care", "advice")),
    ("assumed", "Assumed", ("assumed", "made with")),
    ("keep", "Keep", ()),
)
"""Tab, its title, and the parts of the answer on it."""


class Answered(Message):
    """An answer to the question numbered `serial`; flips come later, with the same number."""

    def __init__(self, serial: int, answer: Answer, outline: Outline | None) -> None:
        super().__init__()
        self.serial, self.answer, self.outline = serial, answer, outline


class Lived(Message):
    """The life of the blades of the answer numbered `serial`."""

    def __init__(self, serial: int, life: Life) -> None:
        super().__init__()
        self.serial, self.life = serial, life


class Refused(Message):
    """The question makes no sense; the old answer stays."""

    def __init__(self, serial: int, words: str) -> None:
        super().__init__()
        self.serial, self.words = serial, words


class BevelwrightApp(App[None]):
    """Ask on the left, the blade and why on the right; on a narrow terminal one at a time."""

    CSS_PATH = Path(__file__).with_name("bevelwright.tcss")
    TITLE = "Bevelwright"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide")]  # noqa: RUF012 - as the base class has it
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "turn", "Ask / answer", id="turn"),
        Binding("f3", "audience", "Buyer / maker", id="audience"),
        Binding("f4", "inches", "mm / inches", id="inches", show=False),
        Binding("f5", "save", "Save brief", id="save"),
        Binding("f6", "afresh", "Start afresh", id="afresh", show=False),
        Binding("ctrl+q", "quit", "Quit", id="quit", priority=True),
    ]

    def __init__(
        self,
        service: Service,
        brief: Brief,
        *,
        keep: Keep | None = None,
        folder: Path | None = None,
        flips: bool = True,
    ) -> None:
        super().__init__()
        self.flips = flips
        self.keep = keep or Keep()
        self.folder = folder or Path.cwd()
        self.service, self.brief = service, brief
        self.values: dict[str, str] = self.keep.left_off()
        self.audience: Audience = "buyer"
        self.inches = False
        self.serial = 0
        self.answer: Answer | None = None
        self.outline: Outline | None = None
        self.life: Life | None = None

    def compose(self) -> ComposeResult:
        """Form, page, cautions, keys."""
        with Horizontal(id="body"):
            yield Ask(groups(self.service), self.values)
            with Vertical(id="page"):
                yield Static(Content("Asking …"), id="state")
                yield Picture(id="picture")
                with TabbedContent(id="tabs"):
                    for name, title, _ in TABS:
                        with TabPane(title, id=f"tab-{name}"):
                            yield Part(id=f"part-{name}")
        yield Care(id="caution")
        yield Footer()

    def on_mount(self) -> None:
        """Show the first answer."""
        self.register_theme(DARK)
        self.register_theme(LIGHT)
        self.theme = DARK.name
        self.query_one(Ask).scroll_home(animate=False)
        self.ask()
        if self.values:
            self.notify("The form is as you left it; f6 starts afresh.", timeout=8, markup=False)

    def on_changed(self, event: Changed) -> None:
        """A field has moved: ask again."""
        if event.value:
            self.values[event.key] = event.value
        else:
            self.values.pop(event.key, None)
        self.keep.leave(self.values)
        self.ask()

    def ask(self) -> None:
        """Answer what the form says now, in a thread; what is on the screen stays until then."""
        self.serial += 1
        self._state("…")
        self._answer(self.serial, settings(self.values))

    @work(thread=True, exclusive=True)
    def _answer(self, serial: int, given: list[str]) -> None:
        worker = get_current_worker()
        try:
            brief = with_settings(self.brief, given)
            for answer in self.service.answers(brief):
                if worker.is_cancelled:
                    return
                self.post_message(Answered(serial, answer, self.service.outline_of(answer)))
                if not self.flips:
                    break
            life = self.service.life_of(answer, brief)
            if not worker.is_cancelled:
                self.post_message(Lived(serial, life))
        except BevelwrightError as error:
            if not worker.is_cancelled:
                self.post_message(Refused(serial, str(error)))

    def on_answered(self, event: Answered) -> None:
        """Show an answer, unless another question has been asked since."""
        if event.serial != self.serial:
            return
        self.answer, self.outline, self.life = event.answer, event.outline, None
        self._state("")
        self.show()

    def on_lived(self, event: Lived) -> None:
        """Show the blade's life, unless another question has been asked since."""
        if event.serial == self.serial:
            self.life = event.life
            self.show()

    def on_refused(self, event: Refused) -> None:
        """Say what does not fit; the answer before stays on the screen."""
        if event.serial == self.serial:
            self._state(clean(event.words, one_line=True))

    def _state(self, words: str) -> None:
        self.query_one("#state", Static).update(Content(words))

    def show(self) -> None:
        """Write the answer into every part of the page."""
        answer = self.answer
        if answer is None:
            return
        parts = answer_parts(answer, None, audience=self.audience, width=self._page_width(), inches=self.inches)
        self.query_one(Picture).show(parts["blade"], answer, self.outline, self.inches)
        own = {"life": self._life_text(), "keep": self._keep_text()}
        for name, _, wanted in TABS:
            text = own[name] if name in own else "\n".join(parts[part] for part in wanted if part in parts)
            self.query_one(f"#part-{name}", Part).show(text or self._nothing_there(name))
        self.query_one(Care).show(answer, self.audience)

    def _life_text(self) -> str:
        return "" if self.life is None else life_text(self.life, width=self._page_width(), inches=self.inches)

    def _keep_text(self) -> str:
        given = " ".join(f"--set {shlex.quote(setting)}" for setting in settings(self.values))
        return (
            "On the command line the same is\n\n"
            f"  bevelwright recommend {given}\n\n"
            "and as a brief, which f5 writes to a file beside where you started:\n\n" + self._brief_text()
        )

    def _brief_text(self) -> str:
        try:
            return brief_toml(with_settings(self.brief, settings(self.values)))
        except BevelwrightError as error:
            return clean(str(error))

    def _nothing_there(self, name: str) -> str:
        if name == "change":
            return "Nothing could change what is wished for." if self._wished() else "Being worked out …"
        if name == "shop":
            return "For a maker: press f3."
        return "Being worked out …" if name == "life" else "Nothing to say here."

    def _wished(self) -> bool:
        return self.answer is not None and self.answer.brief.wishes.grind is not None

    def _page_width(self) -> int:
        width = self.query_one("#page").size.width
        return max(40, min((width or self.size.width) - 4, 100))

    def on_resize(self) -> None:
        """Lines are wrapped to the new width."""
        self.call_after_refresh(self.show)

    def action_turn(self) -> None:
        """On a narrow terminal: from the form to the page and back."""
        self.screen.toggle_class("-answer")
        self.call_after_refresh(self.show)

    def action_audience(self) -> None:
        """Answer for a buyer or for a maker."""
        self.audience = "maker" if self.audience == "buyer" else "buyer"
        self.show()

    def action_save(self) -> None:
        """Write the brief to a file that does not exist yet."""
        try:
            path = save(brief_toml(with_settings(self.brief, settings(self.values))), self.folder)
        except BevelwrightError as error:
            self._state(clean(str(error), one_line=True))
            return
        self.notify(f"Saved as {clean(str(path), one_line=True)}", markup=False)

    def action_afresh(self) -> None:
        """Open every field again."""
        for row in self.query(Row):
            row.put("", tell=False)
        for box in self.query(Input):
            with box.prevent(Input.Changed):
                box.value = ""
        self.values.clear()
        self.keep.leave(self.values)
        self.ask()

    def action_inches(self) -> None:
        """Show lengths in millimetres or inches."""
        self.inches = not self.inches
        self.show()
