"""The terminal interface: asks for a brief, shows the answer, computes nothing itself."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence


def run(without: Sequence[str] = (), *, foreign: bool = True, call_seconds: float | None = None) -> int:
    """Open the interface and stay in it until it is left; returns the exit code.

    Plug-ins `without`, or all `foreign` ones, stay out; one call of theirs may take `call_seconds`.
    """
    # First of all: the worker loads while the interface is imported.
    from recommender.worker.launch import Launcher

    launcher = Launcher(without, foreign=foreign)
    # Twice the frames: half the wait between a key and its answer. Textual reads it when imported.
    os.environ.setdefault("TEXTUAL_FPS", "120")
    from recommender.errors import BevelwrightError, InputError
    from recommender.models.brief import Brief
    from recommender.processes.call_mark import CALL_SECONDS
    from recommender.tui.state.form_fields import settings
    from recommender.tui.state.session_state import SessionState
    from recommender.worker.process_engine import ProcessEngine
    from recommender.worker.questions import AnswerQuestion

    session = SessionState()
    engine = ProcessEngine(launcher, call_seconds=call_seconds or CALL_SECONDS)
    # Asked before there is a screen: the answer is under way while that is made.
    engine.ask(AnswerQuestion(settings=tuple(settings(session.left_off()))), lambda reply: None)

    from recommender.tui.key_names import key_names
    from recommender.tui.state.crash_report import report_crash
    from recommender.tui.state.kept_catalogue import KeptCatalogue
    from recommender.tui.state.keys_file import keymap
    from recommender.tui.terminal_app import TerminalApp

    keys, trouble = {}, ""
    try:
        keys = keymap(key_names())
    except InputError as error:
        trouble = str(error)
    try:
        kept = KeptCatalogue(without, foreign=foreign)
        app = TerminalApp(engine, Brief(), session=session, keys=keys, key_trouble=trouble, kept=kept, asks_first=True)
    except BevelwrightError:
        raise
    except Exception as error:
        print(report_crash(session.folder, error), file=sys.stderr)
        return 3
    try:
        app.run()
    except BaseException as error:
        app.crash(error)
    return app.return_code or 0
