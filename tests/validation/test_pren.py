"""Pitting resistance equivalent: PREN = Cr + 3.3 Mo + 16 N, among stainless grades only.

Source: common formula, seen (mechanics.md section 3); worked by hand at the middle of the standards' ranges.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from recommender.models.knowledge.tables import Steel

Tables = Callable[[str, str], dict[str, Any]]


def pren(core_table: Tables, steel: str) -> float | None:
    return Steel.model_validate(core_table("steels", steel)).pren


@pytest.mark.parametrize(
    ("steel", "expected"),
    [
        ("1.4116", 16.645),  # 14.5 + 3.3 x 0.65
        ("1.4034", 13.5),  # 13.5, no Mo
        ("1.4112", 21.63),  # 18 + 3.3 x 1.1
        ("440c", 18.2375),  # 17 + 3.3 x 0.375
        ("420", 13.0),
    ],
)
def test_stainless(core_table: Tables, steel: str, expected: float) -> None:
    assert pren(core_table, steel) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("steel", ["d2", "a2", "m2", "1084", "o1"])
def test_meaningless_elsewhere(core_table: Tables, steel: str) -> None:
    """D2 has 12 % chromium, most of it bound in carbides: the formula would rank it with stainless grades."""
    assert pren(core_table, steel) is None
