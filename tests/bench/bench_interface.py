"""Time to the first screen and the first answer, from a key to its answer, and from the last of many quick keys.

python tests/bench/bench_interface.py [--threads]: the engine in its process, or in threads of this one. Without a
terminal (120 x 40 cells): drawing to a real terminal comes on top. Medians.
"""

from __future__ import annotations

import time

START = time.perf_counter()

import asyncio  # noqa: E402 - the clock starts before anything is imported
import os  # noqa: E402
import statistics  # noqa: E402
import sys  # noqa: E402
import tempfile  # noqa: E402
from pathlib import Path  # noqa: E402

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("TEXTUAL_FPS", "120")

from recommender.worker.launch import Launcher  # noqa: E402

THREADS = "--threads" in sys.argv
LAUNCHER = None if THREADS else Launcher()

from recommender.models.brief import Brief  # noqa: E402
from recommender.service import Service  # noqa: E402
from recommender.tui.app import BevelwrightApp  # noqa: E402
from recommender.tui.state.session_state import SessionState  # noqa: E402
from recommender.tui.widgets.brief_form import FieldRow  # noqa: E402
from recommender.worker.in_process import InProcessEngine  # noqa: E402
from recommender.worker.process_engine import ProcessEngine  # noqa: E402

KEYS = 14
BURST = 60
BURST_PER_S = 30
BURSTS = 5


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
        engine = InProcessEngine(Service(own_packs=False, own_shop=False)) if THREADS else ProcessEngine(LAUNCHER)
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
            bursts = [await burst(app, row) for _ in range(BURSTS)]
            print(f"last of {BURST} keys to its answer: median {statistics.median(bursts):.2f} s of {BURSTS}")


async def burst(app: Timed, row: FieldRow) -> float:
    """How long the answer to the last of some quick keys takes, s."""
    for k in range(BURST):
        app.painted = 0.0
        pressed = time.perf_counter()
        row.action_step(1 if k % 20 < 10 else -1)
        await asyncio.sleep(1 / BURST_PER_S)
    while not app.painted:
        await asyncio.sleep(0.002)
    took = app.painted - pressed
    await asyncio.sleep(2.0)
    return took


if __name__ == "__main__":
    asyncio.run(main())
