"""The answer, as one object: what `recommend --json` prints."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from pydantic import Field

from recommender.models.answer.design_keys import DESIGN_KEYS as DESIGN_KEYS
from recommender.models.answer.design_keys import Side
from recommender.models.answer.served import Served, verdict
from recommender.models.answer.summary import Summary
from recommender.models.base import Basis, Model
from recommender.models.brief import Brief

SCHEMA: Literal["bevelwright.proposal/1"] = "bevelwright.proposal/1"
EQUAL_POINTS = 0.5
"""Points below which two blades count as equal."""
CARRIES_SHARE = 0.4
"""A reason that brings less of what it could bring is told among those that fall short."""


class FieldSource(Model):
    """Where a field of the brief came from."""

    source: Literal["given", "default", "derived"]
    reason: str


class ParameterValue(Model):
    """A parameter of the grind as proposed."""

    value: float | str | None
    """A number in `unit`, or a choice; None where it does not apply."""
    unit: str
    label: str = ""
    """As the grind calls it."""


class SwedgeBevel(Model):
    """A bevel beside the spine, from the tip backwards; not sharpened."""

    length_mm: float
    angle_per_side_deg: float
    spine_mm: float
    """What it leaves of the spine."""

    def included_deg(self, side: str) -> float:
        """Angle between its faces: a blade ground on one side (`side` left or right) has it on that side alone."""
        return self.angle_per_side_deg * (2 if side == "both" else 1)


PER_SIDE = " per side"
"""Ends the label of an angle that is shown both ways; the words beside the number say so then."""
_HOLLOW_GROUND = "hollow_ground"
_SEEN_ELSEWHERE = frozenset({*DESIGN_KEYS, "grind_line_share", "micro_bevel"})
"""Parameters that the usual dimensions show."""


class Proposal(Model):
    """A blade to grind. What does not apply is None."""

    grind: str
    grind_label: str
    edge_angle_per_side_deg: float
    edge_angle_included_deg: float
    edge_thickness_mm: float
    stock_thickness_mm: float
    blade_height_mm: float
    blade_length_mm: float
    grind_line_mm: float
    grind_line_share: float
    grind_line_below_spine_mm: float
    wheel_diameter_mm: float | None
    wheel_hardness_shore_a: float | None
    side: Side
    micro_bevel_per_side_deg: float | None
    micro_bevel_thickness_mm: float | None = None
    """Where it meets the bevel that it is put on; None: there is none, or it is all of the edge bevel."""
    one_bevel_mm: float | None = None
    """Height of the one bevel that edge bevel and primary grind make, up to the grind line; None where they are two.

    Between them is then no shoulder at which an edge thickness could be made or measured.
    """
    tip: str | None
    swedge: SwedgeBevel | None
    distal_taper: float | None
    """Stock lost per mm of length."""
    parameters: dict[str, ParameterValue]
    columns: dict[str, bool | float | str | None] = Field(default_factory=dict)
    """What the grind adds to its designs besides its parameters."""

    @property
    def own_parameters(self) -> dict[str, ParameterValue]:
        """The parameters of the grind that no other key shows; how a hollow is ground only where there is one."""
        seen = _SEEN_ELSEWHERE if self.wheel_diameter_mm is not None else {*_SEEN_ELSEWHERE, _HOLLOW_GROUND}
        return {name: knob for name, knob in self.parameters.items() if name not in seen}

    @property
    def walked_up(self) -> bool:
        """Whether its hollow is walked up: larger than the wheel that grinds it."""
        how = self.parameters.get(_HOLLOW_GROUND)
        return how is not None and how.value == "walked-up"

    @property
    def sides_ground(self) -> int:
        """How many faces are ground, 1 or 2."""
        return 2 if self.side == "both" else 1

    @property
    def micro_bevel_included_deg(self) -> float | None:
        """Included angle of the micro-bevel: per side times the sides ground; None where there is none."""
        micro = self.micro_bevel_per_side_deg
        return None if micro is None else micro * self.sides_ground


class BladeFigures(Model):
    """The proposed blade along its whole length, from plunge line to tip; the blade alone, without tang and handle."""

    mass_g: float
    balance_mm: float
    """Balance point from the plunge line."""
    stiffness_n_per_mm: float
    """Sideways force per mm of bend, `behind_tip_mm` from the tip."""
    tip_strength_n: float
    """Sideways force `behind_tip_mm` from the tip at which the weakest section fails; compares shapes."""
    behind_tip_mm: float


class BevelWidth(Model):
    """Width of the edge bevel at one place along the blade, the angle being the same everywhere."""

    from_plunge_mm: float
    new_mm: float
    after_1_mm: float | None
    """After the edge has been sharpened back by 1 mm; None where that is the end of the blade."""


class WalkedUp(Model):
    """A hollow that is larger than the wheel that grinds it."""

    diameter_mm: float = 0.0
    """Of the round that it is a part of."""
    passes: int = 0
    """Side by side on each face, so that no ridge is left that the next belt would not take off."""
    spacing_mm: float = 0.0
    """From one pass to the next, at most."""


class ShopFigures(Model):
    """What the shop has to know besides the finished dimensions."""

    edge_thickness_before_hardening_mm: float
    deepest_cool_pass_um: float
    cool_passes_per_side: int
    """Passes that deep from before hardening to the finished edge, a ground side."""
    plunge_radius_mm: float
    wheel_cuts_like_mm: float | None
    """Diameter of the hard wheel that leaves the same hollow as a soft one, pressed by hand."""
    walked_up: WalkedUp | None = None
    """None where one pass grinds the hollow, and where there is none."""
    bevel_widths: list[BevelWidth]
    """At heel, middle and near the tip."""


class MetricValue(Model):
    """A figure of the proposal with the 5th and 95th percentile of its redraws; None where it does not apply."""

    label: str
    value: float | None
    """In `unit`; a per-task metric is weighted by share."""
    low: float | None
    high: float | None
    unit: str
    by_task: dict[str, float | None]
    estimate: bool


class Reason(Model):
    """A goal or lean that spoke for (or against) the proposal."""

    rule: str
    kind: Literal["goal", "lean"]
    title: str
    text: str
    points: float
    """Brought (below 0: cost), of 75 for goals or of the leans' 12.5."""
    most_points: float
    metric: str | None
    value: float | None
    """The metric's, in `unit`."""
    unit: str | None
    of_usual: float | None = None
    """The value over that of the usual blade of the goal's tasks, where the goal goes by that."""
    basis: Basis
    pack: str = ""
    """The pack that the rule is of; empty in answers of earlier versions, as in all that name a rule."""

    @property
    def carries(self) -> bool:
        """Whether it speaks clearly for the proposal: it brings CARRIES_SHARE of what it could."""
        return self.points > 0 and self.points >= CARRIES_SHARE * self.most_points


