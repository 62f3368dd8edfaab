"""The brief made whole: every open field defaulted or derived, each with where it came from and why."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from recommender.engine.intake.bench import NO_BENCH, Bench
from recommender.errors import InputError
from recommender.mechanics import steel as steel_mechanics
from recommender.mechanics.sharpening import polish_min_per_mm2
from recommender.models.base import Model
from recommender.models.brief import HEIGHT_MM, Brief, Skill
from recommender.models.knowledge.tables import Gear, Steel
from recommender.packs.facts import BRIEF
from recommender.packs.facts.usual_stock import usual_stock_mm
from recommender.packs.knowledge import Defaults, Knowledge
from recommender.plugin.api import (
    Context,
    Grind,
    Parameter,
    SharpeningState,
    SteelState,
    TaskLoad,
    Workshop,
    weighty,
)
from recommender.text import shorten

HEIGHT_GROWS = 0.8
"""Longer blades are higher, but not in proportion: a cook's knife of 240 mm is about 50 high, one of 120 mm about 28;
common practice."""
UNSHARPENED_APEX_UM = 6.0
"""Apex of an edge that nothing at hand can sharpen, whatever finishes it; estimate, 3-15."""
WANDER: dict[Skill, float] = {"beginner": 1.5, "practised": 1.0, "expert": 0.5}
"""How far a hand wanders against the practised hand that the gear tables speak of; estimate."""
PACE: dict[Skill, float] = {"beginner": 0.5, "practised": 1.0, "expert": 1.25}
"""Speed of a hand against the practised hand that the gear tables speak of; estimate."""


@dataclass(frozen=True)
class Source:
    """Where a field's value came from: given, default or derived, and why."""

    kind: Literal["given", "default", "derived"]
    reason: str


@dataclass(frozen=True)
class Resolved:
    """A whole brief: what the engine works from."""

    asked: Brief
    """As it was asked, open fields open."""
    brief: Brief
    """With every open field filled."""
    sources: dict[str, Source]
    tasks: tuple[TaskLoad, ...]
    steel: Steel
    steel_state: SteelState
    gear: tuple[Gear, ...]
    workshop: Workshop
    stock_range_mm: tuple[float, float]
    """The bars to choose from."""
    one_sided_stock_range_mm: tuple[float, float]
    """The same for a blade ground on one side."""
    thickest_edge_mm: float
    nick_um: float
    bench: Bench = NO_BENCH

    @property
    def skill(self) -> Skill:
        """Of the hand that sharpens."""
        skill = self.brief.owner.skill
        assert skill is not None  # resolve() fills it
        return skill

    @property
    def hardness_hrc(self) -> float:
        """As hardened and tempered."""
        return float(self.steel_state.hardness_hrc)

    @property
    def steel_named(self) -> bool:
        """Whether the brief itself names the steel."""
        return self.asked.steel.grade is not None

    @property
    def task_ids(self) -> frozenset[str]:
        """Every task of the brief."""
        return frozenset(load.task.id for load in self.tasks)

    @property
    def weighty_task_ids(self) -> frozenset[str]:
        """Tasks whose cautions hold."""
        return frozenset(load.task.id for load in weighty(self.tasks))

    def stock_range_of(self, grind: Grind) -> tuple[float, float]:
        """The bars to choose from for a grind."""
        return self.stock_range_mm if grind.parameter("side") is None else self.one_sided_stock_range_mm

    def scratch_um(self, sharpening: SharpeningState) -> float:
        """Depth of the scratches that sharpening leaves in the edge."""
        return _scratch_um(self.gear, sharpening)

    def context(self, grind: Grind) -> Context:
        """What metrics may know when they measure a grind."""
        length = self.brief.blade.length_mm
        assert length is not None  # resolve() fills it
        sharpening = sharpening_state(self.gear, grind, self.skill)
        return _context(self.tasks, self.steel_state, self.gear, sharpening, length)


def practised_context(
    load: TaskLoad, steel: SteelState, gear: tuple[Gear, ...], grind: Grind, length_mm: float
) -> Context:
    """What metrics may know of a blade for one task, of some steel, sharpened with some gear in practised hands."""
    return _context((load,), steel, gear, sharpening_state(gear, grind, "practised"), length_mm)


def _context(
    tasks: tuple[TaskLoad, ...],
    steel: SteelState,
    gear: tuple[Gear, ...],
    sharpening: SharpeningState,
    length_mm: float,
) -> Context:
    scratch = _scratch_um(gear, sharpening)
    flaw: Any = 0.0
    for t in tasks:
        nick = t.task.edge_nick_um.likely if t.task.edge_nick_um else 0.0
        flaw = flaw + t.share * np.maximum(scratch, nick)
    edge = steel_mechanics.failure_stress_mpa(steel.yield_mpa, steel.k_ic_mpa_sqrt_m, flaw)
    return Context(
        tasks=tasks,
        steel=dataclasses.replace(steel, edge_failure_mpa=edge, edge_flaw_um=flaw, edge_scratch_um=scratch),
        sharpening=sharpening,
        length_mm=length_mm,
        thickest_edge_mm=_thickest_edge_mm(tasks),
    )


