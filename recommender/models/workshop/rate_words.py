"""What every rate of `shop.toml` is called in sentences: the one declaration, read by prices, documents and fits."""

from __future__ import annotations

import re
from collections.abc import Mapping

RATES: Mapping[str, str] = {
    "business.labour_per_hour": "labour per hour",
    "business.overhead_percent": "overhead on all costs",
    "business.margin_percent": "margin on costs and overhead",
    "business.tax_percent": "tax on what is sold",
    "material.price_per_kg": "price of steel per kg",
    "material.steel_price_per_kg.*": "price of {} per kg",
    "grinding.platen": "removal rate on the platen",
    "grinding.wheel": "removal rate on the wheel",
    "grinding.slack_belt": "removal rate on the slack belt",
    "grinding.profile_mm_per_min": "rate of sawing and filing",
    "grits.*.mm2_per_min": "rate of belt {}",
    "grits.*.belt_price": "price of belt {}",
    "heat_treatment.handling_minutes": "handling time",
    "heat_treatment.batch_price": "price of a batch",
    "edge.mm_per_min": "rate of sharpening",
    "finishes.*.mm2_per_min": "rate of the finish {}",
    "handles.*.material": "material of the handle {}",
    "handles.*.minutes": "time for the handle {}",
    "sheaths.*.material": "material of the sheath {}",
    "sheaths.*.minutes": "time for the sheath {}",
    "shipping.*.price": "price of sending, {}",
}
"""Where a rate stands in shop.toml -> its words, which may follow “the”; * is an id, a place from 0 on for belts."""

_PATTERNS = {key: re.escape(key).replace(r"\*", r"([a-z0-9][a-z0-9._-]*)") for key in RATES}
_ANY = re.compile(rf"(?<![\w.])(?:{'|'.join(sorted(_PATTERNS.values(), key=len, reverse=True))})(?![\w])")


def rate_words(key: str) -> str:
    """A rate in words, by where it stands in shop.toml; one that is unknown here, of a later version, as it can be.

    >>> rate_words("business.labour_per_hour"), rate_words("grits.1.belt_price"), rate_words("business.new_rate")
    ('labour per hour', 'price of belt 2', 'new rate')
    """
    for known, pattern in _PATTERNS.items():
        if found := re.fullmatch(pattern, key):
            return RATES[known].format(*(_named(known, name) for name in found.groups()))
    return key.rpartition(".")[2].replace("_", " ")


def in_words(text: str) -> str:
    """A sentence with the rates in it in words: quotes of earlier versions name them as shop.toml does.

    >>> in_words("9.5 min a blade: 4336 mm² of faces at grits.1.mm2_per_min")
    '9.5 min a blade: 4336 mm² of faces at rate of belt 2'
    """
    return _ANY.sub(lambda found: rate_words(found[0]), text)


def _named(key: str, name: str) -> str:
    if key.startswith("grits."):
        return str(int(name) + 1) if name.isdigit() else name
    return name.upper() if key.startswith("material.") else name
