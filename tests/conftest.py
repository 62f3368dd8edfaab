"""What every test may use."""

from __future__ import annotations

import hashlib
import itertools
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from shapely import Polygon

from recommender.files import write_whole
from recommender.models.answer.proposal import Answer, Proposal
from recommender.models.brief import Brief
from recommender.models.workshop.shop import Shop
from recommender.service import Service, read_brief, with_settings
from recommender.service.briefs import Briefs
from recommender.shop.rates.shop_file import SHIPPED, shipped, shop_of

collect_ignore = ["fixtures"]
"""Made by earlier versions: nothing in there is imported."""
SCENARIOS = Path(__file__).parents[1] / "scenarios"


@pytest.fixture(scope="session", autouse=True)
def _nobodys_folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No test reads or writes a user's own rates, keys, quotes or form."""
    with pytest.MonkeyPatch.context() as patch:
        for kind in ("CONFIG", "DATA", "STATE", "CACHE"):
            patch.setenv(f"XDG_{kind}_HOME", str(tmp_path_factory.mktemp(kind.lower())))
        yield


class SharedAnswers:
    """Answers each question once for all processes that run the tests: each finds in a folder what another wrote.

    A question is a brief, the packs and the bench; where a plug-in from outside is loaded nothing is shared.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.compute = Briefs._answers
        self.known: dict[tuple[str, int], Answer | None] = {}

    def answers(self, briefs: Briefs, brief: Brief, file: str) -> Iterator[Answer]:
        """Every step of an answer, and where none is known any more, from the engine."""
        loaded, registry = briefs.loaded, briefs.loaded.registry
        own = any(origin.foreign for origin in registry.plugins) or registry.failures or registry.blocked
        if own or loaded.plugins or loaded.left_out:
            yield from self.compute(briefs, brief, file)
            return
        knowledge = loaded.knowledge
        asked = brief.model_dump_json(), knowledge.digests, knowledge.overruled, knowledge.left_out, loaded.bench
        key = hashlib.sha256(repr(asked).encode()).hexdigest()
        engine: Iterator[Answer] | None = None
        for step in itertools.count():
            if (key, step) not in self.known:
                path = self.folder / f"{key}-{step}.json"
                if path.exists():
                    text = path.read_bytes()
                    self.known[key, step] = Answer.model_validate_json(text) if text else None
                else:
                    engine = engine or itertools.islice(self.compute(briefs, brief, file), step, None)
                    answer = self.known[key, step] = next(engine, None)
                    write_whole(path, b"" if answer is None else answer.model_dump_json().encode())
            elif engine is not None:
                next(engine, None)
            found = self.known[key, step]
            if found is None:
                return
            yield found


@pytest.fixture(scope="session", autouse=True)
def _shared_answers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SharedAnswers]:
    own = tmp_path_factory.getbasetemp()
    folder = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "answers"
    folder.mkdir(exist_ok=True)
    shared = SharedAnswers(folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Briefs, "_answers", lambda briefs, brief, file: shared.answers(briefs, brief, file))
        yield shared


@pytest.fixture
def answers_anew(_shared_answers: SharedAnswers, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every question goes to the engine: for tests of what asking does, or of one answer against another."""
    monkeypatch.setattr(Briefs, "_answers", _shared_answers.compute)


@pytest.fixture(scope="session")
def service() -> Service:
    """The shipped plug-ins and rules, loaded once."""
    return Service(strict=True)


@pytest.fixture(scope="session")
def ask(service: Service):
    """Answer a brief made of settings alone, without flips."""
    return lambda *settings: service.recommend(with_settings(Brief(), settings), flips=False)


class Scenario(NamedTuple):
    """A shipped brief with its answer (no flips)."""

    brief: Brief
    answer: Answer

    @property
    def proposal(self) -> Proposal:
        """The answer's blade, for scenarios that have one."""
        assert self.answer.proposal is not None
        return self.answer.proposal


@pytest.fixture(scope="session")
def scenarios(service: Service) -> dict[str, Scenario]:
    """Every shipped scenario answered once, without flips."""
    paths = sorted(p for p in SCENARIOS.glob("*.toml") if not p.name.endswith(".expected.toml"))
    briefs = {path.stem: read_brief(path.read_bytes(), str(path)) for path in paths}
    # Processes begin at different ends, so that few answers are computed twice.
    order = sorted(briefs, reverse=os.environ.get("PYTEST_XDIST_WORKER", "gw0")[-1] in "13579")
    answers = {name: service.recommend(briefs[name], name, flips=False) for name in order}
    return {name: Scenario(brief, answers[name]) for name, brief in briefs.items()}


@pytest.fixture(scope="session")
def answered(scenarios: dict[str, Scenario]) -> dict[str, Scenario]:
    """Those with a proposal."""
    return {name: scenario for name, scenario in scenarios.items() if scenario.answer.proposal is not None}


@pytest.fixture(scope="session")
def polygon_of() -> Callable[..., Polygon]:
    """Polygon of an outline, every arc as `pieces` chords between points on it.

    From DXF's definition alone: bulge = tan(arc angle / 4), positive arcs run anticlockwise from start to end, so
    their centre lies left of the chord. Below a bulge of 1e-12 (a rise of a few 1e-11 mm) a double can't hold the
    centre and the arc is drawn as its chord.
    """

    def build(outline: np.ndarray, pieces: int = 200) -> Polygon:
        points: list[complex] = []
        for (x0, y0, bulge), (x1, y1, _) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
            start, end = complex(x0, y0), complex(x1, y1)
            if start == end:
                continue
            points.append(start)
            if abs(bulge) > 1e-12:
                sweep = 4 * np.arctan(bulge)
                centre = (start + end) / 2 + 1j * (end - start) / (2 * np.tan(sweep / 2))
                points += [centre + (start - centre) * np.exp(1j * sweep * k / pieces) for k in range(1, pieces)]
        return Polygon([(p.real, p.imag) for p in points])

    return build


@pytest.fixture(scope="session")
def shop() -> Shop:
    """The shop as shipped, whatever the one who runs the tests has at home."""
    return shop_of(shipped(), SHIPPED)


_PLUGIN = """
import numpy as np
from recommender.plugin.api import Metric
from recommender.plugin.hooks import hookimpl
from recommender.units import Unit

BEVELWRIGHT_API = 1
{at_import}

def compute(sections, context):
    {at_call}
    return np.zeros(sections.designs["height_mm"].shape)

@hookimpl
def metrics():
    return [Metric(id="hostile_figure", label="Hostile figure", unit=Unit.NONE, better="either", about="Tried out.",
                   estimate=False, compute=compute)]
"""


@pytest.fixture
def install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Put a plug-in named hostile, of the distribution hostile-dist 3, where processes of this test find it."""

    def plugin(*, at_import: str = "", at_call: str = "pass") -> None:
        folder = tmp_path / "installed"
        info = folder / "hostile_dist-3.dist-info"
        info.mkdir(parents=True)
        (info / "METADATA").write_text("Metadata-Version: 2.1\nName: hostile-dist\nVersion: 3\n")
        (info / "entry_points.txt").write_text("[bevelwright.plugins]\nhostile = hostile_plugin\n")
        (folder / "hostile_plugin.py").write_text(_PLUGIN.format(at_import=at_import, at_call=at_call))
        monkeypatch.setattr(sys, "path", [*sys.path, str(folder)])

    return plugin
