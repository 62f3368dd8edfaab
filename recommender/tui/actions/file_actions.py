"""Opening and saving: briefs, and the answer as text, JSON or drawing."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.drawing.text.answer.answer_text import answer_text
from recommender.errors import BevelwrightError
from recommender.files import read_file, write_whole
from recommender.folders import shipped_briefs
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.service import MAX_BRIEF_BYTES, brief_toml, read_brief, with_settings
from recommender.text import clean
from recommender.tui.state.form_fields import settings, values_of
from recommender.tui.state.free_name import free
from recommender.worker.client import Reply
from recommender.worker.messages import Refused
from recommender.worker.parts import DocumentPart
from recommender.worker.questions import DocumentQuestion

if TYPE_CHECKING:
    from recommender.tui.app import BevelwrightApp


_TEXTS = ("txt", "json")
"""Kinds that need no writer."""


class FileActions:
    """Fills the form from files, and writes brief and answer to them."""

    def __init__(self, app: BevelwrightApp, folder: Path) -> None:
        self.app, self.folder = app, folder

    def brief_toml(self) -> str:
        """The brief as the form has it. Raises InputError."""
        return brief_toml(with_settings(Brief(), settings(self.app.values)))

    def brief_text(self) -> str:
        """The brief, or why there is none."""
        try:
            return self.brief_toml()
        except BevelwrightError as error:
            return clean(str(error))

    def save(self) -> None:
        """Write the brief to a file that does not exist yet."""
        self._write(lambda: free(self.folder, "brief", "toml"), lambda: self.brief_toml().encode())

    def _write(self, where: Callable[[], Path], what: Callable[[], bytes], *, brief: bool = True) -> None:
        try:
            path = where()
            write_whole(path, what())
        except BevelwrightError as error:
            self.app.say(str(error))
            return
        if brief:
            self.app.session.used(path)
        self.app.notify(f"Saved as {clean(str(path), one_line=True)}", markup=False)

    def save_as(self) -> None:
        """Write the brief to a file that is asked for; one that exists is only replaced when it is a brief."""

        def chosen(path: Path | None) -> None:
            if path is None:
                return
            target = path if path.is_absolute() else self.folder / path
            try:
                if target.exists():
                    _brief_in(target)
            except BevelwrightError:
                self.app.say(f"{target} is there and is no brief: another name, please")
                return
            self._write(lambda: target, lambda: self.brief_toml().encode())

        from recommender.tui.screens.file_name_screen import FileNameScreen

        self.app.push_screen(FileNameScreen("Save the brief as", "brief.toml", []), chosen)

    def choose(self) -> None:
        """Fill the form from a brief that is asked for."""

        def chosen(path: Path | None) -> None:
            if path is not None:
                self.open(path if path.is_absolute() else self.folder / path)

        here = sorted(p for p in self.folder.glob("*.toml") if p.is_file())[:30]
        recent = self.app.session.recent()
        files = list(dict.fromkeys([*recent, *here, *shipped_briefs()]))
        from recommender.tui.screens.file_name_screen import FileNameScreen

        self.app.push_screen(FileNameScreen("Open a brief", "", files), chosen)

    def open(self, path: Path) -> None:
        """Fill the form from a brief."""
        try:
            brief = _brief_in(path)
        except BevelwrightError as error:
            self.app.say(str(error))
            return
        self.app.session.used(path)
        self.app.form.fill(values_of(brief), self.app.quotes.for_another_brief())

    def save_answer(self, kind: str) -> None:
        """Write the answer to a file that does not exist yet, once it is that of the form."""
        self.app.waits.do(f"save the answer as {kind}", lambda answer: self._save_answer(answer, kind), saves=True)

    def _save_answer(self, answer: Answer, kind: str) -> None:
        app = self.app
        if kind in _TEXTS:
            self._write_answer(kind, self._as_text(answer, kind))
        elif answer.proposal is None:
            app.notify("Nothing fits, so there is nothing to draw.", markup=False)
        else:

            def take(reply: Reply) -> None:
                if isinstance(reply, DocumentPart):
                    self._write_answer(kind, reply.data)
                elif isinstance(reply, Refused):
                    app.say(reply.words)

            app.put(DocumentQuestion(answer=answer, writer=kind, inches=app.inches), take, always=True)

    def _write_answer(self, kind: str, data: bytes) -> None:
        self._write(lambda: free(self.folder, "answer", kind), lambda: data, brief=False)

    def copy_answer(self, kind: str) -> None:
        """Copy the answer, where the terminal lets it, once it is that of the form."""
        self.app.waits.do("copy the answer", lambda answer: self._copy_answer(answer, kind), saves=True)

    def _copy_answer(self, answer: Answer, kind: str) -> None:
        self.app.copy_to_clipboard(self._as_text(answer, kind).decode())
        self.app.notify("Copied, where this terminal allows it; saving to a file always works.", markup=False)

    def _as_text(self, answer: Answer, kind: str) -> bytes:
        app = self.app
        if kind == "json":
            return (json.dumps(answer.as_json(), indent=2, ensure_ascii=False) + "\n").encode()
        outline = app.answer_display.proposal_drawn.section
        return answer_text(answer, outline, audience=app.audience, width=80, inches=app.inches).encode()


def _brief_in(path: Path) -> Brief:
    """The brief in a file. Raises InputError."""
    return read_brief(read_file(path, MAX_BRIEF_BYTES, "a brief as TOML"), str(path))
