"""Fracture toughness of raw vegetables and fruit: J. Texture Studies 14 (1983) 155 and 31 (2000) 457.

Source: seen (mechanics.md section 3): apple about 200 J/m2; carrot, celery and apple 40 to 400 J/m2.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

LOW, HIGH, APPLE = 40, 400, 200
Tables = Callable[[str, str], dict[str, Any]]


@pytest.mark.parametrize("path", [("toughness_j_per_m2",), ("splits", "gc_j_per_m2")], ids=["cut", "split"])
def test_firm_vegetables(core_table: Tables, path: tuple[str, ...]) -> None:
    quantity: Any = core_table("materials", "firm-vegetables")
    for key in path:
        quantity = quantity[key]
    assert LOW <= quantity["low"] <= APPLE <= quantity["high"] <= HIGH
    # A material of carrot and potato lies within a third of the apple's figure.
    assert quantity["likely"] == pytest.approx(APPLE, rel=1 / 3)


def test_ripe_fruit_is_weaker(core_table: Tables) -> None:
    soft = core_table("materials", "soft-vegetables")["toughness_j_per_m2"]
    assert soft["likely"] < APPLE
