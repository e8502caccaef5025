"""Module means with estimated severity taken out: result types."""

from __future__ import annotations

from dataclasses import dataclass

from assess.agreement.results import Interval

__all__ = ["AdjustedMean", "AdjustedMeans", "Shift"]


@dataclass(frozen=True, slots=True)
class Shift:
    """How many levels more than the others an assessor gives, by least squares; n sheets of n_candidates."""

    assessor: str
    levels: float
    ci95: Interval | None
    n: int
    n_candidates: int


@dataclass(frozen=True, slots=True)
class AdjustedMean:
    """A module mean less the mean severity of its n sheets, in levels. ci95: as far as severities are known."""

    candidate: str
    module: str
    mean: float
    ci95: Interval | None
    n: int


@dataclass(frozen=True, slots=True)
class AdjustedMeans:
    """All of a course, to be shown beside the means as they are: no rule reads them. undefined: why there are none.

    interval: how the intervals were made. sentence: what these numbers are and are not.
    """

    shifts: tuple[Shift, ...] = ()
    means: tuple[AdjustedMean, ...] = ()
    interval: str = ""
    sentence: str = ""
    undefined: str | None = None

    def of(self, candidate: str, module: str) -> AdjustedMean | None:
        """The adjusted mean of one module, if there is one."""
        return next((one for one in self.means if (one.candidate, one.module) == (candidate, module)), None)
