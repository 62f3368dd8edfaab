"""What would flip the answer: every single change weighed against every grind.

A full search under each change would take a minute. Instead some designs of each grind are kept: its best, some close
behind, and some spread over all it can be. Under a change all of them are scored again, and the grinds that come out
near the top are walked uphill in shop steps, as the engine refines its own best. All changes go through one batch.
Where the proposal is shut out or loses much, what was kept tells too little: the full search follows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from recommender.engine.intake.case import Case
from recommender.engine.search.candidates import can_be_made, fixed_columns, sample
from recommender.engine.search.ranking import TIE_POINTS, Best, Field, joined_designs
from recommender.engine.sensitivity.brief_batch import BriefBatch, Index
from recommender.engine.sensitivity.full_search import searched
from recommender.engine.sensitivity.perturbations import PERTURBATION_KINDS, Perturbation, perturbations
from recommender.engine.sensitivity.walks import LANES, Walks
from recommender.geometry.arcs import Array
from recommender.models.answer.proposal import FLIP_KINDS, Flip, Tried
from recommender.plugin.api import Designs

FLIP_POINTS = 0.5
"""Closer than this the quick search cannot tell which of two grinds leads: the change is said to hold."""
CLOSE = 2
"""Designs kept of each grind besides its best: every fourth from its best."""
SPREAD = 24
"""Designs kept of each grind from all over."""
NEAR_POINTS = 4.0
"""Grinds this close to the top under a change are walked uphill."""
CLIMBS = 4
LOST_POINTS = 12.0
"""A change that takes so many points from the proposed grind asks for other blades than those kept."""
SECOND_LOOK = 120
"""Designs of a grind that are looked at besides where those kept tell too little."""
FRESH = 1
"""Each change is walked from two starts: lane LANES x change from the designs kept, FRESH lanes from new ones."""
NEW_SHOP = 40
"""Designs of each grind that are tried where a workshop gains something."""
_SAMPLE = 600
"""Designs tried of a grind where a workshop makes hardly any of those kept."""


@dataclass(frozen=True)
class Counterfactuals:
    """What flips the answer, and what was tried."""

    flips: tuple[Flip, ...]
    tried: tuple[Tried, ...]


def flips(fields: Sequence[Field], bests: Sequence[Best], case: Case) -> Counterfactuals:
    """Try every single change on an answer whose first best is the proposal."""
    if case.resolved.brief.wishes.grind is not None:
        return Counterfactuals((), ())  # nothing can change what is wished for
    winner = bests[0].grind.item.id
    stock = float(bests[0].measured.designs["stock_thickness_mm"][0])
    changes = perturbations(case, stock)
    variants = BriefBatch(case, [c.resolved for c in changes])
    ids = [g.item.id for g in variants.grinds]
    points = best_points(fields, bests, changes, variants)
    ours = ids.index(winner)
    leads = _leads(points, ours)
    found: list[Flip] = []
    tried: list[Tried] = []
    series: set[str] = set()
    for kind in FLIP_KINDS:
        rows = [i for i, change in enumerate(changes) if change.kind == kind]
        flipped = 0
        for i in rows:
            change = changes[i]
            known = change.amount > 0 and change.what in series  # a smaller change of the series flips it already
            if leads[i] <= FLIP_POINTS:
                continue
            flipped += 1
            if known:
                continue
            series.add(change.what)
            tied = np.flatnonzero(points[i] > points[i].max() - TIE_POINTS)
            top = int(min(tied, key=lambda k: variants.grinds[k].item.knobs)) if len(tied) else 0
            fits = bool(np.isfinite(points[i, top]))
            found.append(
                Flip(
                    kind=change.kind,
                    words=change.words,
                    settings=change.settings,
                    amount=change.amount or None,
                    grind=ids[top] if fits else None,
                    grind_label=variants.grinds[top].item.label if fits else None,
                    lead=round(float(leads[i]), 2) if np.isfinite(leads[i]) else None,
                )
            )
        if rows:
            words = PERTURBATION_KINDS[kind].summary([changes[i] for i in rows])
            tried.append(Tried(kind=kind, tried=len(rows), held=len(rows) - flipped, words=words))
    return Counterfactuals(tuple(found), tuple(tried))


def _search_far(
    points: Array, ours: int, proposed: float, changes: Sequence[Perturbation], variants: BriefBatch
) -> None:
    """Search in full, in place, where the proposed grind seems shut out, or beaten while it loses much.

    Few designs were kept that fit such a change: they tell too little. In a series a change is left out where a smaller
    one flips the answer.
    """
    beaten = _leads(points, ours) > FLIP_POINTS
    far = ~np.isfinite(points[:, ours]) | (beaten & (points[:, ours] < proposed - LOST_POINTS))
    waiting = np.flatnonzero(far).tolist()
    while True:
        flipped: dict[str, int] = {}
        for j in np.flatnonzero(_leads(points, ours) > FLIP_POINTS).tolist():
            if changes[j].amount > 0 and j not in waiting:
                flipped.setdefault(changes[j].what, j)
        waiting = [i for i in waiting if flipped.get(changes[i].what, i) >= i]
        if not waiting:
            return
        # The first of each series; those that are in none all at once.
        first = {changes[i].what if changes[i].amount > 0 else str(i): i for i in reversed(waiting)}
        near = points > points.max(axis=1, keepdims=True) - 2 * NEAR_POINTS
        near[:, ours] = True
        pairs = [(i, k) for i in first.values() for k in np.flatnonzero(near[i]).tolist()]
        np.maximum(points, searched(pairs, variants), out=points)
        waiting = [i for i in waiting if i not in first.values()]


def _leads(points: Array, ours: int) -> Array:
    """Points by which another grind leads the proposed one under each change, (changes,); infinite where none fits."""
    with np.errstate(invalid="ignore"):
        lead = points.max(axis=1) - points[:, ours]
    return np.where(np.isnan(lead), np.inf, lead)


def best_points(
    fields: Sequence[Field], bests: Sequence[Best], changes: Sequence[Perturbation], variants: BriefBatch
) -> Array:
    """The points of each grind under each change (changes, grinds); -inf where nothing of it passes."""
    kept = _kept(fields, bests, variants)
    count = len(variants.briefs)
    batches: dict[int, tuple[Designs, Index]] = {}
    for k, designs in kept.items():
        n = len(designs)
        which = np.repeat(np.arange(count), n)
        batches[k] = _on_their_bars(designs.taking(np.tile(np.arange(n), count)), k, which, variants), LANES * which
    _with_new_workshops(batches, variants)
    walks = Walks(variants)
    walks.try_out(batches)
    ours = [g.item.id for g in variants.grinds].index(bests[0].grind.item.id)
    _second_look(walks, fields, ours, bests[0].points, variants)
    table = walks.table()
    # Only grinds that may come out on top, or that the proposal must beat, are worth a walk.
    lost = table[:, ours] < bests[0].points - LOST_POINTS
    reach = np.where(lost, 2 * NEAR_POINTS, NEAR_POINTS)  # few were kept that fit such a change
    near = table.max(axis=1) - reach
    walks.climb(
        [(k, lane) for (k, lane), (won, _) in walks.best.items() if k == ours or won > near[lane // LANES]], CLIMBS
    )
    points = walks.allowed()
    _search_far(points, ours, bests[0].points, changes, variants)
    return points


def _second_look(walks: Walks, fields: Sequence[Field], ours: int, points: float, variants: BriefBatch) -> None:
    """Look at more designs where few tell too little; `points` are those of the proposal.

    Of the proposed grind where it seems beaten: nothing is said to flip too soon. Of the others where it seems shut
    out, or loses much: their kept designs were for the brief as it is, and one of them takes its place.
    """
    table = walks.table()
    lead, own = table.max(axis=1), table[:, ours]
    beaten, shut_out = np.flatnonzero(lead > own + TIE_POINTS), np.flatnonzero(own < points - LOST_POINTS)
    ids = [g.item.id for g in variants.grinds]
    batches = {}
    for field in fields:
        k = ids.index(field.grind.item.id)
        lanes = beaten if k == ours else shut_out
        if len(lanes) and field.measured is not None and field.scores is not None:
            # Those that break fewest limits, in the order of the sample, which is spread all over: where the gear
            # sets the angle hardly any of all do.
            order = np.argsort(field.scores.broken_count, kind="stable")
            batches[k] = _more(field.measured.designs.taking(order[:SECOND_LOOK]), k, lanes, variants)
    walks.try_out({k: batch for k, batch in batches.items() if batch is not None})


def _more(usual: Designs, k: int, changes: Index, variants: BriefBatch) -> tuple[Designs, Index] | None:
    """SECOND_LOOK designs of a grind under each of some changes, those that a changed workshop makes where it does."""
    home = variants.case.resolved.workshop
    batches = []
    for i in changes:
        fresh = _fresh(variants, k, int(i), SECOND_LOOK) if variants.briefs[i].workshop != home else usual
        if fresh is not None and len(fresh):
            which = np.full(len(fresh), i)
            own = _on_their_bars(usual, k, which, variants) if fresh is usual else fresh
            batches.append((Designs({c: own[c] for c in usual.columns}), LANES * which + FRESH))
    if not batches:
        return None
    return joined_designs([d for d, _ in batches]), np.concatenate([w for _, w in batches])


def _on_their_bars(designs: Designs, k: int, which: Index, variants: BriefBatch) -> Designs:
    """Designs of a grind for one range of stock at the same place in that of each brief."""
    low, high = variants.case.resolved.stock_range_of(variants.grinds[k].item)
    place = (designs["stock_thickness_mm"] - low) / (high - low) if high > low else np.full(len(designs), 0.5)
    lows, highs = variants.stock_range_mm(k)
    return designs.changed(stock_thickness_mm=lows[which] + place * (highs - lows)[which])


def _kept(fields: Sequence[Field], bests: Sequence[Best], variants: BriefBatch) -> dict[int, Designs]:
    refined = {b.grind.item.id: b.measured.designs for b in bests}
    ids = [g.item.id for g in variants.grinds]
    out = {}
    for field in fields:
        if field.measured is None or field.scores is None:
            continue
        name = field.grind.item.id
        order = np.argsort(-field.scores.penalised_points, kind="stable")
        rows = np.unique(np.concatenate([order[: 4 * CLOSE : 4], np.arange(min(SPREAD, len(order)))]))
        some = [field.measured.designs.taking(rows)]
        if name in refined:
            columns = some[0].columns
            some.append(Designs({c: refined[name][c] for c in columns}))
        out[ids.index(name)] = joined_designs(some)
    return out


def _with_new_workshops(batches: dict[int, tuple[Designs, Index]], variants: BriefBatch) -> None:
    """Add designs that only a changed workshop can make: of grinds whose kept ones it makes few of, or other wheels."""
    case = variants.case
    base = case.resolved.workshop
    for i, brief in enumerate(variants.briefs):
        shop = brief.workshop
        gained = (shop.platen and not base.platen) or (shop.slack_belt and not base.slack_belt)
        if not gained and not set(shop.wheels_mm) - set(base.wheels_mm):
            continue
        for k in range(len(variants.grinds)):
            designs = _fresh(variants, k, i, NEW_SHOP)
            if designs is None or not len(designs):
                continue
            rows = np.full(len(designs), LANES * i + FRESH)
            if k in batches:
                known, which = batches[k]
                designs = Designs({c: designs[c] for c in known.columns})
                batches[k] = joined_designs([known, designs]), np.concatenate([which, rows])
            else:
                batches[k] = designs, rows


def _fresh(variants: BriefBatch, k: int, i: int, most: int) -> Designs | None:
    """Designs of a grind spread over what a changed brief allows, up to so many; None when its plug-in fails."""
    grind, brief = variants.grinds[k], variants.briefs[i]

    def fresh() -> Designs:
        designs = sample(grind.item, brief, _SAMPLE)
        ok = np.flatnonzero(can_be_made(grind.item, designs, brief.workshop, fixed_columns(brief)))
        return designs.taking(ok[:most])

    return variants.case.registry.call(grind.origin, f"checking {grind.item.id}", fresh)
