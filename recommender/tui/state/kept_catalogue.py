"""What there was to choose from last time: the form is painted with it until the engine is there, which corrects it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from pathlib import Path

from pydantic import ValidationError

from recommender import __version__
from recommender.cached_json import read_cached, write_cached
from recommender.folders import user_folder
from recommender.text import clean
from recommender.worker.parts import Catalogue

MOST_KEPT = 4
"""One for every choice of plug-ins that the interface is started with."""


class KeptCatalogue:
    """A file of the user's cache."""

    def __init__(self, without: Sequence[str] = (), *, foreign: bool = True, folder: Path | None = None) -> None:
        told_apart = hashlib.sha256(json.dumps([__version__, sorted(without), foreign]).encode())
        self._file = (folder or user_folder("cache")) / "catalogue" / f"{told_apart.hexdigest()[:32]}.json"

    def read(self) -> Catalogue | None:
        """What was kept; None where there is nothing, or nothing that may be shown."""
        data = read_cached(self._file)
        try:
            found = Catalogue.model_validate_json(json.dumps(data)) if data else None
        except ValidationError:
            return None
        return found if found is not None and _is_clean(data) else None

    def keep(self, catalogue: Catalogue) -> bool:
        """Keep what the engine says; whether it could be."""
        return write_cached(self._file, catalogue.model_dump(mode="json"), MOST_KEPT)

    @property
    def folder(self) -> Path:
        """Where it is kept."""
        return self._file.parent


def _is_clean(data: object) -> bool:
    """Whether every text can be shown as it is."""
    if isinstance(data, dict):
        return all(_is_clean(value) for value in data.values())
    if isinstance(data, list):
        return all(map(_is_clean, data))
    return not isinstance(data, str) or clean(data, one_line=True) == data
