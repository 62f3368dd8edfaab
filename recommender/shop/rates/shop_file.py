"""Reading `shop.toml`: the maker's own file, or the shipped one whose values are invented."""

from __future__ import annotations

import os
from decimal import Decimal
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from recommender.errors import InputError
from recommender.files import read_file, write_whole
from recommender.folders import user_folder
from recommender.text import shorten

if TYPE_CHECKING:  # where no file is there, nobody needs its model
    from recommender.models.workshop.shop import Shop

FILE = "shop.toml"
SHIPPED = "shop.toml as shipped"
MOST_BYTES = 200_000


def own_file() -> Path:
    """Where a maker's own `shop.toml` is looked for."""
    return user_folder("config") / FILE


def shop_file(file: str | None) -> str:
    """What a shop is read from, in words."""
    if file is None and not os.path.lexists(own_file()):
        return SHIPPED
    return str(own_file()) if file is None else file


def shipped() -> bytes:
    """The shipped `shop.toml`, its values invented."""
    return (files("recommender.shop.rates") / FILE).read_bytes()


def read_shop(file: str | None = None) -> Shop:
    """The shop of a file, else of the maker's own file, else as shipped. Raises InputError, located."""
    name = shop_file(file)
    if name == SHIPPED:
        return shop_of(shipped(), name)
    return shop_of(read_file(name, MOST_BYTES, "a shop.toml; `bevelwright shop new` writes one"), name)


def shop_of(raw: bytes, file: str) -> Shop:
    """A shop from TOML; decimals are read as they are written. Raises InputError, located."""
    from recommender.mechanics.grit import FEPA_P_GRAIN_UM
    from recommender.models.workshop.shop import Shop
    from recommender.packs.located import parse_toml, validated

    shop: Shop = validated(Shop, parse_toml(raw, file, most_bytes=MOST_BYTES, number=Decimal), file)
    for place, grit in enumerate(shop.grits):
        if grit.grade not in FEPA_P_GRAIN_UM:
            raise InputError(
                f"{shorten(grit.grade)} does not fit",
                file=file,
                key=f"grits.{place}.grade",
                expected="a FEPA P grade, such as P120",
                given=grit.grade,
                valid=FEPA_P_GRAIN_UM,
            )
        if place and grit.mm2_per_min is None:
            raise InputError(
                "missing", file=file, key=f"grits.{place}.mm2_per_min", expected="a rate for all but the first grit"
            )
    for kind in ("finishes", "handles", "sheaths", "shipping"):
        ids = [offer.id for offer in getattr(shop, kind)]
        twice = next((id_ for id_ in ids if ids.count(id_) > 1), None)
        if twice is not None:
            raise InputError(f"{twice} is there twice", file=file, key=kind, expected="an id for each")
    return shop


def new_shop(file: Path) -> None:
    """Write the shipped `shop.toml` to a new file. Raises InputError where there is one already."""
    if os.path.lexists(file):
        raise InputError("is there already", file=str(file), expected="a new file: yours is not written over")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        raise InputError(f"cannot be written ({cause.strerror})", file=str(file), expected="a writable file") from None
    write_whole(file, shipped())