class Words(Model):
    """A caution or a piece of advice."""

    id: str
    text: str
    audience: str
    specific: bool
    """It fired on this blade, steel or owner, not on the task alone."""
    short: str | None = None
    """A caution in one line, where it guards a person from the blade and its use."""
    forbids: str | None = None
    """What the blade is not for, by this caution."""
    choosing: bool = False
    """Whether it is advice that only helps to choose or order a blade."""
    in_draws: float | None = None
    """Share of the draws in which it is so, 0..1; None where it is so by the likely numbers."""
    pack: str = ""
    """The pack that the rule of this id is of."""


class Form(Model):
    """How tip, swedge and distal taper were chosen for the section; alternatives are shown in the same form."""

    tried: int
    points: float
    """Of 75 for goals on the whole blade, and 12.5 for leans that speak of its form."""
    reasons: list[Reason]
    next: str | None
    """The next best form that differs in a word, and by how many points it falls behind."""


class Lost(Model):
    """A goal on which an alternative falls behind the proposal."""

    rule: str
    title: str
    points: float
    """By which the alternative falls behind; below 0 where it is ahead."""
    metric: str
    unit: str
    proposal: float | None
    """The metric's value there, in `unit`; None: it does not get there."""
    alternative: float | None


class LeanGap(Model):
    """A lean that treats an alternative differently, points from its side."""

    rule: str
    title: str
    points: float


class ShutOut(Model):
    """A limit, wish or workshop that shuts candidates out."""

    kind: Literal["limit", "workshop or wish"]
    rule: str | None
    reason: str
    candidates: int
    alone: int
    """Candidates that nothing else shuts out."""
    nearest: str | None
    """The smallest change of the limit that would let a candidate pass, in words."""
    excess: float | None
    """How far beyond the limit that candidate is, in the limit's unit."""
    pack: str | None = None
    """The pack that the limit is of."""


