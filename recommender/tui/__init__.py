"""The terminal interface: asks for a brief, shows the answer, computes nothing itself."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence


def run(without: Sequence[str] = (), *, foreign: bool = True) -> int:
    """Open the interface and stay in it until it is left; returns the exit code.

    Plug-ins `without`, or all `foreign` ones, stay out.
    """
    # Twice the frames: half the wait between a key and its answer. Textual reads it when imported.
    os.environ.setdefault("TEXTUAL_FPS", "120")
    from textual.binding import Binding

    from recommender.errors import BevelwrightError, InputError
    from recommender.models.brief import Brief
    from recommender.service import Service
    from recommender.tui.state.crash_report import report_crash
    from recommender.tui.state.keys_file import keymap
    from recommender.tui.state.session_state import SessionState
    from recommender.tui.terminal_app import TerminalApp

    session = SessionState()
    keys, trouble = {}, ""
    try:
        keys = keymap(b.id for b in TerminalApp.BINDINGS if isinstance(b, Binding) and b.id)
    except InputError as error:
        trouble = str(error)
    try:
        app = TerminalApp(
            Service(without=without, foreign=foreign), Brief(), session=session, keys=keys, key_trouble=trouble
        )
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
