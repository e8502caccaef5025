"""Whether the same outcome would be given again: result types."""

from __future__ import annotations

from dataclasses import dataclass

from assess.agreement.results import Estimate

__all__ = ["Again", "CandidateAgain", "MarkSpread"]


@dataclass(frozen=True, slots=True)
class MarkSpread:
    """Where marks come from, as standard deviations in levels.

    candidate: one candidate's own level to another's; performance, criterion: what a candidate is better by in one
    performance, and on one criterion of it; sheet: error all marks of a sheet share; mark: error of each mark.
    """

    candidate: float
    performance: float
    criterion: float
    sheet: float
    mark: float


@dataclass(frozen=True, slots=True)
class CandidateAgain:
    """How likely a candidate would get the same outcome again. away: module mean less the line, in levels."""

    candidate: str
    outcome: str
    away: float
    same: float


@dataclass(frozen=True, slots=True)
class Again:
    """Of candidates whose performances are marked again by others, the share that gets the same outcome.

    overall, near, in_band, clear: of all; of those within `within` levels of the line; of those in the rubric's band;
    of the others than near ones. n of each is its candidates. third_looks: candidates whose outcome a third look would
    give; both times the look is taken. replicates, seed: of the simulation. undefined: why there is nothing.
    """

    module: str
    within: float
    overall: Estimate
    near: Estimate
    in_band: Estimate
    clear: Estimate
    third_looks: int
    candidates: tuple[CandidateAgain, ...]
    spread: MarkSpread | None
    replicates: int
    seed: int
    undefined: str | None = None
    warnings: tuple[str, ...] = ()
