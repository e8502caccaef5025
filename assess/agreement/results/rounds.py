"""What a calibration round gives back: the panel's own error, an assessor against the panel, what its rule would do."""

from __future__ import annotations

from dataclasses import dataclass

from assess.agreement.results import Estimate
from assess.agreement.results.raters import Effect

__all__ = ["Chances", "MarkerNumbers", "PanelError"]


@dataclass(frozen=True, slots=True)
class PanelError:
    """How far one score of the panel is from the panel's mean, in levels (standard deviations).

    score: of one score, made of `sheet`, what all criteria of a sheet share, and `rest`; the markers' own severity is
    out of it, its spread is `severity`. n_markers, n_lessons, n_scores: what it rests on. undefined: why there is none.
    """

    score: float | None
    sheet: float | None
    rest: float | None
    severity: float | None
    n_markers: int
    n_lessons: int
    n_scores: int
    undefined: str | None = None


@dataclass(frozen=True, slots=True)
class MarkerNumbers:
    """One assessor against the reference; intervals over lessons, both markings of one lesson together.

    distance: mean distance of a score without sign, in levels. severity: with sign, plus gives more than the reference.
    exact, within_one: shares of the scores. line: share of the sheets on the reference's side of the pass line.
    effects: severity, drift, spread, central, repeat, judged as one family over the round.
    """

    assessor: str
    distance: Estimate
    severity: Estimate
    exact: Estimate
    within_one: Estimate
    line: Estimate
    effects: tuple[Effect, ...]


@dataclass(frozen=True, slots=True)
class Chances:
    """What the rule would make of such a marker, from n simulated rounds of the same lessons. shares: by result.

    error: standard deviation of one score; severity: levels above what the panel sees; drift: levels more with every
    lesson.
    """

    marker: str
    error: float
    severity: float
    drift: float
    shares: tuple[tuple[str, float], ...]
    n: int
    sentence: str = ""
