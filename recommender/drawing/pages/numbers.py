"""Every number of a table with its band, its basis and what it means."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from recommender.drawing.documents.document_markdown import escaped
from recommender.drawing.pages.markup import basis_words, table
from recommender.models.base import Basis, Quantity, Range
from recommender.models.docstrings import attribute_docstrings

_UNITS = {
    "_mpa_sqrt_m": "MPa √m",
    "_mm3_per_min": "mm³/min",
    "_n_per_mm3": "N/mm³",
    "_n_per_mm": "N/mm",
    "_j_per_m2": "J/m²",
    "_per_hrc": "per HRC",
    "_per_side_deg": "° per side",
    "_n_m": "N m",
    "_minutes": "min",
    "_mpa": "MPa",
    "_hrc": "HRC",
    "_deg": "°",
    "_um": "µm",
    "_mm": "mm",
    "_mj": "mJ",
    "_n": "N",
    "_c": "°C",
}


def numbers(model: BaseModel, *, but: frozenset[str] = frozenset()) -> str:
    """A table of a model's figures, fields of some names left out."""
    return table(("figure", "likely", "band", "basis", "meaning"), _rows(model, "", but, None))


def _rows(model: BaseModel, prefix: str, but: frozenset[str], basis: Basis | None) -> Iterator[tuple[str, ...]]:
    words = attribute_docstrings(type(model))
    own = getattr(model, "basis", basis)
    for name in type(model).model_fields:
        value = getattr(model, name)
        meaning = escaped(words.get(name, ""))
        if name in but or value is None or isinstance(value, Basis):
            continue
        label, unit = label_and_unit(f"{prefix}{name.rstrip('_')}")
        if isinstance(value, Quantity):
            band = f"{value.low:g} to {value.high:g}"
            yield escaped(label), f"{value.likely:g} {unit}".strip(), band, basis_words(value.basis), meaning
        elif isinstance(value, Range):
            yield escaped(label), f"{value.low:g} to {value.high:g} {unit}".strip(), "", _basis_words(own), meaning
        elif isinstance(value, BaseModel):
            yield from _rows(value, f"{prefix}{name}_", but, own)
        elif isinstance(value, tuple):
            for number, each in enumerate((v for v in value if isinstance(v, BaseModel)), start=1):
                yield from _rows(each, f"{prefix}{name}_{number}_", but, own)
        elif isinstance(value, bool):
            yield escaped(label), "yes" if value else "no", "", _basis_words(own), meaning
        elif isinstance(value, (int, float)):
            yield escaped(label), f"{value:g} {unit}".strip(), "", _basis_words(own), meaning
        elif isinstance(value, str) and prefix:
            yield escaped(label), escaped(value), "", _basis_words(own), meaning


def _basis_words(basis: Basis | None) -> str:
    return "" if basis is None else basis_words(basis)


def label_and_unit(name: str) -> tuple[str, str]:
    """A field's name in words, and the unit that it ends in.

    >>> label_and_unit("apex_radius_um"), label_and_unit("friction")
    (('apex radius', 'µm'), ('friction', ''))
    """
    ending = next((end for end in _UNITS if name.endswith(end)), "")
    return name.removesuffix(ending).replace("_", " "), _UNITS.get(ending, "")
