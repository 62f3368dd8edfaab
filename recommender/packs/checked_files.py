"""TOML files checked before: the models that they hold as plain data, kept in the user's cache folder, file by file.

A file is known by the digest of its bytes. What is kept holds only for the very sources and versions that checked it;
it is JSON, so that nothing in it can be run. Where nothing can be kept, packs are parsed and
validated anew each time, without a word: the answer is the same, and a tenth of a second later.
"""

from __future__ import annotations

import hashlib
import os
import sys
from collections.abc import Callable
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

import pydantic

from recommender import __version__, errors, parsing, text
from recommender.cached_json import read_cached, write_cached
from recommender.errors import PackError
from recommender.files import FilesDigest
from recommender.folders import user_folder
from recommender.models import brief
from recommender.models.knowledge import written_rule
from recommender.packs import located, plain_models
from recommender.packs.located import parse_toml
from recommender.packs.plain_models import plain, rebuilt
from recommender.packs.written_rules import rule_files

FOLDER = "checked-packs"
Check = Callable[[dict[str, Any], str], tuple[Any, list[PackError]]]
"""TOML data and the name of its file -> the models in it, and what is wrong."""
MOST_KEPT = 16
"""Packs, each of one place and of one version of this program; beyond that the oldest go."""
MOST_BYTES = 1_000_000
"""Of TOML in a pack, four times as much as the shipped one has; a larger one is not kept."""


class CheckedFiles:
    """The TOML files of one pack, checked or known from before."""

    def __init__(self, pack: Traversable) -> None:
        self._file = kept_file(pack)
        self._before = read_cached(self._file)
        self._now: dict[str, Any] = {}
        self._seen = FilesDigest()
        self._bytes = 0

    def read(self, kind: str, check: Check, raw: bytes, file: str) -> tuple[Any, list[PackError]]:
        """What a file of a kind holds as far as it can be read, and every problem of the rest."""
        key = f"{kind} {self._seen.add(file.partition('/')[2], raw)}"
        data = self._before.get(key)
        found = _rebuilt(data) if data is not None else None
        if found is None:
            try:
                found, problems = check(parse_toml(raw, file, PackError), file)
            except PackError as problem:
                return None, [problem]
            if problems:
                return found, problems
            data = plain(found)
        self._bytes += len(raw)
        if self._bytes <= MOST_BYTES:
            self._now[key] = data
        else:
            self._now.clear()
        return found, []

    @property
    def digest(self) -> str:
        """The first digits of a SHA-256 over names and contents of the files read, wherever the pack lies."""
        return str(self._seen)

    def keep(self) -> None:
        """Keep what has been checked, if it is not what was kept; where that cannot be, so be it."""
        if self._bytes > MOST_BYTES or self._now.keys() == self._before.keys():
            return
        write_cached(self._file, self._now, MOST_KEPT)  # not where there is a date, which JSON does not have


def kept_file(pack: Traversable) -> Path:
    """Where the files of a pack are kept: a name for its place, and for all that has a say in what they hold."""
    told_apart = hashlib.sha256(os.path.abspath(str(pack)).encode("utf-8", "replace"))
    told_apart.update(f"\0{__version__}\0{sys.version}\0{pydantic.VERSION}\0".encode())
    own = (sys.modules[__name__], located, plain_models, rule_files, written_rule, *plain_models.MODULES)
    for module in (*own, brief, errors, parsing, text):
        told_apart.update(Path(str(module.__file__)).read_bytes())
    return user_folder("cache") / FOLDER / f"{told_apart.hexdigest()[:32]}.json"


def _rebuilt(data: Any) -> Any:
    """The model of plain data; None where it is none, which only another program can have put there."""
    try:
        return rebuilt(data)
    except (KeyError, TypeError, AttributeError, RecursionError):
        return None
