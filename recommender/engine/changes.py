"""The single changes a person could make to a brief: other gear, steel, hardness, tasks, stock, another workshop."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from recommender.engine.case import Case
from recommender.engine.resolve import Resolved, steel_state
from recommender.plugin.api import TaskLoad
from recommender.units import SIZE_STEP_MM

Kind = Literal["gear", "steel", "hardness", "task", "stock", "workshop"]

HARDNESS_STEP_HRC = 1.0
"""A heat treatment does not hit hardness closer than this; common practice."""
STOCK_STEPS = (1, 2, 3, 4)
"""Bars up to so many shop steps thicker or thinner are tried."""
SHARES = (0.1, 0.2, 0.35, 0.5)
"""Shares of the work that a task not in the brief is tried with."""
SHARE_SHIFTS = (0.1, 0.2, 0.4)
"""By how much a task of the brief may weigh more or less; it may also be dropped, or be all there is."""
WHEELS_MM = (150.0, 250.0, 400.0, 600.0)
"""Contact wheels that a workshop could buy."""


@dataclass(frozen=True)
class Change:
    """One thing changed, everything else as it stands; the blade keeps its size."""

    kind: Kind
    what: str
    """What is changed: one series of growing changes has one name."""
    words: str
    settings: tuple[str, ...]
    """As `--set` takes them."""
    amount: float
    """How far it goes from the brief, to compare changes of one series; 0 where there is no number to it."""
    resolved: Resolved


def single_changes(case: Case, stock_mm: float) -> list[Change]:
    """Every change that is tried, the smaller ones of a series first; `stock_mm` is the stock proposed."""
    return [
        *_gear(case),
        *_steel(case),
        *_hardness(case),
        *_tasks(case),
        *_stock(case, stock_mm),
        *_workshop(case),
    ]


def _gear(case: Case) -> Iterator[Change]:
    resolved = case.resolved
    here = {g.id for g in resolved.gear}
    for gear in case.knowledge.gear.values():
        if here == {gear.id}:
            continue
        yield Change(
            "gear",
            f"only {gear.id}",
            f"with nothing but {gear.label}" if gear.surfaces or gear.id != "none" else "with no sharpening gear",
            (f"owner.gear={gear.id}",),
            0.0,
            dataclasses.replace(resolved, gear=(gear,)),
        )
        if gear.id in here or not gear.surfaces or "none" in here:
            continue
        both = (*resolved.gear, gear)
        yield Change(
            "gear",
            f"also {gear.id}",
            f"with {gear.label} besides",
            ("owner.gear=" + ",".join(g.id for g in both),),
            0.0,
            dataclasses.replace(resolved, gear=both),
        )


def _steel(case: Case) -> Iterator[Change]:
    resolved = case.resolved
    for steel in case.knowledge.steels.values():
        if steel.id == resolved.steel.id:
            continue
        usual = steel.hardness.usual_hrc
        yield Change(
            "steel",
            steel.id,
            f"in {steel.label} at {usual:g} HRC",
            (f"steel.grade={steel.id}", f"steel.hardness_hrc={usual:g}"),
            0.0,
            dataclasses.replace(resolved, steel=steel, steel_state=steel_state(steel, usual, resolved.nick_um)),
        )


def _hardness(case: Case) -> Iterator[Change]:
    resolved = case.resolved
    steel, now = resolved.steel, float(resolved.steel_state.hardness_hrc)
    for sense, word in ((1, "harder"), (-1, "softer")):
        hardness = now + sense * HARDNESS_STEP_HRC
        while steel.hardness.low_hrc <= hardness <= steel.hardness.high_hrc:
            yield Change(
                "hardness",
                word,
                f"at {hardness:g} HRC",
                (f"steel.hardness_hrc={hardness:g}",),
                abs(hardness - now),
                dataclasses.replace(resolved, steel_state=steel_state(steel, hardness, resolved.nick_um)),
            )
            hardness += sense * HARDNESS_STEP_HRC


def _tasks(case: Case) -> Iterator[Change]:
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
                yield Change(
                    "task",
                    f"{word} {task.id}",
                    _share_words(task.label, share, to),
                    tuple(f"tasks.{name}={value:.3g}" for name, value in _shifted(shares, task.id, to).items()),
                    abs(to - share),
                    with_shares(case, _shifted(shares, task.id, to)),
                )


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


def with_shares(case: Case, shares: dict[str, float]) -> Resolved:
    """The brief with other shares of the work, the blade as it stands."""
    knowledge = case.knowledge
    tasks = tuple(
        TaskLoad(knowledge.tasks[name], share, knowledge.materials[knowledge.tasks[name].material])
        for name, share in shares.items()
    )
    thickest = sum(load.share * load.task.thickest_edge_mm for load in tasks)
    return dataclasses.replace(case.resolved, tasks=tasks, thickest_edge_mm=thickest)


def _stock(case: Case, stock_mm: float) -> Iterator[Change]:
    blade = case.resolved.brief.blade
    least = max(0.5, (blade.distal_taper_mm_per_mm or 0.0) * (blade.length_mm or 0.0) + SIZE_STEP_MM)
    for sense, word in ((1, "thicker"), (-1, "thinner")):
        for step in STOCK_STEPS:
            stock = stock_mm + sense * step * SIZE_STEP_MM
            if least <= stock <= 12:
                yield Change(
                    "stock",
                    word,
                    f"on {stock:g} mm stock instead of {stock_mm:g}",
                    (f"blade.stock_thickness_mm={stock:g}",),
                    abs(stock - stock_mm),
                    with_stock(case.resolved, stock),
                )


def with_stock(resolved: Resolved, stock_mm: float) -> Resolved:
    """The brief with the bar decided."""
    blade = resolved.brief.blade.model_copy(update={"stock_thickness_mm": stock_mm})
    return dataclasses.replace(
        resolved, brief=resolved.brief.model_copy(update={"blade": blade}), stock_range_mm=(stock_mm, stock_mm)
    )


def _workshop(case: Case) -> Iterator[Change]:
    shop = case.resolved.workshop

    def change(what: str, words: str, setting: str, **changed: object) -> Change:
        other = dataclasses.replace(shop, **changed)  # type: ignore[arg-type]
        return Change("workshop", what, words, (setting,), 0.0, dataclasses.replace(case.resolved, workshop=other))

    yield change(
        "platen",
        "without a platen" if shop.platen else "with a platen",
        f"workshop.platen={'no' if shop.platen else 'yes'}",
        platen=not shop.platen,
    )
    yield change(
        "slack belt",
        "without a slack belt" if shop.slack_belt else "with a slack belt",
        f"workshop.slack_belt={'no' if shop.slack_belt else 'yes'}",
        slack_belt=not shop.slack_belt,
    )
    if shop.wheels_mm:
        yield change("no wheel", "without contact wheels", "workshop.wheels_mm=", wheels_mm=())
    if len(shop.wheels_mm) > 1:
        fewer = shop.wheels_mm[:-1]
        yield change(
            "largest wheel", f"without the {shop.wheels_mm[-1]:g} mm wheel", _wheels_setting(fewer), wheels_mm=fewer
        )
    for wheel in WHEELS_MM:
        if wheel > max(shop.wheels_mm, default=0.0):
            more = (*shop.wheels_mm, wheel)
            yield dataclasses.replace(
                change("larger wheel", f"with a {wheel:g} mm wheel besides", _wheels_setting(more), wheels_mm=more),
                amount=wheel,
            )


def _wheels_setting(wheels_mm: tuple[float, ...]) -> str:
    return "workshop.wheels_mm=" + ",".join(f"{wheel:g}" for wheel in wheels_mm)
