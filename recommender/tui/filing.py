"""Opening and saving: briefs, and the answer as text, JSON or drawing."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from textual.app import App
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from recommender.drawing.text.answer.answer_text import answer_text
from recommender.drawing.text.answer.words_text import Audience
from recommender.errors import BevelwrightError
from recommender.files import read_file, write_whole
from recommender.models.answer.proposal import Answer
from recommender.models.brief import Brief
from recommender.service import MAX_BRIEF_BYTES, Service, brief_toml, read_brief, with_settings
from recommender.text import clean
from recommender.tui.screens.file_name_screen import FileNameScreen
from recommender.tui.state.form_fields import settings, values_of
from recommender.tui.state.session_state import SessionState, free
from recommender.tui.widgets.brief_form import BriefForm


class Filing(App[None]):
    """An application with a form that can be filled from files, and an answer that can be written to them."""

    def __init__(self, service: Service, brief: Brief, session: SessionState, folder: Path) -> None:
        super().__init__()
        self.service, self.session, self.folder = service, session, folder
        self.values: dict[str, str] = values_of(brief) or session.left_off()
        self.answer: Answer | None = None
        view = session.view()
        self.audience: Audience = "maker" if view.get("audience") == "maker" else "buyer"
        self.inches = view.get("lengths") == "inches"

    def ask(self) -> None:
        """Answer what the form says now."""
        raise NotImplementedError

    @property
    def main(self) -> Screen[Any]:
        """The screen with form and answer, whatever stands over it."""
        return self.screen_stack[0]

    def state(self, words: str) -> None:
        """Say something on the line over the answer."""
        self.main.query_one("#state", Static).update(Content(clean(words, one_line=True)))

    def brief_toml(self) -> str:
        """The brief as the form has it. Raises InputError."""
        return brief_toml(with_settings(Brief(), settings(self.values)))

    def brief_text(self) -> str:
        """The brief, or why there is none."""
        try:
            return self.brief_toml()
        except BevelwrightError as error:
            return clean(str(error))

    def action_save(self) -> None:
        """Write the brief to a file that does not exist yet."""
        self._writing(lambda: free(self.folder, "brief", "toml"), lambda: self.brief_toml().encode())

    def _writing(self, where: Callable[[], Path], what: Callable[[], bytes], *, brief: bool = True) -> None:
        try:
            path = where()
            write_whole(path, what())
        except BevelwrightError as error:
            self.state(str(error))
            return
        if brief:
            self.session.used(path)
        self.notify(f"Saved as {clean(str(path), one_line=True)}", markup=False)

    def action_save_as(self) -> None:
        """Write the brief to a file that is asked for; one that exists is only replaced when it is a brief."""

        def chosen(path: Path | None) -> None:
            if path is None:
                return
            target = path if path.is_absolute() else self.folder / path
            try:
                if target.exists():
                    read_brief(read_file(target, MAX_BRIEF_BYTES, "a brief as TOML"), str(target))
            except BevelwrightError:
                self.state(f"{target} is there and is no brief: another name, please")
                return
            self._writing(lambda: target, lambda: self.brief_toml().encode())

        self.push_screen(FileNameScreen("Save the brief as", "brief.toml", []), chosen)

    def action_open(self) -> None:
        """Fill the form from a brief."""

        def chosen(path: Path | None) -> None:
            if path is not None:
                self._open(path if path.is_absolute() else self.folder / path)

        here = sorted(p for p in self.folder.glob("*.toml") if p.is_file())[:30]
        recent = self.session.recent()
        self.push_screen(FileNameScreen("Open a brief", "", [*recent, *(p for p in here if p not in recent)]), chosen)

    def _open(self, path: Path) -> None:
        try:
            brief = read_brief(read_file(path, MAX_BRIEF_BYTES, "a brief as TOML"), str(path))
        except BevelwrightError as error:
            self.state(str(error))
            return
        self.session.used(path)
        self._fill(values_of(brief))

    def action_afresh(self) -> None:
        """Open every field again."""
        self._fill({})

    def _fill(self, values: dict[str, str]) -> None:
        self.values.clear()
        self.values.update(values)
        self.main.query_one(BriefForm).fill(self.values)
        self.session.leave(self.values)
        self.ask()

    def _document(self, kind: str) -> bytes:
        answer = self.answer
        assert answer is not None
        if kind == "json":
            return (json.dumps(answer.as_json(), indent=2, ensure_ascii=False) + "\n").encode()
        if kind == "txt":
            outline = self.service.outline_of(answer)
            return answer_text(answer, outline, audience=self.audience, width=80, inches=self.inches).encode()
        return self.service.document(answer, kind, inches=self.inches)

    def action_save_answer(self, kind: str) -> None:
        """Write the answer to a file that does not exist yet."""
        if self.answer is not None and (self.answer.proposal is not None or kind in ("json", "txt")):
            self._writing(lambda: free(self.folder, "answer", kind), lambda: self._document(kind), brief=False)

    def action_copy_answer(self, kind: str) -> None:
        """Copy the answer, where the terminal lets it."""
        if self.answer is not None:
            self.copy_to_clipboard(self._document(kind).decode())
            self.notify("Copied, where this terminal allows it; saving to a file always works.", markup=False)
