"""Wood sliding on steel: Wood Science and Technology, doi 10.1007/BF00394962.

Source: seen (mechanics.md section 3): air-dry 0.65 at rest down to 0.4 at 4 m/s; wet 0.7 down to 0.15.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Tables = Callable[[str, str], dict[str, Any]]
PUBLISHED = {
    "seasoned-hardwood": (0.4, 0.65),
    "seasoned-softwood": (0.4, 0.65),
    "green-wood": (0.15, 0.7),
}


@pytest.mark.parametrize(("material", "published"), PUBLISHED.items())
def test_friction(core_table: Tables, material: str, published: tuple[float, float]) -> None:
    """The likely value lies within what was measured, the band holds all of it."""
    friction = core_table("materials", material)["friction"]
    slow, fast = published[1], published[0]
    assert fast <= friction["likely"] <= slow
    assert friction["low"] <= fast
    assert friction["high"] >= slow
