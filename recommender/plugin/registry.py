"""Guarded loading and calling of plug-ins: one that breaks is named and left out, the rest goes on."""

from __future__ import annotations

import contextlib
import importlib.metadata
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from importlib.resources.abc import Traversable
from typing import Any, Generic, TypeVar

import pluggy

from recommender.errors import PluginError
from recommender.plugin import hooks
from recommender.plugin.api import API_VERSION, Grind, Metric, Writer
from recommender.text import clean, shorten
from recommender.units import Unit

GROUP = "bevelwright.plugins"
BUILTIN = "builtin"
"""Loaded first: what others give may lean on it."""
T = TypeVar("T")
C = TypeVar("C", Grind, Metric, Writer)


@dataclass(frozen=True)
class Origin:
    """Which plug-in something came from."""

    plugin: str
    distribution: str
    version: str

    def __str__(self) -> str:
        return f"{self.plugin} ({self.distribution} {self.version})"


@dataclass(frozen=True)
class Stamped(Generic[T]):
    """A contribution with the plug-in that gave it."""

    item: T
    origin: Origin


@dataclass
class Registry:
    """Everything that loaded, and what failed."""

    strict: bool = False
    grinds: dict[str, Stamped[Grind]] = field(default_factory=dict)
    metrics: dict[str, Stamped[Metric]] = field(default_factory=dict)
    packs: list[Stamped[Traversable]] = field(default_factory=list)
    writers: dict[str, Stamped[Writer]] = field(default_factory=dict)
    origins: list[Origin] = field(default_factory=list)
    failures: list[PluginError] = field(default_factory=list)

    def failed(self, origin: Origin, doing: str, cause: BaseException | str) -> None:
        """Note the first failure of a plug-in at one thing; raise it when strict."""
        error = PluginError(origin.plugin, f"{origin.distribution} {origin.version}", doing, cause)
        if self.strict:
            raise error
        if (error.plugin, doing) not in {(known.plugin, known.doing) for known in self.failures}:
            self.failures.append(error)

    def call(self, origin: Origin, doing: str, function: Callable[..., T], *args: Any) -> T | None:
        """Call a plug-in's function; on Exception or SystemExit note the failure and return None."""
        try:
            with quiet_stdout():
                return function(*args)
        except (Exception, SystemExit) as cause:
            self.failed(origin, doing, cause)
            return None


@contextlib.contextmanager
def quiet_stdout() -> Iterator[None]:
    """Send what a plug-in prints to standard error, so that it never mixes with an answer."""
    with contextlib.redirect_stdout(sys.stderr):
        yield


def load(*, strict: bool = False, extra: dict[str, Any] | None = None) -> Registry:
    """Load every installed plug-in of the entry-point group, one by one, the built-in one first, the others by name.

    `extra` adds plug-in objects by name, for tests and tools. Raises PluginError only when strict.
    """
    registry = Registry(strict=strict)
    manager = pluggy.PluginManager(hooks.PROJECT)
    manager.add_hookspecs(hooks)
    for point in sorted(importlib.metadata.entry_points(group=GROUP), key=lambda p: (p.name != BUILTIN, p.name)):
        dist = point.dist
        origin = Origin(
            clean(point.name, one_line=True),
            clean(dist.name if dist else "unknown", one_line=True),
            clean(dist.version if dist else "0", one_line=True),
        )
        module = registry.call(origin, "loading", point.load)
        if module is not None:
            _register(registry, manager, origin, module)
    for name, plugin in (extra or {}).items():
        _register(registry, manager, Origin(name, "given", "0"), plugin)
    return registry


def _register(registry: Registry, manager: pluggy.PluginManager, origin: Origin, plugin: Any) -> None:
    version = getattr(plugin, "BEVELWRIGHT_API", None)
    if version != API_VERSION:
        registry.failed(origin, "loading", f"BEVELWRIGHT_API is {version!r}, this version needs {API_VERSION}")
        return
    try:
        manager.register(plugin, name=origin.plugin)
        manager.check_pending()
    except (Exception, SystemExit) as cause:
        registry.failed(origin, "registering", cause)
        return
    registry.origins.append(origin)
    hook = manager.hook
    _keep(registry, origin, "grinds", Grind, registry.grinds, _answers(registry, hook.grinds, plugin, origin, "grinds"))
    _keep(
        registry,
        origin,
        "metrics",
        Metric,
        registry.metrics,
        _answers(registry, hook.metrics, plugin, origin, "metrics"),
    )
    _keep(
        registry,
        origin,
        "writers",
        Writer,
        registry.writers,
        _answers(registry, hook.writers, plugin, origin, "writers"),
    )
    registry.packs.extend(Stamped(folder, origin) for folder in _answers(registry, hook.packs, plugin, origin, "packs"))


def _keep(
    registry: Registry, origin: Origin, name: str, kind: type[C], keep: dict[str, Stamped[C]], items: list[Any]
) -> None:
    for item in items:
        if not isinstance(item, kind):
            registry.failed(origin, f"giving {name}", f"{type(item).__name__} instead of {kind.__name__}")
        elif not isinstance(item.id, str) or not item.id or clean(item.id, one_line=True) != item.id:
            registry.failed(origin, f"giving {name}", f"{shorten(item.id)} is no id")
        elif isinstance(item, Metric) and not isinstance(item.unit, Unit):
            registry.failed(origin, f"giving {name}", f"{item.id}: {shorten(item.unit)} is no unit of the closed set")
        elif isinstance(item, Metric) and item.of not in ("section", "blade"):
            registry.failed(origin, f"giving {name}", f"{item.id}: of {shorten(item.of)}, not of a section or a blade")
        elif isinstance(item, Grind) and not isinstance(item.surfaces, frozenset):
            registry.failed(origin, f"giving {name}", f"{item.id}: surfaces is no frozenset")
        elif item.id in keep:
            registry.failed(origin, f"giving {name}", f"id {item.id} is already taken by {keep[item.id].origin}")
        else:
            keep[item.id] = Stamped(item, origin)


def _answers(registry: Registry, caller: pluggy.HookCaller, plugin: Any, origin: Origin, name: str) -> list[Any]:
    # Implementations are called one at a time rather than through the hook: a failure stays one plug-in's own.
    for implementation in caller.get_hookimpls():
        if implementation.plugin is plugin:
            answer = registry.call(origin, f"giving {name}", implementation.function)
            if answer is None:
                return []
            if not isinstance(answer, (list, tuple)):
                registry.failed(origin, f"giving {name}", f"{type(answer).__name__} instead of a list")
                return []
            return list(answer)
    return []
