"""Plug-ins as they are told of: what each gives, what failed of it, and which are blocked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from typing import Literal

from recommender.errors import InputError
from recommender.parsing import parse_toml
from recommender.plugin.guard import Origin
from recommender.plugin.registry import Registry
from recommender.text import clean, plural


@dataclass(frozen=True)
class PluginStatus:
    """A plug-in as it is told of."""

    name: str
    """With its distribution and version."""
    plugin: str
    distribution: str
    """With its version."""
    state: Literal["loaded", "failed", "blocked"]
    """Failed: it could not be loaded at all."""
    given: Mapping[str, tuple[str, ...]]
    """grinds, metrics, packs or writers -> ids."""
    failed: tuple[str, ...]
    api: int | None = None
    """The version of the plug-in interface that a loaded one is written for."""
    disabled_by: str | None = None
    """Of a blocked one: the block list, --without or --no-plugins."""

    @property
    def gives(self) -> tuple[str, ...]:
        """What it gives, kind by kind."""
        return tuple(f"{plural(len(ids), kind[:-1])}: {', '.join(ids)}" for kind, ids in self.given.items())

    @property
    def text(self) -> str:
        """All of it."""
        state = f", disabled by {self.disabled_by}: not imported" if self.disabled_by else ""
        return "\n".join([self.name + state, "", *self.gives, *(f"failed: {words}" for words in self.failed)])

    def as_json(self) -> dict[str, object]:
        """All of it as JSON data."""
        return {
            "plugin": self.plugin,
            "distribution": self.distribution,
            "api": self.api,
            "state": self.state,
            **({"disabled_by": self.disabled_by} if self.disabled_by else {}),
            "gives": {kind: list(ids) for kind, ids in self.given.items()},
            "failed": list(self.failed),
        }


def plugin_statuses(registry: Registry, failed: Sequence[str] = ()) -> list[PluginStatus]:
    """Every plug-in of a registry: the loaded ones, those that failed to load, those that are blocked.

    `failed`: what an answer says of plug-ins that failed in it.
    """
    loaded = {origin: _loaded(origin, registry, failed) for origin in registry.origins}
    known = {(plugin.plugin, plugin.distribution) for plugin in loaded.values()}
    out = list(loaded.values())
    for failure in registry.failures:
        if (failure.plugin, failure.distribution) not in known:
            name = f"{failure.plugin} ({failure.distribution})"
            out.append(PluginStatus(name, failure.plugin, failure.distribution, "failed", {}, (str(failure),)))
    return out + [
        PluginStatus(str(o), o.plugin, _distribution(o), "blocked", {}, (), disabled_by=registry.disabled_by.get(o))
        for o in registry.blocked
    ]


def _loaded(origin: Origin, registry: Registry, failed_later: Sequence[str]) -> PluginStatus:
    given = {
        "grinds": [id_ for id_, stamped in registry.grinds.items() if stamped.origin == origin],
        "metrics": [id_ for id_, stamped in registry.metrics.items() if stamped.origin == origin],
        "packs": [_pack_name(s.item) for s in registry.packs if s.origin == origin],
        "writers": [id_ for id_, stamped in registry.writers.items() if stamped.origin == origin],
    }
    own = (origin.plugin, _distribution(origin))
    known = [str(f) for f in registry.failures if (f.plugin, f.distribution) == own]
    failed = tuple(
        dict.fromkeys([*known, *(words for words in failed_later if words.startswith(f"plug-in {origin} "))])
    )
    some = {kind: tuple(ids) for kind, ids in given.items() if ids}
    return PluginStatus(str(origin), origin.plugin, own[1], "loaded", some, failed, registry.origins[origin])


def _pack_name(folder: Traversable) -> str:
    """The id of a pack, which `switch_off` and answers name; of one that cannot be read, its folder's name."""
    try:
        id_ = parse_toml((folder / "pack.toml").read_bytes(), "pack.toml").get("id")
    except (OSError, InputError):
        id_ = None
    return clean(id_ if isinstance(id_, str) else str(folder.name), one_line=True)


def _distribution(origin: Origin) -> str:
    return f"{origin.distribution} {origin.version}"
