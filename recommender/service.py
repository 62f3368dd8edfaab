"""The only door for every face: knowledge, briefs, recommendations, single sections."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from importlib.resources.abc import Traversable
from typing import Any

import numpy as np

from recommender.engine.case import Case
from recommender.engine.identify import Identification, identify, sharpened_away_mm
from recommender.engine.in_hand import Regrinds, Suit, regrinds, suits
from recommender.engine.life import designs_of, life
from recommender.engine.readings import LARGEST_WHEEL_MM as LARGEST_WHEEL_MM
from recommender.engine.readings import Blade
from recommender.engine.readings import parse_readings as parse_readings
from recommender.engine.recommend import recommend
from recommender.engine.resolve import Resolved, resolve
from recommender.errors import GeometryError, InputError, PackError
from recommender.geometry.outline import Outline, Sides
from recommender.geometry.profile import min_thickness, thickness
from recommender.geometry.section import measure, torsion_constant
from recommender.models.brief import Brief, Wishes
from recommender.models.life import Life
from recommender.models.proposal import Answer
from recommender.packs.knowledge import Knowledge
from recommender.packs.load import load_packs
from recommender.packs.located import parse_toml, validated
from recommender.plugin.api import BOTH, Designs, Grind, Workshop
from recommender.plugin.registry import Registry, load
from recommender.text import shorten

CaliperBlade = Blade
"""A blade in the hand as calipers read it."""
MAX_BRIEF_BYTES = 64_000
"""A brief is a page of TOML; longer files can be made to take minutes to parse."""


@dataclass
class Service:
    """Plug-ins and packs loaded once, then asked."""

    strict: bool = False
    plugins: dict[str, Any] = field(default_factory=dict)
    """Plug-in objects by name, besides those installed."""

    @cached_property
    def registry(self) -> Registry:
        """Loaded plug-ins."""
        return load(strict=self.strict, extra=self.plugins)

    @cached_property
    def knowledge(self) -> Knowledge:
        """Loaded packs."""
        kept: list[Traversable] = []
        knowledge: Knowledge | None = None
        for stamped in self.registry.packs:
            try:
                knowledge = load_packs(
                    [*kept, stamped.item], grinds=self.registry.grinds, metrics=self.registry.metrics
                )
                kept.append(stamped.item)
            except (PackError, OSError) as cause:
                self.registry.failed(stamped.origin, "loading its pack", cause)
        if knowledge is None:
            raise self.registry.failures[-1] if self.registry.failures else PackError("no pack of rules is installed")
        return knowledge

    @property
    def grinds(self) -> dict[str, Grind]:
        """Grind families by id."""
        return {name: stamped.item for name, stamped in self.registry.grinds.items()}

    def resolve(self, brief: Brief, file: str = "brief") -> Resolved:
        """Fill a brief's open fields. Raises InputError."""
        return resolve(brief, self.knowledge, self.grinds, file)

    def case(self, brief: Brief, file: str = "brief") -> Case:
        """A brief with everything that is loaded. Raises InputError."""
        return Case(self.resolve(brief, file), self.knowledge, self.registry)

    def recommend(self, brief: Brief, file: str = "brief", *, flips: bool = True) -> Answer:
        """Answer a brief, `flips` and all unless that may wait. Raises InputError for a brief that makes no sense."""
        return recommend(self.case(brief, file), with_flips=flips)

    def life(self, brief: Brief, file: str = "brief") -> Life:
        """Follow an answer's blades through their sharpenings. Raises InputError for a brief that makes no sense."""
        case = self.case(brief, file)
        return life(recommend(case, with_flips=False), case.resolved, self.registry)

    def outline_of(self, answer: Answer) -> Outline | None:
        """The proposal's section (v, 3), None when nothing fits."""
        p = answer.proposal
        return None if p is None else np.asarray(self.grinds[p.grind].outlines(designs_of(p))[0])

    def tip_outline_of(self, answer: Answer) -> Outline | None:
        """The proposal's section in the tip zone (v, 3), None where it is the same or nothing fits."""
        p = answer.proposal
        draw = None if p is None else self.grinds[p.grind].tip_outlines
        return None if p is None or draw is None else np.asarray(draw(designs_of(p))[0])

    def document(self, answer: Answer, writer: str) -> bytes:
        """Write an answer with a writer by id. Raises InputError for an unknown writer, PluginError when it fails."""
        if writer not in self.registry.writers:
            raise InputError(f"unknown name {shorten(writer)}", given=writer, valid=self.registry.writers)
        stamped = self.registry.writers[writer]
        outline, tip = self.outline_of(answer), self.tip_outline_of(answer)
        labels = (self.knowledge.tasks[task].label for task in answer.brief.tasks)
        data = {
            **answer.as_json(),
            "title": answer.brief.title or ", ".join(labels),
            "outline": None if outline is None else outline.tolist(),
            "tip_outline": None if tip is None else tip.tolist(),
        }
        doing = f"writing {writer}"
        written = self.registry.call(stamped.origin, doing, stamped.item.write, data)
        if not isinstance(written, bytes):
            self.registry.failed(stamped.origin, doing, "no bytes came back")
            raise self.registry.failures[-1]
        return written

    def listing(self, kind: str) -> list[dict[str, Any]]:
        """Tasks, steels, gear, materials or grinds as plain data."""
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
        return [tables[name].model_dump(mode="json", by_alias=True) for name in sorted(tables)]

    def measure(
        self,
        blade: CaliperBlade,
        *,
        original_height_mm: float | None = None,
        original_edge_thickness_mm: float | None = None,
    ) -> tuple[Identification, float | None]:
        """Say which grind a blade has and how far it has been sharpened back, mm. Raises InputError."""

        def attempt(grind: str, doing: str, function: Any, *args: Any) -> Any:
            return self.registry.call(self.registry.grinds[grind].origin, f"{doing} of {grind}", function, *args)

        found = identify(self.grinds, blade, attempt)
        if found.verdict == "none fits":
            return found, None
        back = sharpened_away_mm(
            self.grinds[found.best.grind],
            found.best,
            original_height_mm=original_height_mm,
            original_edge_thickness_mm=original_edge_thickness_mm,
        )
        return found, back

    def in_hand(self, found: Identification, brief: Brief, file: str = "brief") -> tuple[list[Suit], Regrinds]:
        """What an identified blade suits, and what regrinding it would bring for the brief's tasks.

        Without tasks in the brief, for the one that it serves best. Its size is that of the fit. Raises InputError.
        """
        designs = found.best.designs
        grind = self.registry.grinds[found.best.grind]

        def case(tasks: dict[str, float], height_mm: float) -> Case:
            size = {"height_mm": height_mm, "stock_thickness_mm": float(designs["stock_thickness_mm"][0])}
            blade = brief.blade.model_copy(update=size)
            return self.case(brief.model_copy(update={"tasks": tasks, "blade": blade, "wishes": Wishes()}), file)

        height = float(designs["height_mm"][0])
        suited = suits(lambda task: case({task: 1.0}, height), list(self.knowledge.tasks), grind, designs)
        tasks = dict(brief.tasks) or {suited[0].task: 1.0}
        return suited, regrinds(lambda height_mm: case(tasks, height_mm), grind, designs)

    def section(self, request: SectionRequest) -> SectionFigures:
        """Measure one section of a grind. Raises InputError or GeometryError."""
        return section(self.grinds, request)


