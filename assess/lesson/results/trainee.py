"""What a trainee's own film gives: self-assessment, its direction over a season, the use of time, two observers."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["GapTrend", "ObserverAgreement", "PerMinute", "SelfAssessment", "TimeShare"]


@dataclass(frozen=True, slots=True)
class SelfAssessment:
    """Own scores beside a reference.

    n: criteria both scored; only_own, only_reference: scored by one side alone. gaps: own - reference.
    bias, mean_distance (MAE), spread (SD, n - 1), limits (bias +- 1.96 SD): in levels.
    distance_without_bias: MAE once one's own bias is taken out. tau: Kendall's tau-b; tau_needed: what n without ties
    need to be more than luck, None where n is too small for any. weakest, own_weakest: the two lowest and their ties;
    weakest_found: how many are in both. timed_share: own scores with a time of the film.
    None where a figure does not exist.
    """

    n: int
    only_own: tuple[str, ...]
    only_reference: tuple[str, ...]
    gaps: tuple[tuple[str, float], ...]
    bias: float | None
    mean_distance: float | None
    spread: float | None
    limits: tuple[float, float] | None
    distance_without_bias: float | None
    tau: float | None
    tau_needed: float | None
    weakest: tuple[str, ...]
    own_weakest: tuple[str, ...]
    weakest_found: int | None
    timed_share: float | None
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class GapTrend:
    """Levels per 30 days by which the distance to the reference changes over n films, with its 95 % interval."""

    n: int
    per_month: float | None
    ci95: tuple[float, float] | None
    sentence: str


@dataclass(frozen=True, slots=True)
class TimeShare:
    """The share of a lesson one use of time had; ci95 only where it comes from looks; how: what it rests on."""

    use: str
    share: float
    ci95: tuple[float, float] | None
    how: str


@dataclass(frozen=True, slots=True)
class PerMinute:
    """How often something happened, and how often a minute; None where the length is not known."""

    name: str
    count: int
    rate: float | None


@dataclass(frozen=True, slots=True)
class ObserverAgreement:
    """Two observers of one film, second by second.

    table: marked by both, by the first alone, by the second alone, by none. equal: share of equal seconds. kappa:
    Cohen's. marked: of the seconds either marked, those both did; left: of those either left, those both did.
    """

    n: int
    table: tuple[int, int, int, int]
    equal: float | None
    kappa: float | None
    marked: float | None
    left: float | None
