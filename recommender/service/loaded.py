"""What every question starts from: plug-ins and packs, loaded once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import TYPE_CHECKING, Any

from recommender.errors import PackError, PluginError
from recommender.text import clean, found_by, texts

if TYPE_CHECKING:
    from recommender.engine.intake.bench import Bench
    from recommender.models.answer.proposal import Answer
    from recommender.packs.knowledge import Knowledge
    from recommender.packs.load import Pack
    from recommender.plugin.api import Grind
    from recommender.plugin.guard import Origin
    from recommender.plugin.plugin_status import PluginStatus
    from recommender.plugin.registry import Registry


@dataclass
class Loaded:
    """Plug-ins and packs, loaded when they are first asked for; `replace` makes one that has loaded nothing yet."""

    strict: bool = False
    plugins: dict[str, Any] = field(default_factory=dict)
    """Plug-in objects by name, besides those installed."""
    packs: Sequence[str] = ()
    """Folders of packs over all others."""
    own_packs: bool = True
    """Whether the user's own packs count."""
    without: Sequence[str] = ()
    """Plug-ins, by name, that are not to be imported."""
    shop: str | None = None
    """A shop's file; where there is none the maker's own counts, if `own_shop`."""
    own_shop: bool = True
    foreign: bool = True
    """Whether plug-ins besides the shipped ones are imported."""
    left_out: Mapping[Origin, PluginError] = field(default_factory=dict)
    """Plug-ins that are done without as they changed what they were lent or ended the program; told of as failures."""

    @cached_property
    def registry(self) -> Registry:
        """Loaded plug-ins."""
        from recommender.plugin.registry import load

        without = {*self.without, *(origin.plugin for origin in self.left_out)}
        registry = load(strict=self.strict, extra=self.plugins, without=sorted(without), foreign=self.foreign)
        registry.blocked = [origin for origin in registry.blocked if origin not in self.left_out]
        registry.failures += self.left_out.values()
        return registry

    def doing_without(self, changers: Mapping[Origin, PluginError]) -> Loaded:
        """The same, loaded anew, without plug-ins that changed what they were lent."""
        left_out = {**self.left_out, **changers}
        key = frozenset(left_out)
        if key not in self._clean:
            self._clean[key] = replace(self, left_out=left_out)
        return self._clean[key]

    @cached_property
    def _clean(self) -> dict[frozenset[Origin], Loaded]:
        return {}

    @cached_property
    def knowledge(self) -> Knowledge:
        """Loaded packs: of plug-ins, then the user's own, then those given; the last has the last word.

        A pack that does not load is left out and named; one that was given raises PackError.
        """
        from recommender.packs.load import layered, read_pack
        from recommender.packs.sources import named_packs, own_packs

        over = partial(layered, grinds=self.registry.grinds, metrics=self.registry.metrics)
        kept: list[Pack] = []
        knowledge: Knowledge | None = None
        for stamped in self.registry.packs:
            read = self.registry.call(stamped.origin, "loading its pack", read_pack, stamped.item)
            if read is None:
                continue
            try:
                knowledge = over([*kept, read])
                kept.append(read)
            except PackError as cause:
                self.registry.failed(stamped.origin, "loading its pack", cause)
        if knowledge is None:
            raise self.registry.failures[-1] if self.registry.failures else PackError("no pack of rules is installed")
        left_out = []
        for folder in own_packs() if self.own_packs else []:
            try:
                pack = read_pack(folder)
                knowledge = over([*kept, pack])
                kept.append(pack)
            except (PackError, OSError) as cause:
                if self.strict:
                    raise
                left_out.append(f"your pack {clean(str(folder), one_line=True)}: {cause}")
        if self.packs:
            knowledge = over([*kept, *(read_pack(folder) for folder in named_packs(self.packs))])
        knowledge.left_out += left_out
        return knowledge

    @cached_property
    def bench(self) -> Bench:
        """What a shop's file settles, else the maker's own; the shipped one is nobody's. Raises InputError."""
        from recommender.engine.intake.bench import NO_BENCH, Bench
        from recommender.shop.rates.shop_file import SHIPPED, read_shop, shop_file

        name = shop_file(self.shop) if self.shop is not None or self.own_shop else SHIPPED
        if name == SHIPPED:
            return NO_BENCH
        shop = read_shop(name)
        source = clean(name, one_line=True)
        stated = "wheels_mm" in shop.equipment.model_fields_set
        wheels_mm = tuple(sorted(set(shop.equipment.wheels_mm))) if stated else None
        return Bench(source, wheels_mm, shop.heat_treatment.skin_per_side_mm)

    @property
    def grinds(self) -> dict[str, Grind]:
        """Grind families by id; where a function of one fails it raises PluginError."""
        return {name: stamped.item for name, stamped in self.registry.for_answer().grinds.items()}

    def plugin_statuses(self, answer: Answer | None = None) -> list[PluginStatus]:
        """Every plug-in with what it gives and what failed of it: while loading, and in an answer.

        What could not be loaded or is blocked is among them.
        """
        from recommender.plugin.plugin_status import plugin_statuses

        return plugin_statuses(self.registry, () if answer is None else answer.provenance.failed)

    def title(self, answer: Answer) -> str:
        """What an answer is about: the brief's title, else its tasks."""
        return answer.brief.title or ", ".join(self.knowledge.tasks[task].label for task in answer.brief.tasks)

    def listing(self, kind: str, words: Sequence[str] = ()) -> list[dict[str, Any]]:
        """Tasks, steels, gear, materials, grinds, metrics or fields of rules as plain data, those that say the words.

        What says them in its names comes first.
        """
        rows = self._rows(kind)
        if not words:
            return rows
        names = ("id", "label", "also", "names", "words")
        called = [" ".join(texts([row.get(name, ()) for name in names])) for row in rows]
        more = [" ".join(texts({key: row[key] for key in row if key != "plugin"})) for row in rows]
        named, elsewhere = found_by(words, zip(rows, called, more, strict=True))
        return named + elsewhere

    def _rows(self, kind: str) -> list[dict[str, Any]]:
        if kind == "metrics":
            return [
                {
                    "id": metric.id,
                    "label": metric.label,
                    "also": list(metric.also),
                    "unit": metric.unit.value,
                    "better": metric.better,
                    "about": metric.about,
                    "estimate": metric.estimate,
                    "of": metric.of,
                    "plugin": str(self.registry.metrics[name].origin),
                }
                for name, metric in ((name, stamped.item) for name, stamped in sorted(self.registry.metrics.items()))
            ]
        if kind == "fields":
            from recommender.packs.fields import fields

            known = fields(self.knowledge, self.registry.grinds, self.registry.metrics).values()
            return [
                {
                    "id": f.name,
                    "kind": f.kind,
                    "unit": f.unit,
                    "label": f.kind,
                    "about": f.about,
                    "values": sorted(f.values),
                }
                for f in known
                if not f.name.startswith("metric.")
            ]
        if kind == "grinds":
            return [
                {
                    "id": grind.id,
                    "label": grind.label,
                    "parent": grind.parent,
                    "about": grind.about,
                    "made": grind.made,
                    "sharpened": grind.sharpened,
                    "surfaces": sorted(grind.surfaces),
                    "parameters": [
                        {
                            "name": p.name,
                            "label": p.label,
                            "unit": p.unit.value,
                            "low": p.low,
                            "high": p.high,
                            "step": p.step,
                            "choices": list(p.choices),
                        }
                        for p in grind.parameters
                    ],
                    "plugin": str(self.registry.grinds[name].origin),
                }
                for name, grind in self.grinds.items()
            ]
        tables: Mapping[str, Any] = getattr(self.knowledge, kind)
        names = [task.id for task in self.knowledge.tasks_to_choose] if kind == "tasks" else sorted(tables)
        return [tables[name].model_dump(mode="json", by_alias=True) for name in names]