class Alternative(Model):
    """The best of another grind, or why there is none."""

    grind: str
    grind_label: str
    points: float | None
    """Of 100; None where the grind is shut out."""
    behind: float | None
    """Points behind the proposal; below 0 where it is ahead but another grind is wished."""
    proposal: Proposal | None
    lost: list[Lost]
    gained: list[Lost]
    leans: list[LeanGap]
    shut_out: list[ShutOut]
    why_not: str


class Deciding(Model):
    """A limit without which the answer would have been another."""

    rule: str
    title: str
    grind: str
    points: float
    text: str
    pack: str = ""


class MainUncertainty(Model):
    """The uncertain input that the proposal's lead goes with most."""

    input: str
    share: float
    """Squared rank correlation with the lead, 0..1."""
    favours_proposal_when: Literal["high", "low"]


TOLD_SHARE = 0.1
"""Of the draws: a limit that the proposal breaks in more of them is told."""


class MayBreak(Model):
    """A limit that the proposal keeps by the likely numbers and breaks in more than TOLD_SHARE of the draws."""

    rule: str = ""
    title: str = ""
    share: float = 0.0
    """Of the draws, 0..1."""
    tasks: tuple[str, ...] = ()
    """Tasks for which it is asked, as a reader calls them; none where it is asked of the blade whatever it does."""
    safety: bool = False
    """Whether the limit guards people."""
    pack: str = ""
    """The pack that the rule is of."""


class Band(Model):
    """The 5th and 95th percentile of the draws."""

    low: float = 0.0
    high: float = 0.0


class Confidence(Model):
    """How often each grind wins when every uncertain input is drawn from its band."""

    draws: int
    seed: int
    wins: dict[str, float]
    """Grind -> share of the draws, 0..1."""
    main_uncertainty: MainUncertainty | None
    may_break: tuple[MayBreak, ...] = ()
    """Limits, the one that is broken most often first."""
    dimensions: dict[str, Band] = Field(default_factory=dict)
    """Key of the proposal, or name of a parameter -> what the grind would be made to if the numbers were known."""


FlipKind = Literal["gear", "steel", "hardness", "task", "stock", "workshop"]
FLIP_KINDS: Mapping[FlipKind, str] = {
    "gear": "gear",
    "steel": "steel",
    "hardness": "hardness",
    "task": "tasks",
    "stock": "stock",
    "workshop": "workshop",
}
"""Kinds of change in the order in which they are tried and shown, as a reader calls them."""


class Flip(Model):
    """A single change, and the smallest of its kind, that makes another grind the answer."""

    kind: FlipKind
    words: str
    settings: tuple[str, ...]
    """The change as `--set` takes it. What the brief leaves open, such as sizes, follows the change."""
    amount: float | None
    """How far from the brief: HRC, mm, share of the work or mm of wheel; None where the change is no number."""
    grind: str | None
    """None where nothing fits any more."""
    grind_label: str | None
    lead: float | None
    """Points ahead of the proposed grind under that change; None where that is shut out."""


class Tried(Model):
    """How many changes of one kind were tried, and how many leave the grind as it is."""

    kind: FlipKind
    tried: int
    held: int
    words: str


class Moved(Model):
    """A figure that an error of the shop moves."""

    metric: str
    label: str
    unit: str
    proposed: float | None
    """In `unit`, as `then` is."""
    then: float | None


UNGROUND = "it cannot be ground any more"
"""What an error breaks where no limit does."""


class Tolerance(Model):
    """What the shop's usual error in one dimension does to a proposal, at its worse side."""

    dimension: str
    label: str
    unit: str
    error: float
    """The shop's usual error, in `unit`; so are both rooms."""
    worse: Literal["under", "over"]
    points_lost: float
    breaks: tuple[str, ...]
    """Limits that the error breaks, by title."""
    room_under: float | None
    """How far the dimension may fall short before a limit breaks or a point is lost; None: further than was tried."""
    room_over: float | None
    moves: Moved | None
    """The figure that costs most of the points lost."""


class Points(Model):
    """Goals, leans, what limits cost, and the sum (75 + 12.5 +- 12.5, less costs)."""

    goals: float
    """Up to 75."""
    leans: float
    """-12.5 to 12.5."""
    costs: float = 0.0
    """0 or less: of tasks whose demand the blade fails, while they are less than half of the work."""
    total: float


