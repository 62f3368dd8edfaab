"""Some cases of every area; `python -m tests.fuzz` runs many."""

from __future__ import annotations

from itertools import islice

import pytest

from tests.fuzz.areas import AREAS
from tests.fuzz.command import outcome

CASES = 8


@pytest.mark.parametrize("area", AREAS)
def test_some_of_every_area(area: str) -> None:
    # Of the interface fewer, as each takes as long as two dozen of the others.
    for case in islice(AREAS[area].cases(7), CASES if area != "interface" else CASES // 2):
        assert AREAS[area].run(case) in ("answered", "refused"), case.name


@pytest.mark.parametrize("area", ["shops", "settings", "rows"])
def test_a_third_goes_through_the_program_and_not_everything(area: str) -> None:
    came = [AREAS[area].run(case) for case in islice(AREAS[area].cases(5), 30)]
    assert 10 <= came.count("answered") < 30


@pytest.mark.parametrize("area", AREAS)
def test_a_seed_gives_the_same_cases(area: str) -> None:
    assert [*islice(AREAS[area].cases(3), 5)] == [*islice(AREAS[area].cases(3), 5)]
    assert [*islice(AREAS[area].cases(3), 5)] != [*islice(AREAS[area].cases(4), 5)]


def test_what_is_not_kept_is_found() -> None:
    with pytest.raises(AssertionError, match="files written"):
        outcome(["shop", "new", "s.toml"], {})
