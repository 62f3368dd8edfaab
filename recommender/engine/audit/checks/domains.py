"""The space in which all rules are compared: what each field can be, and which fields are one and the same."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from recommender.engine.intake.conditions import holds
from recommender.models.brief_fields import BRIEF_FIELDS
from recommender.models.knowledge.rule import All, AnyOf, Comparison, LimitEffect, Not
from recommender.packs.condition_boxes import (
    Domain,
    Formula,
    Members,
    Numbers,
    Region,
    Space,
    TooManyBoxesError,
    Values,
)
from recommender.packs.facts import FACTS, Fact, Follows, HoldsWhere
from recommender.packs.fields import fields
from recommender.packs.knowledge import Knowledge, LoadedRule
from recommender.plugin.api import BOTH, LEFT, RIGHT
from recommender.plugin.registry import Registry


def of_brief(field: str) -> bool:
    """Whether a field is the same for every blade of a brief."""
    return field in FACTS and FACTS[field].from_brief is not None


@dataclass(frozen=True)
class Domains:
    """Rules as regions of one space, with what is loaded."""

    knowledge: Knowledge
    registry: Registry
    rules: tuple[LoadedRule, ...]

    def laid(self, loaded: LoadedRule) -> int:
        """How late the pack of a rule was laid over the others: what is wrong between two is told of the later."""
        return [pack.id for pack in self.knowledge.packs].index(loaded.pack)

    @cached_property
    def fields(self) -> dict[str, Fact]:
        """Every field that rules may speak about."""
        return fields(self.knowledge, self.registry.grinds, self.registry.metrics)

    @cached_property
    def space(self) -> Space:
        """The space in which all conditions and all limits can be told apart."""
        return Space(self.domains, [*self._when.values(), *self._kept.values()])

    @cached_property
    def domains(self) -> Mapping[str, Domain]:
        """What each field can be."""
        return _Domains(self)

    def fires(self, loaded: LoadedRule) -> Region:
        """Where a rule fires. Raises TooManyBoxesError."""
        return self.region(self._when[loaded.rule.id])

    def region(self, plain: Formula) -> Region:
        """Where a condition, or a part of one, that `plain` gave holds. Raises TooManyBoxesError."""
        key = id(plain)
        if key not in self._regions:
            try:
                self._regions[key] = self.space.region(plain)
            except TooManyBoxesError:
                self._regions[key] = None
        region = self._regions[key]
        if region is None:
            raise TooManyBoxesError
        return region

    def kept(self, loaded: LoadedRule) -> Region:
        """Where a limit is kept, whatever its condition."""
        return self.region(self._kept[loaded.rule.id])

    def kept_by_brief(self, loaded: LoadedRule) -> Region:
        """Where a limit on a field of the brief is kept; everywhere for one on blades."""
        effect = loaded.rule.effect
        asked = isinstance(effect, LimitEffect) and effect.field is not None and of_brief(effect.field)
        return self.kept(loaded) if asked else self.space.everything

    def condition(self, loaded: LoadedRule) -> Formula:
        """A rule's condition in fields of which none follows from another."""
        return self._when[loaded.rule.id]

    def target(self, loaded: LoadedRule, name: str) -> str:
        """A field as a rule reads it: a metric of tasks is another for other tasks."""
        stamped = self.registry.metrics.get(name.removeprefix("metric."))
        words = loaded.rule.kind in ("caution", "advice")
        if stamped is None or stamped.item.compute_for_task is None or words or not loaded.tasks:
            return name
        return f"{name} for {', '.join(sorted(loaded.tasks))}"

    @cached_property
    def usual(self) -> Region:
        """Where a grind without a choice of side is ground on both: to look for what happens, not to rule it out."""
        grinds = [stamped.item for stamped in self.registry.grinds.values()]
        if not {"design.grind", "design.side"} <= set(self.space.axes_of):
            return self.space.everything
        sided = [grind.id for grind in grinds if grind.parameter("side") is not None]
        alike = [grind.id for grind in grinds if grind.id not in sided]
        kinds = [
            _all(_comparison("design.grind", names), _comparison("design.side", sides))
            for names, sides in ((sided, [LEFT, RIGHT]), (alike, [BOTH]))
        ]
        return self.space.region(AnyOf.model_construct(any=tuple(kinds)))

    @cached_property
    def _regions(self) -> dict[int, Region | None]:
        return {}

    @cached_property
    def _when(self) -> dict[str, Formula]:
        return {loaded.rule.id: self.plain(loaded, loaded.rule.when) for loaded in self.rules}

    @cached_property
    def _kept(self) -> dict[str, Formula]:
        return {
            loaded.rule.id: self.plain(loaded, _bounds(loaded.rule.effect))
            for loaded in self.rules
            if isinstance(loaded.rule.effect, LimitEffect)
        }

    def plain(self, loaded: LoadedRule, condition: Formula) -> Formula:
        """A condition of a rule in fields of which none follows from another, true and false for the same facts."""
        match condition:
            case All(all=parts):
                return All.model_construct(all=tuple(self.plain(loaded, part) for part in parts))
            case AnyOf(any=parts):
                return AnyOf.model_construct(any=tuple(self.plain(loaded, part) for part in parts))
            case Not(not_=part):
                return Not.model_construct(not_=self.plain(loaded, part))
            case Comparison(field=name):
                view = self._views.get(name)
                if view is not None:
                    return view(condition)
                return condition.model_copy(update={"field": self.target(loaded, name)})

    @cached_property
    def _views(self) -> Mapping[str, Callable[[Comparison], Formula]]:
        """Fields that follow from another alone, as conditions on that other."""
        grinds = {name: stamped.item for name, stamped in self.registry.grinds.items()}
        found = {}
        for name, fact in FACTS.items():
            match fact.follows:
                case Follows(base=base, values=values):
                    found[name] = _view(base, values(self.knowledge, grinds))
                case HoldsWhere(condition=condition):
                    found[name] = _flag(condition(self.knowledge))
        return found


