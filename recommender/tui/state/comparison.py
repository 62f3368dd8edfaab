"""What is being tried and compared: the blade that is moved, those kept, and which stand side by side."""

from __future__ import annotations

from dataclasses import dataclass, field

from recommender.models.answer.proposal import Answer, Proposal

COLUMNS = 4
NOBODY = "nothing"
PROPOSAL, TRIAL = "proposal", "your trial"


@dataclass
class BladeComparison:
    """Blades beside an answer's proposal."""

    answer: Answer
    grind: str = ""
    """Of the blade that is moved; "" for the proposal's."""
    values: dict[str, float | str] = field(default_factory=dict)
    """Dimensions moved away from that blade, by the names of their knobs."""
    kept: list[Proposal] = field(default_factory=list)
    picks: list[str] = field(default_factory=list)
    """Labels of what stands beside the proposal."""

    def __post_init__(self) -> None:
        if not self.picks:
            beside = [a.grind_label for a in self.answer.alternatives if a.proposal is not None][:2]
            self.picks = [*beside, *[NOBODY] * COLUMNS][: COLUMNS - 1]

    @property
    def bases(self) -> dict[str, Proposal]:
        """The blades to start from: the proposal and the best of each other grind, by grind."""
        blades = [self.answer.proposal, *(a.proposal for a in self.answer.alternatives)]
        return {b.grind: b for b in blades if b is not None}

    @property
    def base(self) -> Proposal | None:
        """The blade that is moved, as it was proposed."""
        return self.bases.get(self.grind, self.answer.proposal)

    @property
    def moved(self) -> bool:
        """Whether a trial differs from the proposal."""
        return bool(self.values) or (self.base is not None and self.base != self.answer.proposal)

    def turn_grind(self, by: int) -> None:
        """Start from the best of another grind; 0 goes back to the proposal's."""
        grinds = list(self.bases)
        if grinds:
            at = grinds.index(self.grind) if self.grind in grinds else 0
            self.grind = grinds[(at + by) % len(grinds)] if by else grinds[0]
            self.values.clear()

    def back(self) -> None:
        """Drop the trial."""
        self.grind = ""
        self.values.clear()

    def choices(self, trial: Proposal | None) -> dict[str, Proposal]:
        """What can stand beside the proposal, by label."""
        out = {a.grind_label: a.proposal for a in self.answer.alternatives if a.proposal is not None}
        out |= {f"trial {k}": blade for k, blade in enumerate(self.kept, 1)}
        return out | ({TRIAL: trial} if trial is not None and self.moved else {})

    def turn_pick(self, column: int, by: int, trial: Proposal | None) -> None:
        """Put the next blade into a column; 0 empties it."""
        others = {pick for k, pick in enumerate(self.picks) if k != column}
        labels = [NOBODY, *(label for label in self.choices(trial) if label not in others)]
        at = labels.index(self.picks[column]) if self.picks[column] in labels else 0
        self.picks[column] = labels[(at + by) % len(labels)] if by else NOBODY

    def keep(self, trial: Proposal) -> str:
        """Keep a trial and put it side by side; gives its label."""
        self.kept = [*self.kept, trial]
        label = f"trial {len(self.kept)}"
        empty = next((k for k, p in enumerate(self.picks) if p == NOBODY), len(self.picks) - 1)
        self.picks[empty] = label
        return label

    def side_by_side(self, trial: Proposal | None) -> list[tuple[str, Proposal]]:
        """The blades to compare, the proposal first."""
        choices, first = self.choices(trial), self.answer.proposal
        picked = [p for p in dict.fromkeys(self.picks) if p in choices]
        return [] if first is None else [(PROPOSAL, first), *((p, choices[p]) for p in picked)]

    def over(self, answer: Answer) -> BladeComparison:
        """The same beside another answer: what was kept stays, a trial too while the proposal is the same."""
        same = answer.proposal == self.answer.proposal
        if not same:
            return BladeComparison(answer, kept=self.kept)
        return BladeComparison(answer, self.grind, dict(self.values), self.kept, self.picks)
