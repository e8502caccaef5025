"""What each name earns against one learner's reference.

A name that is a target earns that target's weight. All other names together earn the credit of the best one,
so that the symptoms of one cause are credited once. What has no ground is a false alarm.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assess.records.practice import LearnerReference, Named
from assess.records.reading_settings import Settings

__all__ = ["Credit", "CreditTable", "Earned", "Names", "names_for"]


@dataclass(frozen=True, slots=True)
class Names:
    """What a candidate said about one learner: names that count, later ones, and causes ruled out, each once."""

    counted: tuple[str, ...]
    later: tuple[str, ...]
    ruled_out: tuple[str, ...]
    roots: tuple[str, ...]


def names_for(named: Iterable[Named], learner: str, settings: Settings) -> Names:
    """The candidate's names for `learner` in their own order. A name said twice counts once, where it came first.

    `roots`: the counted names that were called a root when first said.
    """
    said = [item for item in named if item.learner == learner]
    ruled_out = tuple(dict.fromkeys(item.fault for item in said if item.role == "ruled_out"))
    first = {item.fault: item for item in reversed(said) if item.role != "ruled_out"}
    order = tuple(dict.fromkeys(item.fault for item in said if item.role != "ruled_out"))
    counted = order[: settings.names_counted]
    roots = tuple(name for name in counted if first[name].role == "root")
    return Names(counted, order[settings.names_counted :], ruled_out, roots)


@dataclass(frozen=True, slots=True)
class Credit:
    """Credit of a name for a target: 1 for the target itself; steps above 0 = below it, under 0 = above it."""

    target: str
    steps: int
    credit: float


@dataclass(frozen=True, slots=True)
class Earned:
    """What a list of names earned. gains: per name, in order; other: the one credited name that is no target."""

    gains: tuple[float, ...]
    targets_named: tuple[str, ...]
    other: str | None
    other_credit: Credit | None
    false_alarms: tuple[str, ...]
    neutral: tuple[str, ...]

    @property
    def recall(self) -> float:
        """The sum of what was earned."""
        return sum(self.gains)

    @property
    def precision(self) -> float:
        """Share of the names with ground; neutral names stand on neither side; 0 when no name counts."""
        grounded = len(self.targets_named) + (self.other_credit.credit if self.other_credit else 0.0)
        among = len(self.targets_named) + (1 if self.other_credit else 0) + len(self.false_alarms)
        return grounded / among if among else 0.0


class CreditTable:
    """The credits of one learner's reference, worked out once and asked many times."""

    def __init__(self, reference: LearnerReference, settings: Settings) -> None:
        self.weights: dict[str, float] = {root.id: root.w for root in reference.roots}
        self.on_chains: frozenset[str] = frozenset(name for chain in reference.chains for name in chain)
        self.symptoms: frozenset[str] = (
            frozenset(chain[-1] for chain in reference.chains if chain) - self.weights.keys()
        )
        self.tolerated: frozenset[str] = frozenset(reference.tolerated)
        self.harmful: frozenset[str] = frozenset(reference.harmful)
        self._credits = {name: self._best(name, reference, settings) for name in sorted(self.on_chains)}

    def _best(self, name: str, reference: LearnerReference, settings: Settings) -> tuple[Credit, ...]:
        found: dict[str, Credit] = {}
        for chain in reference.chains:
            if name not in chain:
                continue
            at = chain.index(name)
            for target in self.weights.keys() & set(chain):
                steps = at - chain.index(target)
                credit = Credit(target, steps, settings.down**steps if steps >= 0 else settings.up**-steps)
                if target not in found or credit.credit > found[target].credit:
                    found[target] = credit
        return tuple(found[target] for target in self.weights if target in found)

    @property
    def grounded(self) -> frozenset[str]:
        """Every name this reference says anything about."""
        return self.on_chains | self.weights.keys() | self.tolerated | self.harmful

    def credits(self, name: str) -> tuple[Credit, ...]:
        """The credits of a name for the targets it shares a chain with; (1,) for a target itself."""
        if name in self.weights:
            return (Credit(name, 0, 1.0),)
        return self._credits.get(name, ())

    def earned(self, names: Sequence[str]) -> Earned:
        """What `names`, each once and already cut to those that count, earn."""
        targets = tuple(name for name in names if name in self.weights)
        best: tuple[float, str, Credit] | None = None
        for name in names:
            if name in self.weights:
                continue
            for credit in self.credits(name):
                worth = self.weights[credit.target] * credit.credit
                # Strictly more, so that of equal names the earlier one stands.
                if credit.target not in targets and worth > 0 and (best is None or worth > best[0]):
                    best = (worth, name, credit)
        other, credit_of_other = (best[1], best[2]) if best else (None, None)
        gains = tuple(
            self.weights[name] if name in self.weights else best[0] if best and name == other else 0.0 for name in names
        )
        rest = [name for name in names if name not in self.weights and name != other]
        neutral = tuple(name for name in rest if name in self.on_chains or name in self.tolerated)
        alarms = tuple(name for name in rest if name not in neutral)
        return Earned(gains, targets, other, credit_of_other, alarms, neutral)
