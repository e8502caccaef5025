"""What a qualification rule reads of one assessor's round: counts and sums, exact."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

__all__ = ["Figures"]


@dataclass(frozen=True, slots=True)
class Figures:
    """Counts of one marker's sheets against the reference, second markings included.

    possible: criteria of these sheets that have a reference; scores: those with a level. exact, within_one: of the
    scores; of a reference between two levels either is exact. distance: sum of the distances without sign; above: with
    sign, more than the reference is positive. sheets: with a value and a reference value; same_side: of them on the
    same side of the pass line. several: sheets with two levels or more; flat: of them with one level throughout.
    repeated: criteria scored on both markings of a lesson. early, late: sums of the distances with sign in the first
    and in the second half of the sheets, in the order of marking; early_scores, late_scores: how many.
    """

    possible: int
    scores: int
    exact: int
    within_one: int
    distance: Fraction
    above: Fraction
    sheets: int
    same_side: int
    several: int
    flat: int
    repeated: int
    repeated_exact: int
    repeated_within_one: int
    early: Fraction
    early_scores: int
    late: Fraction
    late_scores: int

    @property
    def severity(self) -> Fraction | None:
        """Levels above the reference on average (plus gives more). None without a score."""
        return self.above / self.scores if self.scores else None

    @property
    def drift(self) -> Fraction | None:
        """Levels more in the second half of the order than in the first. None without scores in both."""
        if not self.early_scores or not self.late_scores:
            return None
        return self.late / self.late_scores - self.early / self.early_scores
