"""A reference built from experts who diagnosed one learner blind to each other, and what they score themselves.

The ceiling matters for reading a candidate: where experts get 0.80 against each other, 0.75 is not weak.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from statistics import fmean

from assess.lesson.credit import CreditTable
from assess.lesson.diagnosis import score_names
from assess.lesson.results import Basis, PanelReading
from assess.lesson.rounding import rounded
from assess.records.practice import LearnerReference, Target
from assess.records.reading_settings import Settings

__all__ = ["Expert", "panel_reference", "read_panel"]

LEAST_EXPERTS = 3
MOST_TARGETS = 3


@dataclass(frozen=True, slots=True)
class Expert:
    """One expert's blind diagnosis: one to three treatable targets (fault id, weight), each once.

    Weights count in proportion: they are brought to the sum of 1 for each expert.
    """

    id: str
    targets: tuple[tuple[str, float], ...]


def panel_reference(experts: Sequence[Expert], learner: LearnerReference) -> LearnerReference:
    """`learner` (its chains, tolerated and harmful names kept) with the panel's targets and weights.

    A target is kept when at least half of the experts named it; its weight is the mean over all experts, not
    naming it being 0, brought to the sum of 1. No targets when the experts agree on none.
    Raises ValueError with fewer than three experts, one of them twice, or an expert without one to three targets, each
    once, weight > 0.
    """
    _checked(experts)
    return _agreed(experts, learner, more_than_half=False)


def _checked(experts: Sequence[Expert]) -> None:
    if len(experts) < LEAST_EXPERTS:
        raise ValueError(f"a panel needs at least {LEAST_EXPERTS} experts, got {len(experts)}")
    for expert in experts:
        names = [name for name, _ in expert.targets]
        if not 1 <= len(names) <= MOST_TARGETS or len(set(names)) < len(names):
            raise ValueError(f"{expert.id} must name one to {MOST_TARGETS} targets, each once; named {len(names)}")
        if not all(0 < weight < inf for _, weight in expert.targets):
            raise ValueError(f"{expert.id} must give every target a weight above 0")
    ids = [expert.id for expert in experts]
    twice = sorted({name for name in ids if ids.count(name) > 1})
    if twice:
        raise ValueError(f"{', '.join(twice)} stands twice; a panel is of different people")


def _agreed(experts: Sequence[Expert], learner: LearnerReference, *, more_than_half: bool) -> LearnerReference:
    order = dict.fromkeys(name for expert in experts for name, _ in expert.targets)
    counts = {name: sum(name in dict(expert.targets) for expert in experts) for name in order}
    half = len(experts) / 2
    kept = [name for name in order if counts[name] > half or (counts[name] == half and not more_than_half)]
    mean = {name: fmean(_share(expert, name) for expert in experts) for name in kept}
    total = sum(mean.values())
    roots = tuple(Target(id=name, w=mean[name] / total) for name in kept)
    return learner.model_copy(update={"roots": roots})


def _share(expert: Expert, name: str) -> float:
    weights = dict(expert.targets)
    return weights.get(name, 0.0) / sum(weights.values())


def read_panel(experts: Sequence[Expert], learner: LearnerReference, settings: Settings) -> PanelReading:
    """Each expert scored against the reference of all the others, and the mean of that: the ceiling.

    An expert's names stand in the order of their weights, of equal ones as given. With three experts a target is
    kept by both of the others; otherwise by at least half of them. Void when no expert can be scored.
    Raises ValueError as `panel_reference` does.
    """
    _checked(experts)
    scores = tuple((expert.id, _left_out(at, experts, learner, settings)) for at, expert in enumerate(experts))
    known = [score for _, score in scores if score is not None]
    void = None if known else "whoever is left out, the others agree on no target"
    why = [
        f"{name} gets {rounded(score, 2):.2f} against the others"
        if score is not None
        else f"{name} cannot be scored: the others agree on no target"
        for name, score in scores
    ]
    spread = f"from {rounded(min(known), 2):.2f} to {rounded(max(known), 2):.2f}" if known else "unknown"
    basis = Basis(len(known), "experts", len(known) / len(experts), f"the experts' own scores go {spread}")
    return PanelReading(
        void, fmean(known) if known else None, scores, tuple([void] if void else []) + tuple(why), basis
    )


def _left_out(at: int, experts: Sequence[Expert], learner: LearnerReference, settings: Settings) -> float | None:
    others = [*experts[:at], *experts[at + 1 :]]
    reference = _agreed(others, learner, more_than_half=len(experts) == LEAST_EXPERTS)
    if not reference.roots:
        return None
    names = [name for name, _ in sorted(experts[at].targets, key=lambda target: -target[1])]
    return score_names(names[: settings.names_counted], CreditTable(reference, settings), settings).score