def _thickest_edge_mm(tasks: tuple[TaskLoad, ...]) -> float:
    return sum(float(t.share) * t.task.thickest_edge_mm for t in tasks)


def _scratch_um(gear: tuple[Gear, ...], sharpening: SharpeningState) -> float:
    used = [g.scratch_um.likely for g in gear if g.id in sharpening.gear]
    return min(used) if used else max(g.scratch_um.likely for g in gear)


def sharpening_state(gear: tuple[Gear, ...], grind: Grind, skill: Skill) -> SharpeningState:
    """How gear at hand sharpens a grind: the quickest tool that works all its surfaces shapes, the finest finishes."""
    able = [g for g in gear if g.surfaces and grind.surfaces <= set(g.surfaces)]
    # Who has another tool keeps an edge with it and not with one that sets an angle of its own.
    able = [g for g in able if g.fixed_angle_per_side_deg is None] or able
    if not able:
        worn = max(gear, key=lambda g: g.apex_radius_um.likely)
        radius = max(worn.apex_radius_um.likely, UNSHARPENED_APEX_UM)
        return SharpeningState((), radius / 1000, math.nan, 0.0, 0.0, _wander(worn, skill))
    quick = max(able, key=lambda g: g.removal_mm3_per_min.likely if g.removal_mm3_per_min else 0.0)
    finishing = [*able, *(g for g in gear if not g.surfaces)]
    fine = min(finishing, key=lambda g: g.apex_radius_um.likely)
    assert quick.removal_mm3_per_min is not None  # a model rule for gear with surfaces
    used = (quick, fine) if fine is not quick else (quick,)
    return SharpeningState(
        tuple(g.id for g in used),
        fine.apex_radius_um.likely / 1000,
        quick.removal_mm3_per_min.likely * pace(quick, skill),
        quick.setup_minutes,
        sum(g.finishing_minutes / pace(g, skill) for g in used),
        min(_wander(g, skill) for g in able),
        polish_of(quick) / pace(quick, skill),
    )


def polish_of(gear: Gear) -> float:
    """What a tool's finer grits take for each mm2 of bevel, min/mm2, in practised hands."""
    depths = [grit.scratches_um.likely / 1000 for grit in gear.finer_grits]
    return float(polish_min_per_mm2(depths, [grit.removal_mm3_per_min.likely for grit in gear.finer_grits]))


def _wander(gear: Gear, skill: Skill) -> float:
    return gear.angle_wander_deg * (WANDER[skill] if gear.freehand else 1.0)


def pace(gear: Gear, skill: Skill) -> float:
    """Speed of this hand with a tool, over that of the practised one that its table speaks of."""
    return PACE[skill] if gear.freehand else 1.0


class _Filler:
    """Collects values and their sources."""

    def __init__(self) -> None:
        self.sources: dict[str, Source] = {}

    def take(self, key: str, given: Any, kind: Literal["default", "derived"], value: Any, reason: str) -> Any:
        if given is not None:
            self.sources[key] = Source("given", "stated in the brief")
            return given
        self.sources[key] = Source(kind, reason)
        return value

    def defaults(self, table: str, given: Model, defaults: Defaults) -> dict[str, Any]:
        """The fields of a table that have a default."""
        found = {}
        for fact in BRIEF:
            of, _, name = fact.key.partition(".")
            if of == table and fact.default is not None:
                default = fact.default
                found[name] = self.take(
                    fact.key, getattr(given, name), "default", default.value(defaults), default.reason
                )
        return found