class Cost(Model):
    """A demand of a task that the blade fails, and what that costs."""

    rule: str = ""
    title: str = ""
    task: str = ""
    task_label: str = ""
    share: float = 0.0
    """Of the work."""
    met: float = 0.0
    """How much of the demand is met, 0 to 1."""
    value: float | None = None
    """In `unit`; None: it does not get there, or is no number."""
    bound: float | None = None
    unit: str = ""
    points: float = 0.0
    """0 or less."""
    instead: str = ""
    """What to use for it."""
    pack: str = ""
    """The pack that the rule is of."""


class Objection(Model):
    """What the trade says against a wished grind, by a rule that leans against it."""

    rule: str = ""
    title: str = ""
    text: str = ""
    points: float = 0.0
    """Below 0."""
    pack: str = ""


class PluginUsed(Model):
    """A plug-in that took part."""

    plugin: str
    distribution: str
    version: str
    digest: str = ""
    """Of the content of its files: the first 12 digits of a SHA-256; empty where it has none."""


class Provenance(Model):
    """What the answer was made with, and what failed on the way."""

    version: str
    packs: dict[str, str]
    """Pack -> version."""
    pack_digests: dict[str, str] = Field(default_factory=dict)
    """Pack -> the first 12 digits of the SHA-256 of its files: another where anything in them is."""
    plugins: list[PluginUsed]
    grind_from: str = ""
    """The plug-in that the proposed grind is of, as `plugins` has it."""
    failed: list[str]
    blocked: list[str] = Field(default_factory=list)
    """Plug-ins that are installed but were shut out: not imported."""
    overruled: list[str] = Field(default_factory=list)
    """What packs replace or switch off of earlier ones."""
    candidates: int
    """Designs tried."""
    made: int
    """Of these, what can be made here and keeps every wish: measured and scored."""
    feasible: int
    """Of these, what passes every limit."""


class Answer(Model):
    """A brief answered. `proposal` is None when nothing fits; `blocked` and `relaxations` then say why."""

    schema_: Literal["bevelwright.proposal/1"] = SCHEMA
    summary: Summary | None = None
    """The answer in one breath; None in answers of earlier versions."""
    brief: Brief
    brief_sources: dict[str, FieldSource]
    proposal: Proposal | None = None
    metrics: dict[str, MetricValue] = Field(default_factory=dict)
    reasons: list[Reason] = Field(default_factory=list)
    cautions: list[Words]
    advice: list[Words] = Field(default_factory=list)
    alternatives: list[Alternative] = Field(default_factory=list)
    deciding: list[Deciding] = Field(default_factory=list)
    points: Points | None = None
    costs: list[Cost] = Field(default_factory=list)
    """Demands of tasks that the proposal fails, the dearest first."""
    blade: BladeFigures | None = None
    shop: ShopFigures | None = None
    form: Form | None = None
    task_fit: dict[str, float] = Field(default_factory=dict)
    """Task -> how much of what its goals ask the proposal reaches, 0..1."""
    served: dict[str, Served] = Field(default_factory=dict)
    """Task -> the same with a verdict and what it is for; see `verdicts` for what was stored without."""
    confidence: Confidence | None = None
    flips: tuple[Flip, ...] = ()
    """What would make another grind the answer, the nearest first within each kind."""
    tried: tuple[Tried, ...] = ()
    """What `flips` was sought among; kinds with every change held are what the answer is insensitive to."""
    tolerances: tuple[Tolerance, ...] = ()
    """The dimensions of the proposal, the one that must be kept most closely first."""
    blocked: list[ShutOut] = Field(default_factory=list)
    relaxations: list[str] = Field(default_factory=list)
    against: list[Objection] = Field(default_factory=list)
    """Where nothing fits: what the trade says against the wished grind besides."""
    second_blade: Answer | None = None
    """The answer for what this blade is not for, where two blades were asked for."""
    provenance: Provenance

    @property
    def verdicts(self) -> dict[str, Served]:
        """Task -> how it is served; of an answer stored before there were verdicts, by `task_fit` alone."""
        return self.served or {task: verdict(fit) for task, fit in self.task_fit.items()}

    @property
    def served_poorly(self) -> list[str]:
        """Tasks that the proposal serves poorly."""
        return [task for task, served in self.verdicts.items() if served.verdict == "poorly"]

    def as_json(self) -> dict[str, Any]:
        """The object as JSON data, `schema` first."""
        data = self.model_dump(mode="json", by_alias=True)
        data["second_blade"] = None if self.second_blade is None else self.second_blade.as_json()
        return {"schema": data.pop("schema_"), **data}
