"""Time to the first screen and the first answer, and from a key to its answer: python tests/bench/bench_interface.py

Run in one process without a terminal (120 x 40 cells): drawing to a real terminal comes on top. Medians.
"""

from __future__ import annotations

import time

START = time.perf_counter()

import asyncio  # noqa: E402 - the clock starts before anything is imported
import os  # noqa: E402
import statistics  # noqa: E402
import tempfile  # noqa: E402
from pathlib import Path  # noqa: E402

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("TEXTUAL_FPS", "120")

from recommender.models.brief import Brief  # noqa: E402
from recommender.service import Service  # noqa: E402
from recommender.tui.app import BevelwrightApp  # noqa: E402
from recommender.tui.state.session_state import SessionState  # noqa: E402
from recommender.tui.widgets.brief_form import FieldRow  # noqa: E402
from recommender.worker.in_process import InProcessEngine  # noqa: E402

KEYS = 14


class Timed(BevelwrightApp):
    """Notes when an answer has been painted."""

    painted: float = 0.0

    def show(self) -> None:
        super().show()
        self.call_after_refresh(self._note)

    def _note(self) -> None:
        self.painted = time.perf_counter()


async def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        engine = InProcessEngine(Service(own_packs=False, own_shop=False))
        app = Timed(engine, Brief(), session=SessionState(Path(folder)), flips=False)
        async with app.run_test(size=(120, 40)) as pilot:
            first = time.perf_counter() - START
            while app.answer is None or not app.painted:
                await asyncio.sleep(0.005)
            print(f"first screen {first:.2f} s, first answer {app.painted - START:.2f} s after the start of Python")
            row = next(r for r in app.query(FieldRow) if r.field.key == "tasks.food-prep")
            row.focus()
            await pilot.pause()
            waits = []
            for k in range(KEYS):
                app.painted = 0.0
                pressed = time.perf_counter()
                row.action_step(1 if k < KEYS // 2 else -1)
                while not app.painted:
                    await asyncio.sleep(0.002)
                waits.append(app.painted - pressed)
                await asyncio.sleep(1.0)
            print(f"key to answer, every candidate: median {1000 * statistics.median(waits):.0f} ms of {KEYS}")


if __name__ == "__main__":
    asyncio.run(main())