class _Domains(dict[str, Domain]):
    """What fields can be, for those that are asked for."""

    def __init__(self, worlds: Domains) -> None:
        super().__init__()
        self.worlds = worlds

    def __missing__(self, name: str) -> Domain:
        fact = self.worlds.fields[name.partition(" for ")[0]]
        known = not fact.may_be_unknown
        match fact.kind:
            case "set":
                return Members(tuple(sorted(fact.values)), known)
            case "category":
                return Values(tuple(sorted(fact.values)), known)
            case "flag":
                return Values((True, False), known)
            case "number":
                return replace(self._number(fact), known=known)

    def _number(self, fact: Fact) -> Numbers:
        stated = fact.range if isinstance(fact.range, Numbers) else fact.range(self.worlds.knowledge)
        return self._made(fact.name) or stated

    def _made(self, name: str) -> Numbers | None:
        """What grinds' parameters and wishes allow, a shop step to spare; None where some grind derives it."""
        scope, _, column = name.partition(".")
        grinds = [stamped.item for stamped in self.worlds.registry.grinds.values()]
        parameters = [grind.parameter(column) for grind in grinds]
        if scope != "design" or column == "height_mm" or not parameters or not all(parameters):
            return None
        ranges = [(p.low - p.step, p.high + p.step) for p in parameters if p is not None]
        keys = (f"wishes.{column}", f"blade.{column}")
        ranges += [BRIEF_FIELDS[key].bounds for key in keys if key in BRIEF_FIELDS]
        if column == "stock_thickness_mm":
            for usual in (task.envelope for task in self.worlds.knowledge.tasks.values()):
                bars = (usual.stock_thickness_mm, usual.one_sided_stock_thickness_mm)
                ranges += [(bar.low - 0.5, bar.high + 0.5) for bar in bars if bar is not None]
        return Numbers(max(0.0, min(low for low, _ in ranges)), max(high for _, high in ranges))


def _bounds(effect: LimitEffect) -> Comparison:
    name = f"metric.{effect.metric}" if effect.metric else str(effect.field)
    return Comparison.model_construct(
        field=name, ge=effect.min, le=effect.max, in_=effect.in_, eq=None, ne=None, lt=None, gt=None, has=None
    )


def _comparison(field: str, names: Iterable[str]) -> Comparison:
    return Comparison.model_validate({"field": field, "in": sorted(names)})


def _all(*parts: Formula) -> Formula:
    return All.model_construct(all=parts)


def _not(part: Formula) -> Formula:
    return Not.model_construct(not_=part)


def _view(base: str, values: Mapping[str, Any]) -> Callable[[Comparison], Formula]:
    """A field that each value of a category has one value of."""
    return lambda asked: _comparison(base, (name for name, value in values.items() if _held(asked, value)))


def _flag(true: Formula) -> Callable[[Comparison], Formula]:
    """A flag that is set where a condition holds, and not where it does not."""

    def seen(asked: Comparison) -> Formula:
        either = [part for value, part in ((True, true), (False, _not(true))) if _held(asked, value)]
        return AnyOf.model_construct(any=tuple(either)) if either else _all(true, _not(true))

    return seen


def _held(asked: Comparison, value: Any) -> bool:
    return bool(holds(asked, lambda field: value)[0])
