"""Intraclass correlation in all of McGraw and Wong's forms, and the error of one score in levels.

Units are rows (a unit is one candidate, task and criterion), assessors are columns. Complete tables go by mean
squares, which can give negative values; with scores missing the variances come from restricted maximum likelihood.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assess.agreement.mean_squares import FORMS, TwoWay, correlations, exact_intervals, two_way, unit_sums
from assess.agreement.results import Estimate, Interval, Sem
from assess.agreement.scores import Floats, Scores

__all__ = ["TEN_FORMS", "icc", "sem", "ten_forms"]

TEN_FORMS = (
    ("one-way random", "ICC(1)"), ("one-way random", "ICC(k)"),
    ("two-way random", "ICC(C,1)"), ("two-way random", "ICC(C,k)"),
    ("two-way random", "ICC(A,1)"), ("two-way random", "ICC(A,k)"),
    ("two-way mixed", "ICC(C,1)"), ("two-way mixed", "ICC(C,k)"),
    ("two-way mixed", "ICC(A,1)"), ("two-way mixed", "ICC(A,k)"),
)  # fmt: skip
"""Model and estimator of each form. Random: other assessors could have come; mixed: these are all there are.

Both have the same estimate and interval; ICC(C,k) and ICC(A,k) of the mixed model hold only if no assessor treats
some candidates unlike others (no interaction). McGraw & Wong (1996), tables 3-6.
"""
_MISSING = "from variance components (restricted maximum likelihood), because scores are missing: never below 0"
_FIXED = "if these assessors are all there are, it holds only when none of them treats some candidates unlike others"


@dataclass(frozen=True, eq=False)
class _Found:
    """Estimates and intervals in the order of FORMS; None with the reason where one does not exist."""

    values: tuple[float | None, ...]
    reasons: tuple[str | None, ...]
    intervals: tuple[Interval | None, ...]
    how: tuple[str, ...]
    warnings: tuple[str, ...] = ()
    se: tuple[float | None, ...] = (None,) * 6


def ten_forms(scores: Scores) -> tuple[tuple[str, str, Estimate], ...]:
    """(model, form, estimate) of all ten forms."""
    six = dict(icc(scores))
    mixed = {name: _with_warning(value) if name.endswith("k)") else value for name, value in six.items()}
    return tuple((model, name, (mixed if "mixed" in model else six)[name]) for model, name in TEN_FORMS)


def _with_warning(value: Estimate) -> Estimate:
    from dataclasses import replace

    return replace(value, warnings=(*value.warnings, _FIXED))


def icc(scores: Scores, *, replicates: int = 1000, seed: int = 0) -> tuple[tuple[str, Estimate], ...]:
    """The six estimators by name: what share of the differences between scores lies between units.

    1: of single scores; k: of means of all assessors. ICC(1), ICC(k): assessors differ from unit to unit; A: absolute
    agreement, severity counts as error; C: consistency, severity does not count.
    Complete scores with one unit for each candidate: exact F intervals (Satterthwaite's for A). More units for a
    candidate: bootstrap over candidates, `replicates` times. Scores missing: profile likelihood, or for more units
    the jackknife over candidates.
    """
    reason = _no_table(scores)
    if reason is not None:
        found = _Found((None,) * 6, (reason,) * 6, (None,) * 6, ("",) * 6)
    elif scores.n_scores == scores.n_units * len(scores.assessors):
        found = _complete(scores, replicates, seed)
    else:
        from assess.agreement.icc_missing import missing

        found = _Found(*missing(scores), warnings=(_MISSING,))
    return tuple((name, _estimate(scores, name, found, i)) for i, name in enumerate(FORMS))


def _no_table(scores: Scores) -> str | None:
    if scores.n_scores == 0:
        return "There are no scores."
    if len(scores.assessors) < 2:
        return "Only one assessor gave scores: agreement needs two."
    if scores.n_units < 2:
        return "Only one unit was scored: nothing to tell apart."
    if np.ptp(scores.value) == 0:
        return "All scores are equal: full agreement, but no differences to be explained."
    if np.bincount(scores.unit).max() < 2:
        return "No unit has scores of two assessors: they cannot be compared."
    return None


def _complete(scores: Scores, replicates: int, seed: int) -> _Found:
    table = scores.matrix - scores.matrix.mean()
    ms = two_way(unit_sums(table))
    values = correlations(ms)[0]
    reasons = tuple(None if np.isfinite(value) else _why_not(ms, FORMS[i]) for i, value in enumerate(values))
    given = tuple(float(value) if np.isfinite(value) else None for value in values)
    if scores.n_units == len(scores.candidates):
        exact = exact_intervals(ms)
        how = tuple(
            ("Satterthwaite F" if "A" in name else "exact F") if limits else "none: no error, or none beside it"
            for name, limits in zip(FORMS, exact, strict=True)
        )
        return _Found(given, reasons, exact, how)
    return _clustered(scores, table, given, reasons, replicates, seed)


def _why_not(ms: TwoWay, name: str) -> str:
    if ms.rows[0] <= 0:
        return "The means of the units do not differ: there is nothing that could repeat."
    return f"{name} does not exist here: assessors differ so little from one another that the formula has no value."


def _clustered(
    scores: Scores, table: Floats, given: tuple[float | None, ...], reasons: tuple[str | None, ...],
    replicates: int, seed: int,
) -> _Found:  # fmt: skip
    """Units of one candidate are alike: intervals from whole candidates drawn again."""
    from assess.agreement.bootstrap import Bootstrap, Patterns

    n = len(scores.candidates)
    sums = unit_sums(table, scores.unit_candidate.astype(np.float64), n)
    patterns = Patterns(sums, np.ones(n, dtype=np.int64))
    drawn = Bootstrap(replicates, seed).intervals(patterns, _stretched)
    warnings = dict.fromkeys(warning for one in drawn for warning in one.warnings)
    se = tuple(
        None if one.se is None or value is None else (1 - value) * one.se
        for one, value in zip(drawn, given, strict=True)
    )
    limits = tuple(None if one.ci95 is None else (_back(one.ci95[0]), _back(one.ci95[1])) for one in drawn)
    return _Found(given, reasons, limits, tuple(one.interval for one in drawn), tuple(warnings), se)


def _stretched(sums: Floats) -> Floats:
    """-log(1 - correlation), on which an interval cannot pass 1; NaN for a correlation of 1."""
    left = 1 - correlations(two_way(sums))
    return np.asarray(np.where(left > 1e-12, -np.log(np.where(left > 1e-12, left, 1.0)), np.nan))


def _back(value: float) -> float:
    return -float(np.expm1(-value))


def _estimate(scores: Scores, name: str, found: _Found, i: int) -> Estimate:
    value, reason = found.values[i], found.reasons[i]
    return Estimate(
        name, value, found.se[i], found.intervals[i], found.how[i], scores.n_units, len(scores.candidates),
        len(scores.assessors), scores.n_scores, reason, found.warnings,
        reason or _sentence(name, value or 0.0, found.intervals[i]),
    )  # fmt: skip


_OF = {
    "ICC(1)": "Of the differences between single scores, whoever gave them",
    "ICC(A,1)": "Of the differences between single scores, severity of assessors included",
    "ICC(C,1)": "Of the differences between single scores, severity of assessors taken out",
    "ICC(k)": "Of the differences between means over assessors, whoever they were",
    "ICC(A,k)": "Of the differences between means over assessors, severity included",
    "ICC(C,k)": "Of the differences between means over assessors, severity taken out",
}


def _sentence(name: str, value: float, limits: Interval | None) -> str:
    if value <= 0:
        told = f"{_OF[name]}, none can be seen to lie between what was scored; assessors differ at least as much"
    else:
        told = f"{_OF[name]}, {100 * value:.0f} % lie between what was scored"
    if limits is None:
        return told + "."
    low, high = (100 * max(0.0, limit) for limit in limits)
    wide = " The data are too few to say it closer." if high - low > 50 else ""
    return f"{told}; anything from {low:.0f} % to {high:.0f} % fits these scores.{wide}"


def sem(scores: Scores) -> Sem:
    """Error of one score in levels, and the smallest difference of two scores that is more than error.

    Consistency: sqrt(MS_error); absolute: sqrt(variance of severity + error). MDC95 = 1.96 * sqrt(2) * SEM.
    From restricted maximum likelihood where scores are missing. Source: de Vet et al. (2006), J. Clin. Epidemiol. 59.
    """
    reason = _no_table(scores)
    if reason is not None:
        return Sem(None, None, None, None, reason)
    if scores.n_scores == scores.n_units * len(scores.assessors):
        ms = two_way(unit_sums(scores.matrix - scores.matrix.mean()))
        error, absolute = float(ms.error[0]), float(ms.error[0] + (ms.columns[0] - ms.error[0]) / ms.n[0])
    else:
        from assess.agreement.icc_missing import two_way_variances

        fitted = two_way_variances(scores)
        if isinstance(fitted, str):
            return Sem(None, None, None, None, fitted)
        error, absolute = float(fitted[2]), float(fitted[1] + fitted[2])
    both = (float(np.sqrt(error)), float(np.sqrt(absolute)))
    largest = 1.959963984540054 * float(np.sqrt(2.0))
    return Sem(both[0], both[1], largest * both[0], largest * both[1])