def read_brief(raw: bytes, file: str) -> Brief:
    """Read a brief from TOML. Raises InputError with file, key, what was expected, nearest name."""
    brief: Brief = validated(Brief, parse_toml(raw, file, most_bytes=MAX_BRIEF_BYTES), file)
    return brief


def with_settings(brief: Brief, settings: Iterable[str]) -> Brief:
    """Apply ``key=value`` settings to a brief; text is parsed by the field's type, never as TOML.

    Setting any task starts from no tasks. Raises InputError.
    """
    data = brief.model_dump(exclude_defaults=True)
    fresh_tasks = True
    for setting in settings:
        key, equals, text = setting.partition("=")
        key, text = key.strip(), text.strip()
        if not equals or not key:
            raise InputError(
                f"{shorten(setting)} does not fit",
                file="--set",
                expected="key=value, such as tasks.food-prep=1 or steel.grade=1084",
            )
        path = key.split(".", 1)
        if path[0] == "tasks":
            if fresh_tasks:
                data["tasks"], fresh_tasks = {}, False
            if len(path) == 1 or not path[1]:
                raise InputError("no task named", file="--set", key=key, expected="tasks.ID=SHARE")
            data["tasks"][path[1]] = _number_or_text(text)
        elif len(path) == 1:
            data[path[0]] = text
        else:
            table = data.setdefault(path[0], {})
            if not isinstance(table, dict):
                raise InputError(f"{path[0]} has no fields", file="--set", key=key, given=path[0], valid=_FIELDS)
            table[path[1]] = _by_type(path[0], path[1], text)
    result: Brief = validated(Brief, data, "--set")
    return result


