"""What other numbers of assessors and tasks would give: dependability of the mean of so many scores."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from assess.agreement.blocks import compact
from assess.agreement.facets import ASSESSOR, CANDIDATE, TASK, Design, Source
from assess.agreement.results import Planned
from assess.agreement.scores import Floats

__all__ = ["Weights", "as_seen", "phi_at", "planned", "ratios", "weights_for"]


@dataclass(frozen=True, eq=False)
class Weights:
    """How the variances of the sources add up in the mean of one candidate.

    signal: what is the candidate's own; relative: error when candidates are compared; absolute: error of the value.
    """

    signal: Floats
    relative: Floats
    absolute: Floats


def weights_for(sources: Sequence[Source], assessors: int, tasks: int, fixed: frozenset[int] = frozenset()) -> Weights:
    """Weights for a plan. Where assessors lie in tasks, `assessors` is how many each task has.

    fixed: facets that are all there is, not a choice from many: what a candidate does on them alone is then the
    candidate's own, and their differences are no error. Source: Brennan (2001), ch. 4.4 and 5.1.
    """
    numbers = {CANDIDATE: 1, ASSESSOR: assessors, TASK: tasks}
    share = [1 / float(np.prod([numbers[f] for f in source.facets])) for source in sources]
    return _weights(sources, share, fixed)


def as_seen(design: Design, fixed: frozenset[int] = frozenset()) -> Weights:
    """Weights of the means candidates have here, whatever pattern their scores make; the mean over candidates.

    A source weighs the sum over its levels of the squared share of the candidate's scores; 1/n for n equal shares.
    """
    candidate = next(s for s in design.sources if s.facets == frozenset({CANDIDATE}))
    own = np.bincount(candidate.index, minlength=candidate.levels)
    share = []
    for source in design.sources:
        pair, n = compact(candidate.index, source.index)
        met = np.bincount(pair, minlength=n)
        of = np.zeros(n, dtype=np.int64)
        of[pair] = candidate.index
        share.append(float(((met / own[of]) ** 2).sum() / candidate.levels))
    return _weights(design.sources, share, fixed)


def _weights(sources: Sequence[Source], share: Sequence[float], fixed: frozenset[int]) -> Weights:
    signal, relative, absolute = (np.zeros(len(sources)) for _ in range(3))
    for i, (source, weight) in enumerate(zip(sources, share, strict=True)):
        left = source.facets - fixed
        if i < len(sources) - 1 and left == {CANDIDATE}:
            signal[i] = weight
        elif left:
            absolute[i] = weight
            relative[i] = weight if CANDIDATE in source.facets else 0.0
    return Weights(signal, relative, absolute)


def ratios(variances: Floats, weights: Weights) -> tuple[float | None, float | None, float, float]:
    """g, phi, and the relative and absolute error variance; variances below 0 count as 0 (Brennan 2001, p. 84).

    g and phi are None when nothing varies.
    """
    kept = np.maximum(variances, 0.0)
    signal, relative, absolute = (float(part @ kept) for part in (weights.signal, weights.relative, weights.absolute))
    g = signal / (signal + relative) if signal + relative > 0 else None
    phi = signal / (signal + absolute) if signal + absolute > 0 else None
    return g, phi, relative, absolute


def planned(variances: Floats, sources: Sequence[Source], assessors: int, tasks: int) -> Planned:
    """What so many assessors and tasks would give."""
    g, phi, relative, absolute = ratios(variances, weights_for(sources, assessors, tasks))
    return Planned(assessors, tasks, g, phi, float(np.sqrt(relative)), float(np.sqrt(absolute)))


def phi_at(signal: float, absolute: float, mean: float, mean_variance: float, line: float) -> float | None:
    """Dependability of "on or below the line": phi with the mean's distance from the line as signal.

    (mean - line)^2 is corrected by the variance of the mean (pass 0 for the plain form); a correction that makes the
    signal negative is not cut. None when signal and error are not above 0.
    Source: Brennan & Kane (1977), J. Educ. Meas. 14, 277-289; Brennan (2001), sec. 2.
    """
    above = signal + (mean - line) ** 2 - mean_variance
    return above / (above + absolute) if above + absolute > 0 else None
