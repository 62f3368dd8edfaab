"""Plug-ins that ended the process that called them, and are done without."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from recommender.errors import PluginError
from recommender.models.base import Model

if TYPE_CHECKING:
    from recommender.plugin.guard import Origin
    from recommender.processes.call_mark import MarkedCall


class LeftOut(Model):
    """A plug-in that ended its process: what it was and what it was doing."""

    plugin: str
    distribution: str
    version: str
    doing: str
    cause: str = ""

    @classmethod
    def of(cls, call: MarkedCall, cause: str) -> LeftOut:
        """The plug-in of a call in which its process ended."""
        return cls(
            plugin=call.plugin, distribution=call.distribution, version=call.version, doing=call.doing, cause=cause
        )

    def __str__(self) -> str:
        return f"{self.plugin} ({self.distribution} {self.version})"


def failures_of(left_out: Iterable[LeftOut]) -> dict[Origin, PluginError]:
    """As `Service` takes them."""
    from recommender.plugin.guard import Origin

    return {
        Origin(each.plugin, each.distribution, each.version): PluginError(
            each.plugin, f"{each.distribution} {each.version}", each.doing, each.cause
        )
        for each in left_out
    }