_LISTS = {("owner", "gear"), ("workshop", "wheels_mm")}
_FLAGS = {("workshop", "platen"), ("workshop", "slack_belt")}
_FIELDS = sorted(Brief.model_fields)


def _number_or_text(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _by_type(table: str, name: str, text: str) -> Any:
    if (table, name) in _LISTS:
        parts = [part.strip() for part in text.split(",") if part.strip()]
        return [_number_or_text(part) for part in parts] if name == "wheels_mm" else parts
    if (table, name) in _FLAGS:
        return {"true": True, "yes": True, "false": False, "no": False}.get(text.lower(), text)
    if name in ("grade", "grind", "profile", "skill", "hand", "climate"):
        return text
    return _number_or_text(text)


@dataclass(frozen=True)
class SectionRequest:
    """What `section` is asked for; None where not given."""

    grind: str
    stock_thickness_mm: float
    height_mm: float
    grind_line_mm: float | None
    edge_thickness_mm: float | None
    edge_angle_per_side_deg: float | None
    wheel_diameter_mm: float | None = None
    wheel_shore_a: float | None = None
    parameters: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class SectionFigures:
    """Exact figures of one section."""

    outline: Outline
    """(v, 3)"""
    edge_angle_per_side_deg: float
    edge_angle_included_deg: float
    edge_thickness_mm: float
    edge_bevel_height_mm: float
    micro_bevel_per_side_deg: float | None
    grind_line_mm: float
    area_mm2: float
    centroid_mm: tuple[float, float]
    i_weak_mm4: float
    i_strong_mm4: float
    i_product_mm4: float
    torsion_mm4: float | None
    """None where the section is too stout for the thin-section estimate."""
    perimeter_mm: float
    min_thickness_mm: float
    min_thickness_at_mm: float
    warnings: tuple[str, ...]
    thickness: tuple[tuple[float, float], ...]
    tip_zone: dict[str, Any] | None
    """The tip zone's own figures where it differs: area_mm2, i_weak_mm4, i_strong_mm4, thickness."""

    def as_json(self) -> dict[str, Any]:
        """Plain data, lengths in mm."""
        return {
            "schema": "bevelwright.section/1",
            "edge_angle_per_side_deg": self.edge_angle_per_side_deg,
            "edge_angle_included_deg": self.edge_angle_included_deg,
            "edge_thickness_mm": self.edge_thickness_mm,
            "edge_bevel_height_mm": self.edge_bevel_height_mm,
            "micro_bevel_per_side_deg": self.micro_bevel_per_side_deg,
            "grind_line_mm": self.grind_line_mm,
            "area_mm2": self.area_mm2,
            "centroid_mm": list(self.centroid_mm),
            "i_weak_mm4": self.i_weak_mm4,
            "i_strong_mm4": self.i_strong_mm4,
            "i_product_mm4": self.i_product_mm4,
            "torsion_mm4": self.torsion_mm4,
            "perimeter_mm": self.perimeter_mm,
            "min_thickness_mm": self.min_thickness_mm,
            "min_thickness_at_mm": self.min_thickness_at_mm,
            "warnings": list(self.warnings),
            "thickness": [list(pair) for pair in self.thickness],
            "tip_zone": self.tip_zone,
            "outline": self.outline.tolist(),
        }


MOST_SLENDER = 0.25
"""Thickness over height up to which the thin-section torsion estimate is given."""
_ANY_WORKSHOP = Workshop((1e9,), True, True)


def section(grinds: Mapping[str, Grind], request: SectionRequest) -> SectionFigures:
    """Measure one section exactly as asked: the shape is refused if it cannot exist, warned of if it is odd."""
    grind, designs = _section_designs(grinds, request)
    _refuse_impossible(grind, designs, request)
    chord = float(np.hypot(designs.depth_per_side_mm, designs.primary_height_mm)[0])
    wheel = float(designs.cut_wheel_mm[0])
    if wheel < chord:
        raise InputError(
            f"{wheel:g} mm is smaller than the hollow", key="--wheel", expected=f"at least {chord:.1f} mm, its chord"
        )
    outline = grind.outlines(designs)
    sides = Sides.of(outline)
    sides.require_monotone()
    shoulder = designs.edge_bevel_height_mm
    line = designs["grind_line_mm"]
    least, where = (float(v[0]) for v in min_thickness(sides, np.minimum(shoulder, line), line))
    if least < -1e-9 or (least <= 1e-9 and designs["edge_thickness_mm"][0] > 0):
        raise GeometryError(
            f"the faces cross {where:.2f} mm above the edge (thickness {least:.3f} mm); "
            "a larger wheel, a thicker edge or a lower line would keep them apart"
        )
    warnings = []
    edge = float(designs["edge_thickness_mm"][0])
    if least < edge - 1e-9:
        warnings.append(
            f"waist: {least:.3f} mm thick {where:.2f} mm above the edge, thinner than the {edge:g} mm behind the edge"
        )
    m = measure(outline[0])
    height = request.height_mm
    slender = request.stock_thickness_mm / height
    if slender > MOST_SLENDER:
        warnings.append(f"too stout for the thin-section estimate of torsion ({slender:.2f} thick over high)")
    marks = sorted(
        {0.0, float(shoulder[0]), float(line[0]), height, *(h for h in (1.0, 2.0, 5.0, 10.0, 20.0) if h < height)}
    )
    return SectionFigures(
        outline=outline[0],
        edge_angle_per_side_deg=float(designs["edge_angle_per_side_deg"][0]),
        edge_angle_included_deg=float(designs.edge_angle_included_deg[0]),
        edge_thickness_mm=edge,
        edge_bevel_height_mm=float(shoulder[0]),
        micro_bevel_per_side_deg=designs.row(0)["micro_bevel_per_side_deg"],
        grind_line_mm=float(line[0]),
        area_mm2=float(m.area_mm2),
        centroid_mm=(float(m.centroid_x_mm), float(m.centroid_y_mm)),
        i_weak_mm4=float(m.i_weak_mm4),
        i_strong_mm4=float(m.i_strong_mm4),
        i_product_mm4=float(m.i_product_mm4),
        torsion_mm4=float(torsion_constant(outline[0])) if slender <= MOST_SLENDER else None,
        perimeter_mm=float(m.perimeter_mm),
        min_thickness_mm=least,
        min_thickness_at_mm=where,
        warnings=tuple(warnings),
        thickness=tuple((y, float(thickness(outline[0], y))) for y in marks),
        tip_zone=None if grind.tip_outlines is None else _tip_zone(grind.tip_outlines(designs)[0], marks),
    )


def _tip_zone(outline: Outline, marks: list[float]) -> dict[str, Any]:
    m = measure(outline)
    return {
        "area_mm2": float(m.area_mm2),
        "i_weak_mm4": float(m.i_weak_mm4),
        "i_strong_mm4": float(m.i_strong_mm4),
        "thickness": [[y, float(thickness(outline, y))] for y in marks],
        "outline": outline.tolist(),
    }


def _section_designs(grinds: Mapping[str, Grind], request: SectionRequest) -> tuple[Grind, Designs]:
    if request.grind not in grinds:
        raise InputError(
            f"unknown name {shorten(request.grind)}",
            key="--grind",
            expected="a grind that is loaded",
            given=request.grind,
            valid=grinds,
        )
    grind = grinds[request.grind]
    names = {p.name for p in grind.parameters}
    values: dict[str, Any] = {
        "stock_thickness_mm": request.stock_thickness_mm,
        "height_mm": request.height_mm,
        "edge_thickness_mm": request.edge_thickness_mm,
        "edge_angle_per_side_deg": request.edge_angle_per_side_deg,
        "wheel_diameter_mm": request.wheel_diameter_mm,
    }
    for name in ("stock_thickness_mm", "height_mm"):
        if not values[name] > 0:
            raise InputError(f"{values[name]:g} mm", key=_option(name), expected="a size above 0")
    hollow = "wheel_diameter_mm" in names and request.parameters.get("edge_zone", "hollow") == "hollow"
    for name in ("edge_thickness_mm", "edge_angle_per_side_deg"):
        if values[name] is None and name in names:
            raise InputError("missing", key=_option(name), expected=f"a value for a {grind.label}")
    if hollow and request.wheel_diameter_mm is None:
        raise InputError("missing", key="--wheel", expected=f"the wheel's diameter in mm for a {grind.label}")
    if request.wheel_diameter_mm is not None and not request.wheel_diameter_mm > 0:
        raise InputError(f"{request.wheel_diameter_mm:g} mm", key="--wheel", expected="a diameter above 0")
    if request.wheel_shore_a is not None:
        if not hollow:
            raise InputError(f"a {grind.label} is ground without a wheel", key="--wheel-hardness", expected="none")
        if not 20 <= request.wheel_shore_a <= 95:
            raise InputError(
                f"{request.wheel_shore_a:g} Shore A", key="--wheel-hardness", expected="a hardness from 20 to 95"
            )
    if request.wheel_diameter_mm is not None and not hollow:
        raise InputError(f"a {grind.label} is ground without a wheel", key="--wheel", expected="no --wheel")
    angle = values["edge_angle_per_side_deg"]
    if angle is not None and not 0 < angle < 80:
        raise InputError(f"{angle:g}°", key="--edge-angle-per-side", expected="an angle between 0 and 80°")

    columns: dict[str, Any] = {
        "micro_bevel_per_side_deg": np.nan,
        "wheel_shore_a": np.nan if request.wheel_shore_a is None else request.wheel_shore_a,
        "side": BOTH,
        "grind_line_mm": np.nan,
        **{name: np.nan if value is None else value for name, value in values.items()},
    }
    if columns["edge_thickness_mm"] != columns["edge_thickness_mm"]:
        columns["edge_thickness_mm"] = 0.0
    if "grind_line_share" in names:
        line = request.grind_line_mm
        if line is None:
            raise InputError("missing", key="--line", expected=f"the grind line of a {grind.label}, mm")
        columns["grind_line_share"] = line / request.height_mm
    columns.update(_extra_parameters(grind, request))
    designs = Designs({name: np.asarray([value]) for name, value in columns.items()})
    return grind, grind.complete(designs)


def _extra_parameters(grind: Grind, request: SectionRequest) -> dict[str, Any]:
    """Parameters of the grind that have no option of their own: from --param, or in the middle of their range."""
    own = {
        "stock_thickness_mm",
        "edge_thickness_mm",
        "edge_angle_per_side_deg",
        "wheel_diameter_mm",
        "grind_line_share",
    }
    extra = {p.name: p for p in grind.parameters if p.name not in own}
    for name in request.parameters:
        if name not in extra:
            raise InputError(
                f"{grind.label} has no such parameter",
                key=f"--param {shorten(name)}",
                expected="one of " + ", ".join(extra) if extra else "no --param",
                given=name,
                valid=extra,
            )
    out: dict[str, Any] = {}
    for name, parameter in extra.items():
        text = request.parameters.get(name)
        if parameter.choices:
            value = parameter.choices[0] if text is None else text
            if value not in parameter.choices:
                raise InputError(
                    f"{shorten(value)} does not fit",
                    key=f"--param {name}",
                    expected="one of " + ", ".join(parameter.choices),
                    given=value,
                    valid=parameter.choices,
                )
            out[name] = value
            continue
        number = (parameter.low + parameter.high) / 2 if text is None else _number_or_text(text)
        if not isinstance(number, float) or not parameter.low <= number <= parameter.high:
            raise InputError(
                f"{shorten(text)} does not fit",
                key=f"--param {name}",
                expected=f"a number from {parameter.low:g} to {parameter.high:g}",
            )
        out[name] = number
    return out


def _option(name: str) -> str:
    return {
        "stock_thickness_mm": "--stock",
        "height_mm": "--height",
        "edge_thickness_mm": "--edge-thickness",
        "edge_angle_per_side_deg": "--edge-angle-per-side",
    }[name]


def _refuse_impossible(grind: Grind, designs: Designs, request: SectionRequest) -> None:
    """Refuse shapes that cannot exist and figures that contradict each other."""
    line = float(designs["grind_line_mm"][0])
    if request.grind_line_mm is not None:
        if request.grind_line_mm > request.height_mm + 1e-9:
            raise InputError(
                f"{request.grind_line_mm:g} mm lies above the spine",
                key="--line",
                expected=f"at most --height, {request.height_mm:g} mm",
            )
        if abs(line - request.grind_line_mm) > 0.05:
            raise InputError(
                f"{request.grind_line_mm:g} mm contradicts the other figures",
                key="--line",
                expected=f"{line:.2f} mm for a {grind.label} of this stock, height and angle",
            )
    given_edge = request.edge_thickness_mm
    if given_edge is not None and abs(float(designs["edge_thickness_mm"][0]) - given_edge) > 1e-9:
        raise InputError(
            f"{given_edge:g} mm contradicts the other figures",
            key="--edge-thickness",
            expected=f"{float(designs['edge_thickness_mm'][0]):g} mm for a {grind.label}",
        )
    if given_edge is not None and given_edge < 0:
        raise InputError(f"{given_edge:g} mm", key="--edge-thickness", expected="0 or more")
    waist_is_a_warning = "wheel_diameter_mm" in {p.name for p in grind.parameters}
    for refusal in grind.refusals(designs, _ANY_WORKSHOP):
        if refusal.rows.any() and not (waist_is_a_warning and "wheel" in refusal.reason):
            raise GeometryError(refusal.reason)
