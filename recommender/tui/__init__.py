"""The terminal interface: asks for a brief, shows the answer, computes nothing itself."""

from __future__ import annotations

import os
from collections.abc import Sequence


def run(without: Sequence[str] = (), *, foreign: bool = True) -> None:
    """Open the interface and stay in it until it is left; plug-ins `without`, or all `foreign` ones, stay out."""
    # Twice the frames: half the wait between a key and its answer. Textual reads it when imported.
    os.environ.setdefault("TEXTUAL_FPS", "120")
    from textual.binding import Binding

    from recommender.models.brief import Brief
    from recommender.service import Service
    from recommender.tui.app import BevelwrightApp
    from recommender.tui.state.session_state import keymap

    keys = keymap(b.id for b in BevelwrightApp.BINDINGS if isinstance(b, Binding) and b.id)
    BevelwrightApp(Service(without=without, foreign=foreign), Brief(), keys=keys).run()
