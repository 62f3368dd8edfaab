"""The single changes a person could make to a brief: other gear, steel, hardness, tasks, stock, another workshop."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from recommender.engine.intake.case import Case
from recommender.engine.intake.resolve import Resolved
from recommender.errors import InputError
from recommender.models.answer.proposal import FLIP_KINDS, FlipKind
from recommender.units import SIZE_STEP_MM, STOCK_MM

HARDNESS_STEP_HRC = 1.0
"""A heat treatment does not hit hardness closer than this; common practice."""
STOCK_STEPS = (1, 2, 3, 4)
"""Bars up to so many shop steps thicker or thinner are tried."""
THINNEST_SHARE = 0.6
"""Nobody makes the blade of so much thinner a bar: less than this share of the stock is not tried."""
SHARES = (0.1, 0.2, 0.35, 0.5)
"""Shares of the work that a task not in the brief is tried with."""
SHARE_SHIFTS = (0.1, 0.2, 0.4)
"""By how much a task of the brief may weigh more or less; it may also be dropped, or be all there is."""
WHEELS_MM = (150.0, 250.0, 400.0, 600.0)
"""Contact wheels that a workshop could buy."""


@dataclass(frozen=True)
class Perturbation:
    """One thing changed, everything else as it was asked; what the brief leaves open follows."""

    kind: FlipKind
    what: str
    """What is changed: one series of growing changes has one name."""
    words: str
    settings: tuple[str, ...]
    """As `--set` takes them."""
    amount: float
    """How far it goes from the brief, to compare changes of one series; 0 where there is no number to it."""
    resolved: Resolved


@dataclass(frozen=True)
class _Wanted:
    what: str
    words: str
    settings: tuple[str, ...]
    amount: float = 0.0


def perturbations(case: Case, stock_mm: float) -> list[Perturbation]:
    """Every change that is tried, the smaller ones of a series first; `stock_mm` is the stock proposed.

    Each is the brief asked again with its settings. What then makes no sense (a taper that leaves no bar) is left out.
    """
    out = []
    for kind in FLIP_KINDS:
        for w in PERTURBATION_KINDS[kind].wanted(case, stock_mm):
            try:
                resolved = case.asked_with(w.settings)
            except InputError:
                continue
            out.append(Perturbation(kind, w.what, w.words, w.settings, w.amount, resolved))
    return out


def _gear(case: Case, stock_mm: float) -> Iterator[_Wanted]:
    here = {g.id for g in case.resolved.gear}
    for gear in case.knowledge.gear.values():
        if here == {gear.id}:
            continue
        words = "with no sharpening gear" if gear.id == "none" else f"with nothing but {gear.label}"
        yield _Wanted(f"only {gear.id}", words, (f"owner.gear={gear.id}",))
        if gear.id not in here and gear.surfaces and "none" not in here:
            both = ",".join([*(g.id for g in case.resolved.gear), gear.id])
            yield _Wanted(f"also {gear.id}", f"with {gear.label} besides", (f"owner.gear={both}",))


def _steel(case: Case, stock_mm: float) -> Iterator[_Wanted]:
    for steel in case.knowledge.steels.values():
        if steel.id != case.resolved.steel.id:
            usual = steel.hardness.usual_hrc
            settings = (f"steel.grade={steel.id}", f"steel.hardness_hrc={usual:g}")
            yield _Wanted(steel.id, f"in {steel.label} at {usual:g} HRC", settings)


def _hardness(case: Case, stock_mm: float) -> Iterator[_Wanted]:
    steel, now = case.resolved.steel, float(case.resolved.steel_state.hardness_hrc)
    low, high = min(steel.hardness.low_hrc, now), max(steel.hardness.high_hrc, now)
    for sense, word in ((1, "harder"), (-1, "softer")):
        hardness = now + sense * HARDNESS_STEP_HRC
        while low <= hardness <= high:
            settings = (f"steel.grade={steel.id}", f"steel.hardness_hrc={hardness:g}")
            yield _Wanted(word, f"at {hardness:g} HRC", settings, abs(hardness - now))
            hardness += sense * HARDNESS_STEP_HRC


def _tasks(case: Case, stock_mm: float) -> Iterator[_Wanted]:
    shares = {load.task.id: float(load.share) for load in case.resolved.tasks}
    for task in case.knowledge.tasks.values():
        share = shares.get(task.id, 0.0)
        for sense, word in ((1, "more"), (-1, "less")):
            if share:
                # Of two tasks, less of one is more of the other.
                steps = [share + sense * by for by in SHARE_SHIFTS]
                tried = len(shares) > 2 or (len(shares) == 2 and sense > 0)
                wanted = [*(s for s in steps if 0.02 < s < 0.98), 1.0 if sense > 0 else 0.0] if tried else []
            else:
                wanted = list(SHARES) if sense > 0 else []
            for to in wanted:
                settings = tuple(f"tasks.{name}={value:.6g}" for name, value in _shifted(shares, task.id, to).items())
                words = _share_words(task.label, share, to)
                yield _Wanted(f"{word} {task.id}", words, settings, abs(to - share))


def _share_words(label: str, share: float, to: float) -> str:
    if to == 0.0:
        return f"without {label}"
    if to == 1.0:
        return f"with nothing but {label}"
    return f"with {to:.0%} {label}" + (f" instead of {share:.0%}" if share else "")


def _shifted(shares: dict[str, float], task: str, to: float) -> dict[str, float]:
    """One task at a share, the others scaled to fill the rest; shares of 0 left out."""
    rest = sum(share for name, share in shares.items() if name != task)
    out = {name: share * (1 - to) / rest for name, share in shares.items() if name != task and rest > 0}
    out[task] = to
    return {name: share for name, share in out.items() if share > 1e-9}


def _stock(case: Case, stock_mm: float) -> Iterator[_Wanted]:
    for sense, word in ((1, "thicker"), (-1, "thinner")):
        for step in STOCK_STEPS:
            stock = stock_mm + sense * step * SIZE_STEP_MM
            if max(STOCK_MM[0], THINNEST_SHARE * stock_mm) <= stock <= STOCK_MM[1]:
                words = f"on {stock:g} mm stock instead of {stock_mm:g} mm"
                yield _Wanted(word, words, (f"blade.stock_thickness_mm={stock:g}",), abs(stock - stock_mm))


def _workshop(case: Case, stock_mm: float) -> Iterator[_Wanted]:
    shop = case.resolved.workshop
    for name, key, here in (("platen", "platen", shop.platen), ("slack belt", "slack_belt", shop.slack_belt)):
        words = f"without a {name}" if here else f"with a {name}"
        yield _Wanted(name, words, (f"workshop.{key}={'no' if here else 'yes'}",))
    if shop.wheels_mm:
        yield _Wanted("no wheel", "without contact wheels", ("workshop.wheels_mm=",))
    if len(shop.wheels_mm) > 1:
        words = f"without the {shop.wheels_mm[-1]:g} mm wheel"
        yield _Wanted("largest wheel", words, (_wheels(shop.wheels_mm[:-1]),))
    for wheel in WHEELS_MM:
        if wheel > max(shop.wheels_mm, default=0.0):
            words = f"with a {wheel:g} mm wheel besides"
            yield _Wanted("larger wheel", words, (_wheels((*shop.wheels_mm, wheel)),), wheel)


def _wheels(wheels_mm: tuple[float, ...]) -> str:
    return "workshop.wheels_mm=" + ",".join(f"{wheel:g}" for wheel in wheels_mm)


def _counted(others: str) -> Callable[[Sequence[Perturbation]], str]:
    return lambda changes: f"{len(changes)} other {others}"


def _reaching(unit: str) -> Callable[[Sequence[Perturbation]], str]:
    def words(changes: Sequence[Perturbation]) -> str:
        reach = {c.what: max(d.amount for d in changes if d.what == c.what) for c in changes}
        return ", ".join(f"up to {by:g} {unit} {what}" for what, by in reach.items())

    return words


@dataclass(frozen=True)
class PerturbationKind:
    """A kind of change: what is tried of it, and how what was tried is summed up."""

    wanted: Callable[[Case, float], Iterator[_Wanted]]
    summary: Callable[[Sequence[Perturbation]], str]


PERTURBATION_KINDS: Mapping[FlipKind, PerturbationKind] = {
    "gear": PerturbationKind(_gear, _counted("sets of sharpening gear")),
    "steel": PerturbationKind(_steel, _counted("steels at their usual hardness")),
    "hardness": PerturbationKind(_hardness, _reaching("HRC")),
    "task": PerturbationKind(_tasks, _counted("shares of the work")),
    "stock": PerturbationKind(_stock, _reaching("mm")),
    "workshop": PerturbationKind(_workshop, _counted("workshops")),
}
