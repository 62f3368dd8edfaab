"""Tip, swedge and distal taper: chosen for the refined section by goals, limits and leans that speak of the blade.

The section decides most of a blade and is chosen first, of thousands; its form is then chosen of some dozens, as whole
blades, by the rules whose metric is one of the blade or that name a field of the form. What the brief decides stays.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np

from recommender.engine.intake.case import Case, Rulebook
from recommender.engine.search.measuring import Measured
from recommender.engine.search.ranking import Best
from recommender.engine.search.scoring import Scores, score
from recommender.geometry.blade import Blade
from recommender.geometry.outline import Outline
from recommender.geometry.side_views import SIDE_VIEWS
from recommender.models.answer.proposal import SwedgeBevel
from recommender.models.knowledge.rule import GoalEffect, LimitEffect, fields_of
from recommender.packs.facts import FACTS
from recommender.packs.knowledge import LoadedRule
from recommender.plugin.api import TIP_ZONE_SHARE, Forms, Grind
from recommender.plugin.registry import Registry

TAPER_SHARES = (0.0, 0.15, 0.3, 0.45)
"""Share of the stock that is gone at the tip; common practice, a third to a half on a forged knife."""
SWEDGES = {"short": 0.35, "long": 0.5}
"""Length of a swedge over that of the blade; common practice."""
SWEDGE_ANGLE_PER_SIDE_DEG = 25.0
SWEDGE_SPINE_SHARE = 0.35
LEAST_SPINE_MM = 0.6
"""A swedge leaves so much of the spine: it is a bevel and no second edge; common practice."""
FORM_FIELDS = frozenset(name for name, fact in FACTS.items() if fact.of_form)


@dataclass(frozen=True)
class BladeForm:
    """A tip, a swedge or none, and a distal taper."""

    tip: str
    bevel: SwedgeBevel | None
    taper_mm_per_mm: float
    at_tip_mm: float
    """Stock left at the tip."""

    def __str__(self) -> str:
        swedge = "no swedge" if self.bevel is None else f"a swedge {self.bevel.length_mm:.0f} mm long"
        taper = "no distal taper" if not self.taper_mm_per_mm else f"{self.at_tip_mm:.1f} mm left at the tip"
        return f"{self.tip} tip, {swedge}, {taper}"


@dataclass(frozen=True)
class Chosen:
    """The form chosen: with its blade, its figures as a batch of one, the scores of all forms, and the row that won."""

    form: BladeForm
    blade: Blade
    forms: tuple[BladeForm, ...]
    measured: Measured
    scores: Scores
    row: int

    @property
    def facts(self) -> dict[str, Any]:
        """The form's own facts, for words that speak of it."""
        designs = self.measured.designs.row(0)
        facts = {name: designs[name.removeprefix("design.")] for name in FORM_FIELDS}
        for name, stamped in self.measured.registry.metrics.items():
            value = self.measured.metric(name) if stamped.item.of == "blade" else None
            if value is not None:
                facts[f"metric.{name}"] = float(value[0])
        return facts


def choose(best: Best, case: Case) -> Chosen:
    """The form of a section that its rules like best.

    Among equals the plainest wins. Where every form breaks a limit, the one that breaks fewest is taken.
    Raises GeometryError for a section that cannot be followed along the blade.
    """
    forms = _forms(best, case)
    scores = score(_as_blades(best, case, forms), form_rules(case))
    points = scores.penalised_points
    row = int(np.argmax(points > points.max() - 1e-9))
    return _chosen(best, case, tuple(forms), scores, row)


def in_every_form(best: Best, case: Case) -> Measured:
    """A section in every form there is to choose from. Raises GeometryError where it cannot be followed."""
    return _as_blades(best, case, _forms(best, case))


def in_form(best: Best, case: Case, form: BladeForm) -> Chosen:
    """A section in a form that is decided already. Raises GeometryError where it cannot be followed along the blade."""
    return _chosen(best, case, (form,), score(_as_blades(best, case, [form]), form_rules(case)), 0)


def _chosen(best: Best, case: Case, forms: tuple[BladeForm, ...], scores: Scores, row: int) -> Chosen:
    # Measured alone: what is told of the form chosen need not be computed for the others.
    form = forms[row]
    measured = _as_blades(best, case, [form])
    assert measured.forms is not None
    return Chosen(form, measured.forms.blades[0], forms, measured, scores, row)


def _as_blades(best: Best, case: Case, forms: list[BladeForm]) -> Measured:
    batches = [
        (tip, blade_of(best, case, [f for f in forms if f.tip == tip])) for tip in dict.fromkeys(f.tip for f in forms)
    ]
    rows = np.zeros(len(forms), dtype=np.intp)
    section = best.measured.taking(rows, best.measured.context)
    sections = dataclasses.replace(section.sections, designs=section.designs.changed(**_columns(best, forms)))
    return Measured(
        section.grinds,
        section.which,
        sections,
        best.measured.context,
        case.registry,
        Forms(tuple(blade for _, blade in batches), tuple(tip for tip, _ in batches)),
    )


