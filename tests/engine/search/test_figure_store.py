"""Figures of sections are kept from question to question, and nobody can tell by them what was asked before."""

from __future__ import annotations

import dataclasses
import inspect
from typing import Any

import numpy as np
import pytest

from recommender.engine.search import measuring
from recommender.engine.search.candidates import filter_feasible, sample
from recommender.engine.search.measuring import Measured
from recommender.models.brief import Brief
from recommender.plugin.api import Designs, Sections
from recommender.plugin.api.figure_store import FigureStore, FigureTable, parts_of
from recommender.service import Service, with_settings


def test_a_section_is_known_by_its_grind_and_every_column() -> None:
    """The same design in another batch, with its columns in another order, has the place it had; no other has."""
    table = FigureTable()
    two = Designs.of(2, stock_thickness_mm=[2.0, 3.0], height_mm=30.0, side=["right", "left"])
    first = table.places("flat", two)
    turned = Designs(dict(reversed(list(two.taking(np.array([1, 0, 1])).columns.items()))))
    assert first is not None
    assert table.places("flat", turned).tolist() == first[[1, 0, 1]].tolist()  # type: ignore[union-attr]
    others = [
        ("hollow", two),
        ("flat", two.changed(side="both")),
        ("flat", two.changed(edge_thickness_mm=0.1)),
        ("flat", two.changed(of_its_own=1.0)),
    ]
    seen = set(first.tolist())
    for grind, designs in others:
        places = table.places(grind, designs)
        assert places is not None
        assert not seen & set(places.tolist())
        seen |= set(places.tolist())


def test_nothing_is_told_apart_that_is_the_same_number() -> None:
    """Zero has two signs and NaN many bit patterns."""
    table = FigureTable()
    odd = np.array([np.nan]).view(np.uint64) | np.uint64(7)
    one = table.places("g", Designs.of(1, a=0.0, b=np.nan))
    other = table.places("g", Designs.of(1, a=-0.0, b=odd.view(float)))
    assert one is not None
    assert one.tolist() == other.tolist()  # type: ignore[union-attr]


def test_columns_that_cannot_be_compared_have_no_place() -> None:
    """Plug-ins may put anything into a column of their own."""
    assert FigureTable().places("g", Designs.of(1, thing=np.array([{}], dtype=object))) is None


def test_only_what_is_missing_is_computed() -> None:
    """A second batch that overlaps the first asks for the rest, and every value goes to its own section."""
    table = FigureTable()
    asked: list[list[int]] = []

    @dataclasses.dataclass(frozen=True)
    class Pair:
        twice: Any
        odd: Any
        nothing: None = None

    def figures(of: np.ndarray) -> Pair:
        places = table.places("g", Designs.of(len(of), a=of))
        assert places is not None

        def compute(rows: np.ndarray) -> Pair:
            asked.append(of[rows].tolist())
            return Pair(2 * of[rows], of[rows] % 2 == 1)

        return table.figure("pair", places, compute)

    figures(np.array([1.0, 2.0]))
    some = figures(np.array([5.0, 2.0, 4.0, 1.0]))
    assert asked == [[1.0, 2.0], [5.0, 4.0]]
    assert some.twice.tolist() == [10.0, 4.0, 8.0, 2.0]
    assert some.odd.tolist() == [True, False, False, True]
    many = np.arange(1000.0)
    assert figures(many).twice.tolist() == (2 * many).tolist()


def test_what_fails_is_not_known() -> None:
    """A figure that could not be computed is computed again."""
    table = FigureTable()
    places = table.places("g", Designs.of(1))
    assert places is not None

    def fails(rows: np.ndarray) -> np.ndarray:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        table.figure("f", places, fails)
    assert table.figure("f", places, lambda rows: np.array([1.0])).tolist() == [1.0]


def test_a_store_begins_anew_before_it_grows_too_large() -> None:
    """Sections that stand in the old table go on reading it."""
    store = FigureStore(most_bytes=50_000)
    first = store.table
    places = first.places("g", Designs.of(400, a=np.arange(400.0)))
    assert places is not None
    assert first.size_bytes > 50_000
    assert store.table is not first
    assert store.table.size_bytes == 0
    assert first.figure("f", places, lambda rows: rows * 2.0)[-1] == 798.0


BRIEFS = [
    ("tasks.game-dressing=0.7", "tasks.pocket-carry=0.3", "owner.hand=left"),
    ("tasks.wood-splitting=0.8", "tasks.wood-carving=0.2", "owner.gear=belt-grinder"),
    ("tasks.food-prep=1", "owner.gear=pull-through"),
]