def resolve(
    brief: Brief, knowledge: Knowledge, grinds: Mapping[str, Any], file: str, bench: Bench = NO_BENCH
) -> Resolved:
    """Fill every open field; what a bench settles comes before what packs assume.

    Raises InputError for unknown tasks, steel, gear or grinds and for contradictions.
    """
    fill = _Filler()
    defaults = knowledge.defaults
    tasks = _tasks(brief, knowledge, fill, file)
    main = max(tasks, key=lambda load: load.share).task

    blade = brief.blade
    sizes = {
        "profile": fill.take(
            "blade.profile", blade.profile, "derived", None, f"chosen with the tip in mind; {_usual_tips(tasks)}"
        ),
        "height_mm": fill.take(
            "blade.height_mm",
            blade.height_mm,
            "derived",
            max(_usual_height_mm(tasks, blade.length_mm), brief.wishes.grind_line_mm or 0.0),
            _usual_for(tasks) + ("" if blade.length_mm is None else " at this length"),
        ),
        "length_mm": fill.take(
            "blade.length_mm",
            blade.length_mm,
            "derived",
            round(_usual_length_mm(tasks)),
            _usual_for(tasks),
        ),
        "distal_taper_mm_per_mm": fill.take(
            "blade.distal_taper_mm_per_mm", blade.distal_taper_mm_per_mm, "derived", None, "chosen for the whole blade"
        ),
        "swedge": fill.take("blade.swedge", blade.swedge, "derived", None, "chosen for the whole blade"),
    }
    bars, one_sided = (_stock_range(tasks, one_sided=sides) for sides in (False, True))
    bars_in_words = f"between {bars[0]:g} and {bars[1]:g} mm, the bars {_usual_for(tasks)}"
    if one_sided != bars:
        bars_in_words += f"; ground on one side between {one_sided[0]:g} and {one_sided[1]:g} mm"
    if blade.stock_thickness_mm is not None:
        bars = one_sided = (blade.stock_thickness_mm, blade.stock_thickness_mm)
    low = min(bars[0], one_sided[0])
    taken_off = (blade.distal_taper_mm_per_mm or 0.0) * sizes["length_mm"]
    if taken_off >= low:
        raise InputError(
            f"{blade.distal_taper_mm_per_mm:g} mm per mm takes {taken_off:g} mm off {low:g} mm stock",
            file=file,
            key="blade.distal_taper_mm_per_mm",
            expected=f"less than {low / sizes['length_mm']:.3f} on a blade {sizes['length_mm']:g} mm long",
        )
    fill.take(
        "blade.stock_thickness_mm",
        blade.stock_thickness_mm,
        "derived",
        None,
        f"chosen {bars_in_words}",
    )

    grade = fill.take(
        "steel.grade",
        brief.steel.grade,
        "derived",
        knowledge.usual_steel(main.id) or next(iter(knowledge.steels)),
        f"a usual steel for {main.label}",
    )
    steel = _named(knowledge.steels, grade, file, "steel.grade", "a steel")
    hardness = fill.take("steel.hardness_hrc", brief.steel.hardness_hrc, "derived", *_usual_hardness(steel, tasks))

    owner = fill.defaults("owner", brief.owner, defaults)
    gear_ids = owner["gear"] or (("none",) if "none" in knowledge.gear else defaults.gear)
    gear = tuple(_named(knowledge.gear, g, file, "owner.gear", "sharpening gear") for g in dict.fromkeys(gear_ids))
    shop = fill.defaults("workshop", brief.workshop, defaults)
    if brief.workshop.wheels_mm is None and bench.wheels_mm is not None:
        shop["wheels_mm"] = bench.wheels_mm
        fill.sources["workshop.wheels_mm"] = Source("derived", f"the contact wheels of {bench.source}")

    wishes = brief.wishes
    if wishes.grind is not None:
        _named(grinds, wishes.grind, file, "wishes.grind", "a grind")
    if wishes.grind_line_mm is not None and wishes.grind_line_mm > sizes["height_mm"]:
        raise InputError(
            f"{wishes.grind_line_mm:g} mm lies above the spine",
            file=file,
            key="wishes.grind_line_mm",
            expected=f"at most the blade's height, {sizes['height_mm']:g} mm",
        )
    for key, value in wishes.model_dump().items():
        fill.sources[f"wishes.{key}"] = (
            Source("given", "stated in the brief") if value is not None else Source("default", "left open")
        )

    whole = brief.model_copy(
        update={
            "tasks": {t.task.id: t.share for t in tasks},
            "steel": brief.steel.model_copy(update={"grade": steel.id, "hardness_hrc": hardness}),
            "owner": brief.owner.model_copy(update={**owner, "gear": tuple(g.id for g in gear)}),
            "blade": blade.model_copy(update=sizes),
            "workshop": brief.workshop.model_copy(update=shop),
        }
    )
    return Resolved(
        asked=brief,
        brief=whole,
        sources=fill.sources,
        tasks=tasks,
        steel=steel,
        steel_state=steel_state(steel, hardness, defaults.nick_um),
        gear=gear,
        workshop=Workshop(
            tuple(sorted(set(shop["wheels_mm"]))), shop["platen"], shop["slack_belt"], shop["wheel_hardness_shore_a"]
        ),
        stock_range_mm=bars,
        one_sided_stock_range_mm=one_sided,
        thickest_edge_mm=_thickest_edge_mm(tasks),
        nick_um=defaults.nick_um,
        bench=bench,
    )