def form_rules(case: Case) -> Rulebook:
    """The rules of a case that speak of the blade's form."""
    return case.rules.only(lambda loaded: speaks_of_form(loaded, case.registry))


def speaks_of_form(loaded: LoadedRule, registry: Registry) -> bool:
    """Whether a rule helps to choose tip, swedge and taper: by its metric, or a field that it names."""
    blade_metrics = {name for name, m in registry.metrics.items() if m.item.of == "blade"}
    effect = loaded.rule.effect
    if isinstance(effect, GoalEffect):
        return effect.metric in blade_metrics
    if isinstance(effect, LimitEffect):
        return effect.metric in blade_metrics or effect.field in FORM_FIELDS
    return bool(fields_of(loaded.rule.when) & (FORM_FIELDS | {f"metric.{name}" for name in blade_metrics}))


def _forms(best: Best, case: Case) -> list[BladeForm]:
    """Every form that the brief leaves open, the plainest first, the usual tip of the main task before others."""
    blade = case.resolved.brief.blade
    length = float(blade.length_mm or 0.0)
    stock = float(best.measured.designs["stock_thickness_mm"][0])
    usual = [t.task.envelope.profile for t in sorted(case.resolved.tasks, key=lambda t: -t.share)]
    tips = [blade.profile] if blade.profile else list(dict.fromkeys([*usual, *SIDE_VIEWS]))
    given = blade.distal_taper_mm_per_mm
    tapers = [given] if given is not None else [round(share * stock / length, 4) for share in TAPER_SHARES]
    swedges = [blade.swedge] if blade.swedge else ["none", *SWEDGES]
    return [
        BladeForm(tip, _bevel(swedge, length, stock), float(taper), stock - float(taper) * length)
        for tip in tips
        for swedge in swedges
        for taper in tapers
    ]


def _bevel(swedge: str, length_mm: float, stock_mm: float) -> SwedgeBevel | None:
    if swedge == "none":
        return None
    return SwedgeBevel(
        length_mm=round(SWEDGES[swedge] * length_mm),
        angle_per_side_deg=SWEDGE_ANGLE_PER_SIDE_DEG,
        spine_mm=round(min(stock_mm, max(SWEDGE_SPINE_SHARE * stock_mm, LEAST_SPINE_MM)), 2),
    )


def _columns(best: Best, forms: list[BladeForm]) -> dict[str, Any]:
    stock = float(best.measured.designs["stock_thickness_mm"][0])
    return {
        "tip": np.array([f.tip for f in forms]),
        "swedge_length_mm": np.array([f.bevel.length_mm if f.bevel else 0.0 for f in forms]),
        "swedge_spine_mm": np.array([f.bevel.spine_mm if f.bevel else stock for f in forms]),
        "distal_taper_mm_per_mm": np.array([f.taper_mm_per_mm for f in forms]),
        "stock_at_tip_mm": np.array([f.at_tip_mm for f in forms]),
    }


def blade_of(best: Best, case: Case, forms: list[BladeForm]) -> Blade:
    """Forms of one tip as a batch of whole blades. Raises GeometryError where the section cannot be followed."""
    sections = best.measured.sections
    tips = sections.tip_outlines if sections.zoned.any() else None
    return followed(best.grind.item, sections.outlines, tips, float(case.resolved.brief.blade.length_mm or 0.0), forms)


def followed(
    grind: Grind, section: Outline, tip_section: Outline | None, length_mm: float, forms: list[BladeForm]
) -> Blade:
    """A section (1, v, 3), and that of the tip zone where it differs, along blades of some forms with the same tip.

    Raises GeometryError where it cannot be followed.
    """
    rows = np.zeros(len(forms), dtype=np.intp)
    zone = TIP_ZONE_SHARE * length_mm / 2 if tip_section is not None else 0.0
    stock = float(np.ptp(section[0, :, 0]))
    return Blade(
        section[rows],
        length_mm,
        SIDE_VIEWS[forms[0].tip],
        taper_mm_per_mm=np.array([f.taper_mm_per_mm for f in forms]),
        tip_outlines=None if tip_section is None else tip_section[rows],
        tip_zone_mm=zone,
        transition_mm=zone,
        swedge_length_mm=np.array([f.bevel.length_mm if f.bevel else 0.0 for f in forms]),
        swedge_angle_per_side_deg=SWEDGE_ANGLE_PER_SIDE_DEG,
        swedge_spine_mm=np.array([f.bevel.spine_mm if f.bevel else 0.0 for f in forms]),
        plunge_radius_mm=plunge_radius_mm(grind, stock, length_mm),
    )


def plunge_radius_mm(grind: Grind, stock_mm: float, length_mm: float) -> float:
    """Radius to leave at the plunge line: what belt or wheel leave, and at least half the stock: corners crack."""
    return min(max(grind.plunge_radius_mm, stock_mm / 2), length_mm / 4)