@pytest.mark.parametrize("settings", BRIEFS, ids=lambda s: s[0])
def test_a_section_measures_the_same_whatever_is_measured_with_it(
    settings: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """To the last bit, for every figure of every metric: else an answer would depend on earlier questions."""
    service = Service(strict=True, own_shop=False)
    monkeypatch.setattr(measuring, "FIGURES", FigureStore())
    case = service.briefs.case(with_settings(Brief(), settings))
    computed: list[tuple[Sections, Any, tuple[Any, ...], Any]] = []
    place = FigureTable.figure

    def watched(self: FigureTable, key: Any, places: Any, compute: Any) -> Any:
        cells = inspect.getclosurevars(compute).nonlocals
        value = place(self, key, places, compute)
        computed.append((cells["self"], cells["compute"], cells["inputs"], value))
        return value

    monkeypatch.setattr(FigureTable, "figure", watched)
    for grind in case.registry.grinds.values():
        designs = sample(grind.item, case.resolved, 60)
        designs = designs.taking(filter_feasible(grind.item, designs, case.resolved)[0])
        if not len(designs):
            continue
        measured = Measured.of(grind, designs, case.resolved.context(grind.item), case.registry)
        assert measured is not None
        for name, stamped in case.registry.metrics.items():
            if stamped.item.of == "section":
                measured.metric(name)
    keys = set()
    for sections, compute, inputs, value in computed:
        few = np.arange(len(sections))[1::3]
        if not few.size:
            continue
        keys.add(compute)
        some = compute(sections.taking(few), *inputs)
        for whole, part in zip(parts_of(value), parts_of(some), strict=True):
            if whole is not None:
                assert np.array_equal(np.asarray(whole)[few], part, equal_nan=True), compute
    assert len(keys) > 20


def test_built_in_metrics_name_all_that_a_figure_is_made_of(service: Service, monkeypatch: pytest.MonkeyPatch) -> None:
    """What a computation only captures (a task's depth) is in no key: another pack's task would get its figure."""
    captured: dict[str, Any] = {}
    figure = Sections.figure

    def watched(self: Sections, key: Any, compute: Any, *inputs: Any) -> Any:
        held = inspect.getclosurevars(compute).nonlocals
        captured.update({f"{key}: {name}": value for name, value in held.items() if not callable(value)})
        return figure(self, key, compute, *inputs)

    monkeypatch.setattr(Sections, "figure", watched)
    case = service.briefs.case(with_settings(Brief(), [f"tasks.{task}=1" for task in service.knowledge.tasks]))
    for grind in case.registry.grinds.values():
        designs = sample(grind.item, case.resolved, 10)
        designs = designs.taking(filter_feasible(grind.item, designs, case.resolved)[0])
        if len(designs):
            measured = Measured.of(grind, designs, case.resolved.context(grind.item), case.registry)
            assert measured is not None
            for stamped in case.registry.metrics.values():
                if stamped.item.of == "section":
                    measured.metric(stamped.item.id)
    assert {key: value for key, value in captured.items() if not key.startswith("('thickness', ")} == {}


def test_a_plug_in_from_outside_gets_no_part_of_the_store() -> None:
    """What it is lent is a twin: the table is no field, and stays behind."""
    from recommender.plugin.lending import twin

    table = FigureTable()
    designs = Designs.of(1, stock_thickness_mm=3.0, height_mm=30.0)
    outline = np.array([[[0, 0, 0], [1.5, 30, 0], [-1.5, 30, 0.0]]])
    sections = Sections(designs, outline, outline, None, np.zeros(1, dtype=bool))
    lent = twin(sections.placed(table, table.places("g", designs)))
    assert sections.placing is not None
    assert lent.placing is None


def test_designs_are_told_apart_by_every_column_and_by_what_they_leave_blank() -> None:
    """A micro-bevel of 0 is not the same as none."""
    designs = Designs.of(
        6,
        micro_bevel_per_side_deg=[0.0, np.nan, 0.0, np.nan, 0.0, 0.0],
        side=["left", "left", "left", "left", "right", "left"],
    )
    first, row = designs.distinct()
    assert first[row].tolist() == [0, 1, 0, 1, 4, 0]
    alike = Designs.of(3, height_mm=30.0)
    assert [part.tolist() for part in alike.distinct()] == [[0], [0, 0, 0]]
