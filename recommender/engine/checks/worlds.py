"""The space in which all rules are compared: what each field can be, and which fields are one and the same."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf
from typing import Any

from recommender.engine.conditions import holds
from recommender.engine.resolve import SKILLS
from recommender.models.brief import Brief
from recommender.models.rule import All, AnyOf, Comparison, LimitEffect, Not
from recommender.packs.boxes import Domain, Formula, Members, Numbers, Region, Space, TooManyBoxesError, Values
from recommender.packs.fields import Field, fields
from recommender.packs.knowledge import Knowledge, LoadedRule
from recommender.plugin.api import BOTH, LEFT, RIGHT
from recommender.plugin.registry import Registry

_HARDLY = 0.001
"""Where something has to be more than 0: an edge has an angle, a blade a length."""
_GEOMETRY = {
    "design.sides_ground": Numbers(only=(1.0, 2.0)),
    "design.grind_line_share": Numbers(0.0, 1.0),
    "design.edge_angle_per_side_deg": Numbers(0.0, 90.0),
    "design.edge_angle_included_deg": Numbers(0.0, 180.0),
    "design.apex_included_deg": Numbers(_HARDLY, 180.0),
    "design.micro_bevel_per_side_deg": Numbers(0.0, 90.0),
    "derived.skill_level": Numbers(only=tuple(float(level) for level in SKILLS.values())),
    "derived.task_strife": Numbers(1.0),
}
"""What holds whatever is loaded."""
_MORE_THAN_0 = {
    "brief.blade.height_mm",
    "brief.blade.length_mm",
    "design.stock_thickness_mm",
    "design.height_mm",
}
_NO_LESS_THAN_0 = {
    "design.grind_line_mm",
    "design.edge_thickness_mm",
    "design.wheel_diameter_mm",
    "design.swedge_length_mm",
    "design.swedge_spine_mm",
    "design.distal_taper_mm_per_mm",
    "design.stock_at_tip_mm",
    "derived.angle_off_gear_deg",
    "derived.angle_wander_deg",
}
_MAY_BE_UNKNOWN = frozenset(
    {
        "brief.blade.profile",
        "derived.gear_fixed_angle_deg",
        "derived.stock_over_usual_mm",
        "derived.gear_fits_grind",
        "derived.angle_off_gear_deg",
        "derived.angle_wander_deg",
        "design.wheel_diameter_mm",
        "design.micro_bevel_per_side_deg",
        "design.tip",
        "design.swedge_length_mm",
        "design.swedge_spine_mm",
        "design.distal_taper_mm_per_mm",
        "design.stock_at_tip_mm",
    }
)
"""Facts that not every blade of every brief has; nor has it every metric."""
OF_CANDIDATES = frozenset({"derived.gear_fits_grind", "derived.angle_off_gear_deg", "derived.angle_wander_deg"})
"""Derived facts that differ from blade to blade of one brief."""


def of_brief(field: str) -> bool:
    """Whether a field is the same for every blade of a brief."""
    return field.startswith(("brief.", "derived.")) and field not in OF_CANDIDATES


@dataclass(frozen=True)
class Worlds:
    """Rules as regions of one space, with what is loaded."""

    knowledge: Knowledge
    registry: Registry
    rules: tuple[LoadedRule, ...]

    @cached_property
    def fields(self) -> dict[str, Field]:
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
        steels = self.knowledge.steels.values()
        gear = self.knowledge.gear.values()
        able = [g for g in gear if g.surfaces]
        sharpens, guided = _any_gear(g.id for g in able), _any_gear(g.id for g in able if not g.freehand)
        grinds = [stamped.item for stamped in self.registry.grinds.values()]
        return {
            "derived.steel_family": _view("brief.steel.grade", {s.id: s.family for s in steels}),
            "derived.corrosion_class": _view("brief.steel.grade", {s.id: s.corrosion.class_ for s in steels}),
            "derived.toughness_class": _view("brief.steel.grade", {s.id: s.toughness.class_ for s in steels}),
            "derived.skill_level": _view("brief.owner.skill", {name: float(n) for name, n in SKILLS.items()}),
            "design.parent": _view("design.grind", {g.id: g.parent for g in grinds}),
            "design.zones": _view("design.grind", {g.id: 2.0 if g.tip_outlines else 1.0 for g in grinds}),
            "design.sides_ground": _view("design.side", {BOTH: 2.0, LEFT: 1.0, RIGHT: 1.0}),
            "derived.owner_sharpens": _flag(sharpens),
            "derived.gear_thins": _flag(_any_gear(g.id for g in gear if g.thins)),
            "derived.freehand_only": _flag(_all(sharpens, _not(guided))),
        }


class _Domains(dict[str, Domain]):
    """What fields can be, for those that are asked for."""

    def __init__(self, worlds: Worlds) -> None:
        super().__init__()
        self.worlds = worlds
        self.brief = _brief_bounds()

    def __missing__(self, name: str) -> Domain:
        field = self.worlds.fields[name.partition(" for ")[0]]
        known = not name.startswith("metric.") and name not in _MAY_BE_UNKNOWN
        match field.kind:
            case "set":
                return Members(tuple(sorted(field.values)), known)
            case "category":
                return Values(tuple(sorted(field.values)), known)
            case "flag":
                return Values((True, False), known)
            case "number":
                return replace(self._number(name), known=known)

    def _number(self, name: str) -> Numbers:
        knowledge = self.worlds.knowledge
        if name == "derived.task_count":
            return Numbers(only=tuple(float(n) for n in range(1, len(knowledge.tasks) + 1)))
        if name == "derived.gear_fixed_angle_deg":
            fixed = {g.fixed_angle_per_side_deg for g in knowledge.gear.values()}
            return Numbers(only=tuple(sorted(angle for angle in fixed if angle is not None)))
        if name == "brief.steel.hardness_hrc":
            usual = [steel.hardness.usual_hrc for steel in knowledge.steels.values()]
            return Numbers(min(*self.brief[name], *usual), max(*self.brief[name], *usual))
        if name == "brief.owner.use_hours_per_week":
            return Numbers(*self.brief[name])
        low = _HARDLY if name in _MORE_THAN_0 else 0.0 if name in _NO_LESS_THAN_0 else -inf
        return self._made(name) or _GEOMETRY.get(name) or Numbers(low)

    def _made(self, name: str) -> Numbers | None:
        """What grinds' parameters and wishes allow, a shop step to spare; None where some grind derives it."""
        scope, _, column = name.partition(".")
        grinds = [stamped.item for stamped in self.worlds.registry.grinds.values()]
        parameters = [grind.parameter(column) for grind in grinds]
        if scope != "design" or column == "height_mm" or not parameters or not all(parameters):
            return None
        ranges = [(p.low - p.step, p.high + p.step) for p in parameters if p is not None]
        ranges += [self.brief[key] for key in (f"brief.wishes.{column}", f"brief.blade.{column}") if key in self.brief]
        if column == "stock_thickness_mm":
            bars = [task.envelope.stock_thickness_mm for task in self.worlds.knowledge.tasks.values()]
            ranges += [(bar.low - 0.5, bar.high + 0.5) for bar in bars]
        return Numbers(max(0.0, min(low for low, _ in ranges)), max(high for _, high in ranges))


def _brief_bounds() -> dict[str, tuple[float, float]]:
    """The bounds of every number of a brief, by dotted field."""
    schema = Brief.model_json_schema()
    found = {}
    for table, of in schema["properties"].items():
        model = schema["$defs"].get(of.get("$ref", "").rpartition("/")[2], {})
        for name, prop in model.get("properties", {}).items():
            for option in prop.get("anyOf", ()):
                if option.get("type") == "number":
                    low = option.get("minimum", option.get("exclusiveMinimum", -inf))
                    found[f"brief.{table}.{name}"] = (float(low), float(option.get("maximum", inf)))
    return found


def _bounds(effect: LimitEffect) -> Comparison:
    name = f"metric.{effect.metric}" if effect.metric else str(effect.field)
    return Comparison.model_construct(
        field=name, ge=effect.min, le=effect.max, in_=effect.in_, eq=None, ne=None, lt=None, gt=None, has=None
    )


def _comparison(field: str, names: Iterable[str]) -> Comparison:
    return Comparison.model_validate({"field": field, "in": sorted(names)})


def _any_gear(names: Iterable[str]) -> Formula:
    return _comparison("brief.owner.gear", names)


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
