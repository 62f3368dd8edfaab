"""Guarded loading and calling of plug-ins: one that breaks is named and left out, the rest goes on."""

from __future__ import annotations

import dataclasses
import importlib.metadata
from collections.abc import Collection
from dataclasses import dataclass, field
from importlib.resources.abc import Traversable
from typing import Any, TypeVar

import pluggy

from recommender.errors import InputError
from recommender.plugin import hooks
from recommender.plugin.api import API_VERSIONS, Grind, Metric, Writer
from recommender.plugin.block_list import blocked_names
from recommender.plugin.declaration_checks import declaration_fault
from recommender.plugin.guard import Guard, Origin, Registered, UnusableResultError, called
from recommender.plugin.installed import BUILTIN as BUILTIN
from recommender.plugin.installed import GROUP as GROUP
from recommender.plugin.installed import installed as installed
from recommender.text import clean, shorten

C = TypeVar("C", Grind, Metric, Writer)


@dataclass
class Registry(Guard):
    """Everything that loaded, what failed, and what was shut out.

    The one that `load` gives knows what failed while loading; a question gets its own by `for_answer`.
    """

    grinds: dict[str, Registered[Grind]] = field(default_factory=dict)
    metrics: dict[str, Registered[Metric]] = field(default_factory=dict)
    packs: list[Registered[Traversable]] = field(default_factory=list)
    writers: dict[str, Registered[Writer]] = field(default_factory=dict)
    plugins: dict[Origin, Any] = field(default_factory=dict)
    """What loaded, as its hooks are called on."""
    origins: dict[Origin, int] = field(default_factory=dict)
    """What loaded -> the version of the plug-in interface that it is written for."""
    blocked: list[Origin] = field(default_factory=list)
    """Installed, but not even imported: on the user's block list, or disabled for this answer."""
    disabled_by: dict[Origin, str] = field(default_factory=dict)
    """Of those blocked, by what: the block list, --without or --no-plugins."""

    def for_answer(self) -> Registry:
        """The same contributions for one question: what fails and is printed meanwhile stays with it."""
        own = dataclasses.replace(self, failures=list(self.failures), captures={})
        own.grinds = {id_: own.grind(stamped) for id_, stamped in self.grinds.items()}
        return own


def load(
    *,
    strict: bool = False,
    extra: dict[str, Any] | None = None,
    without: Collection[str] = (),
    foreign: bool = True,
) -> Registry:
    """Load every installed plug-in of the entry-point group, one by one, the built-in one first, the others by name.

    Those of the user's block list and those named in `without` are not imported, nor any but the shipped ones unless
    `foreign`. `extra` adds plug-in objects by name, for tests and tools. Raises PluginError only when strict,
    InputError for names in `without` that no plug-in has and for a block list that cannot be read.
    """
    registry = Registry(strict=strict)
    manager = pluggy.PluginManager(hooks.PROJECT)
    manager.add_hookspecs(hooks)
    points = {_origin(point): point for point in installed()}
    given = {Origin(name, "given", "0"): plugin for name, plugin in (extra or {}).items()}
    must_be_there(without, [origin.plugin for origin in (*points, *given)])
    blocked = blocked_names()
    for origin in (*points, *given):
        if disabled := _disabled_by(origin, blocked, without, foreign):
            registry.blocked.append(origin)
            registry.disabled_by[origin] = disabled
            continue
        plugin = given[origin] if origin in given else registry.call(origin, "loading", points[origin].load)
        if plugin is not None:
            _register(registry, manager, origin, plugin)
    return registry


def _origin(point: importlib.metadata.EntryPoint) -> Origin:
    dist = point.dist
    return Origin(
        clean(point.name, one_line=True),
        clean(dist.name if dist else "unknown", one_line=True),
        clean(dist.version if dist else "0", one_line=True),
    )


def _disabled_by(origin: Origin, blocked: Collection[str], without: Collection[str], foreign: bool) -> str | None:
    if origin.foreign and not foreign:
        return "--no-plugins"
    return "--without" if origin.plugin in without else "the block list" if origin.plugin in blocked else None


def must_be_there(names: Collection[str], valid: Collection[str] | None = None) -> None:
    """Refuse names that no plug-in has, of those given or else installed. Raises InputError, with the nearest name.

    A misspelt name would let in what somebody wanted to keep out.
    """
    valid = [_origin(point).plugin for point in installed()] if valid is None else valid
    for name in names:
        if name not in valid:
            raise InputError(
                f"there is no plug-in {shorten(name)}", expected="a name of plugins list", given=name, valid=valid
            )


def _api_version(plugin: Any) -> int:
    version = getattr(plugin, "BEVELWRIGHT_API", None)
    if not isinstance(version, int) or version not in API_VERSIONS:
        oldest, newest = API_VERSIONS[0], API_VERSIONS[-1]
        served = str(newest) if oldest == newest else f"{oldest} to {newest}"
        raise ValueError(f"BEVELWRIGHT_API is {shorten(version)}, this version serves {served}")
    return int(version)


def _register(registry: Registry, manager: pluggy.PluginManager, origin: Origin, plugin: Any) -> None:
    try:
        with called(origin, "registering"):
            version = _api_version(plugin)
            manager.register(plugin, name=origin.plugin)
            manager.check_pending()
    except KeyboardInterrupt:
        raise
    except BaseException as cause:
        if manager.is_registered(plugin):  # or the next one would be blamed for it
            manager.unregister(plugin)
        registry.failed(origin, "registering", cause)
        return
    registry.origins[origin] = version
    registry.plugins[origin] = plugin

    def given(name: str) -> list[Any]:
        return _answers(registry, getattr(manager.hook, name), plugin, origin, name)

    _keep(registry, origin, "grinds", Grind, registry.grinds, given("grinds"))
    _keep(registry, origin, "metrics", Metric, registry.metrics, given("metrics"))
    _keep(registry, origin, "writers", Writer, registry.writers, given("writers"))
    registry.packs.extend(Registered(folder, origin) for folder in given("packs"))


def _keep(
    registry: Registry, origin: Origin, name: str, kind: type[C], keep: dict[str, Registered[C]], items: list[Any]
) -> None:
    def let_in(item: Any) -> None:
        problem = declaration_fault(item, kind)
        if problem is None and item.id in keep:
            problem = f"id {item.id} is already taken by {keep[item.id].origin}"
        if problem is not None:
            raise UnusableResultError(problem)
        keep[item.id] = Registered(item, origin)

    for item in items:
        registry.call(origin, f"giving {name}", let_in, item)


def _answers(registry: Registry, caller: pluggy.HookCaller, plugin: Any, origin: Origin, name: str) -> list[Any]:
    # Implementations are called one at a time rather than through the hook: a failure stays one plug-in's own.
    for implementation in caller.get_hookimpls():
        if implementation.plugin is plugin:
            return registry.call(origin, f"giving {name}", _listed, implementation.function) or []
    return []


def _listed(hook: Any) -> list[Any]:
    answer = hook()
    if not isinstance(answer, (list, tuple)):
        raise UnusableResultError(f"{type(answer).__name__} instead of a list")
    return list(answer)