def _tasks(brief: Brief, knowledge: Knowledge, fill: _Filler, file: str) -> tuple[TaskLoad, ...]:
    given = {name: share for name, share in brief.tasks.items() if share > 0}
    for name in brief.tasks:
        _named(knowledge.tasks, name, file, f"tasks.{shorten(name).strip(chr(39))}", "a task")
    if brief.tasks and not given:
        raise InputError("every share is 0", file=file, key="tasks", expected="at least one positive share")
    if not given:
        task = knowledge.defaults.task
        given = {task: 1.0}
        fill.sources["tasks"] = Source("default", f"no task given; answered for {knowledge.tasks[task].label} ({task})")
    else:
        fill.sources["tasks"] = Source("given", "stated in the brief, shares brought to a sum of 1")
    total = sum(given.values())
    return tuple(
        TaskLoad(task, share / total, knowledge.materials[task.material])
        for name, share in given.items()
        for task in (knowledge.tasks[name],)
    )


def _named(table: Mapping[str, Any], name: str, file: str, key: str, kind: str) -> Any:
    if name in table:
        return table[name]
    spoken = [id_ for id_, row in table.items() if name.lower() in getattr(row, "words", ())]
    meant = f"; did you mean {', '.join(spoken)}" if spoken else ""
    raise InputError(
        f"unknown name {shorten(name)}",
        file=file,
        key=key,
        expected=f"one of {', '.join(table)}{meant}" if len(table) <= 15 else f"{kind} that “bevelwright steels” lists",
        given=None if spoken else name,
        valid=table,
    )


def _usual_length_mm(tasks: tuple[TaskLoad, ...]) -> float:
    return float(sum(float(t.share) * t.task.envelope.length_mm for t in tasks))


def _usual_height_mm(tasks: tuple[TaskLoad, ...], length_mm: float | None) -> float:
    """Height usual for the tasks; on a blade of another length, as blades grow: height ~ length^HEIGHT_GROWS."""
    usual = sum(float(t.share) * t.task.envelope.height_mm for t in tasks)
    if length_mm is not None:
        usual *= (length_mm / _usual_length_mm(tasks)) ** HEIGHT_GROWS
    least, most = HEIGHT_MM
    return min(max(_half(usual), least), most)


def _usual_for(tasks: tuple[TaskLoad, ...]) -> str:
    return "usual for " + ", ".join(load.task.label for load in sorted(tasks, key=lambda load: -load.share))


def _usual_tips(tasks: tuple[TaskLoad, ...]) -> str:
    return ", ".join(f"{load.task.envelope.profile} is usual for {load.task.label}" for load in tasks)


def _half(value: float) -> float:
    return round(value * 2) / 2


def _stock_range(tasks: tuple[TaskLoad, ...], *, one_sided: bool) -> tuple[float, float]:
    low, high = usual_stock_mm(tasks, one_sided=one_sided)
    return _half(low), max(_half(high), _half(low))


def _usual_hardness(steel: Steel, tasks: tuple[TaskLoad, ...]) -> tuple[float, str]:
    """Hardness usual for a steel, less what the tasks want it softer by share, and why."""
    usual = steel.hardness.usual_hrc
    softer = _half(sum(float(t.share) * t.task.softer_hrc for t in tasks))
    hardness = max(usual - softer, min(steel.hardness.low_hrc, usual))
    if hardness == usual:
        return usual, f"usual for {steel.label}"
    rough = ", ".join(t.task.label for t in tasks if t.task.softer_hrc)
    return hardness, f"softer than the {usual:g} usual for {steel.label}, for {rough}"


def steel_state(steel: Steel, hardness: float, nick_um: float) -> SteelState:
    """A steel as hardened, with a nick of use as the flaw in body and edge alike."""
    yield_mpa = steel_mechanics.yield_strength_mpa(hardness)
    k_ic = steel_mechanics.fracture_toughness(
        steel.toughness.k_ic_mpa_sqrt_m.likely,
        steel.toughness.k_ic_slope_per_hrc,
        steel.hardness.usual_hrc,
        hardness,
    )
    carbides = steel.carbides.model_dump(exclude={"basis", "relative_band"})
    body = steel_mechanics.failure_stress_mpa(yield_mpa, k_ic, nick_um)
    return SteelState(steel.id, hardness, yield_mpa, k_ic, carbides, body, body, steel.temper_c, nick_um)


def parameter_range(parameter: Parameter, grind: Grind, resolved: Resolved) -> tuple[float, float]:
    """A grind's parameter's range in this brief: stock from the envelope, everything else the grind's own."""
    if parameter.name == "stock_thickness_mm":
        return resolved.stock_range_of(grind)
    return parameter.low, parameter.high
