"""Intraclass correlations when scores are missing: from variance components by restricted maximum likelihood."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from assess.agreement.mean_squares import FORMS
from assess.agreement.network import in_pieces, pieces_of
from assess.agreement.profile_limits import share_limits
from assess.agreement.reml import Model, Reml, TooMany, fit, model_of, told_apart
from assess.agreement.results import Interval
from assess.agreement.scores import Floats, Ints, Scores

__all__ = ["missing", "two_way_variances"]

Limits = tuple[Interval | None, ...]
_MOST_GROUPS, _GROUPS_OF_MANY, _MANY = 50, 20, 20_000
_NO_ERROR = "Nothing is left beside units and assessors: these scores fit without error, which no estimate can rest on."
_NOT_APART = "The pattern of missing scores does not let units, assessors and error be told apart."


def two_way_variances(scores: Scores) -> Floats | str:
    """Variances of units, assessors and error, or the reason why there are none."""
    fitted = _two_way(scores)
    return fitted if isinstance(fitted, str) else fitted[1].variances


def missing(
    scores: Scores,
) -> tuple[tuple[float | None, ...], tuple[str | None, ...], Limits, tuple[str, ...]]:
    """Values, reasons, intervals and how those were made, in the order of FORMS.

    A mean is one over as many scores as units have here (harmonic mean).
    """
    k = float(1 / np.mean(1 / np.bincount(scores.unit)))
    one_way, two_way = _one_way(scores), _two_way(scores)
    values: dict[str, float | None] = {}
    reasons: dict[str, str | None] = {}
    limits: dict[str, Interval | None] = {}
    for name, fitted, weights in _SINGLE:
        found = one_way if fitted == 1 else two_way
        if isinstance(found, str):
            parts: tuple[float | None, Interval | None, str | None] = (None, None, found)
        else:
            value = _share(found[1].variances, weights)
            parts = (value, _limits(scores, found, fitted, weights), None)
        for form, times in ((name, 1.0), (_mean_form(name), k)):
            values[form] = None if parts[0] is None else _stepped(parts[0], times)
            limits[form] = None if parts[1] is None else (_stepped(parts[1][0], times), _stepped(parts[1][1], times))
            reasons[form] = parts[2]
    how = "profile likelihood" if scores.n_units == len(scores.candidates) else "jackknife over candidates"
    return (
        tuple(values[name] for name in FORMS), tuple(reasons[name] for name in FORMS),
        tuple(limits[name] for name in FORMS), tuple(how if limits[name] else "" for name in FORMS),
    )  # fmt: skip


_SINGLE = (("ICC(1)", 1, (0.0, 1.0)), ("ICC(A,1)", 2, (0.0, 1.0, 1.0)), ("ICC(C,1)", 2, (0.0, 0.0, 1.0)))


def _mean_form(name: str) -> str:
    return name.replace("1)", "k)")


def _stepped(value: float, k: float) -> float:
    """Spearman-Brown: the same for a mean of k."""
    return k * value / (1 + (k - 1) * value)


def _share(variances: Floats, weights: tuple[float, ...]) -> float:
    return float(variances[0] / (variances[0] + np.asarray(weights) @ variances))


def _one_way(scores: Scores) -> tuple[Model, Reml] | str:
    order = np.argsort(scores.unit * len(scores.assessors) + scores.assessor)
    return _fitted([scores.unit[order]], [frozenset({0})], scores.value[order])


def _two_way(scores: Scores) -> tuple[Model, Reml] | str:
    pieces = pieces_of(scores.unit, scores.assessor, scores.assessors)
    if len(pieces) > 1:
        return in_pieces(pieces, "candidate" if scores.n_units == len(scores.candidates) else "unit")
    order = np.argsort(scores.unit * len(scores.assessors) + scores.assessor)
    sources = [scores.unit[order], scores.assessor[order]]
    return _fitted(sources, [frozenset({0}), frozenset({1})], scores.value[order])


def _fitted(sources: list[Ints], facets: list[frozenset[int]], value: Floats) -> tuple[Model, Reml] | str:
    if not told_apart(sources, len(value)):
        return _NOT_APART
    try:
        model = model_of(sources, facets, value)
    except TooMany as many:
        return f"Too large for these statistics: {many}."
    fitted = fit(model)
    return (model, fitted) if fitted.converged else _NO_ERROR


def _limits(scores: Scores, found: tuple[Model, Reml], ways: int, weights: tuple[float, ...]) -> Interval | None:
    if scores.n_units == len(scores.candidates):
        return share_limits(*found, 0, np.asarray(weights))
    return _jackknifed(scores, _share(found[1].variances, weights), lambda v: _share(v, weights), ways)


def _jackknifed(scores: Scores, value: float, share: Callable[[Floats], float], ways: int) -> Interval | None:
    """Student interval on -log(1 - share) from leaving out candidates; None if a fit fails.

    They are left out in at most 50 groups, 20 where every fit takes long.
    """
    from scipy.special import stdtrit

    groups = min(_GROUPS_OF_MANY if scores.n_scores > _MANY else _MOST_GROUPS, len(scores.candidates))
    if groups < 3 or value >= 1:
        return None
    left_out = []
    order = np.argsort(scores.unit * len(scores.assessors) + scores.assessor)
    for group in range(groups):
        kept = order[scores.candidate[order] % groups != group]
        sources = [np.unique(scores.unit[kept], return_inverse=True)[1].reshape(-1)]
        if ways == 2:
            sources.append(np.unique(scores.assessor[kept], return_inverse=True)[1].reshape(-1))
        found = _fitted(sources, [frozenset({i}) for i in range(ways)], scores.value[kept])
        if isinstance(found, str):
            return None
        left_out.append(-np.log1p(-share(found[1].variances)))
    spread = np.asarray(left_out)
    se = float(np.sqrt((groups - 1) / groups * ((spread - spread.mean()) ** 2).sum()))
    middle, half = -float(np.log1p(-value)), float(stdtrit(groups - 1, 0.975)) * se
    return max(0.0, float(-np.expm1(-(middle - half)))), float(-np.expm1(-(middle + half)))
