"""Agreement as it is: equal scores, scores at most one apart, and scores on the same side of the pass line."""

from __future__ import annotations

import numpy as np

from assess.agreement.bootstrap import Bootstrap, Resampled
from assess.agreement.chance import divided, unit_agreement
from assess.agreement.coefficients import conger_kappa
from assess.agreement.results import Estimate, PassLine
from assess.agreement.scores import Floats, Ints, Scores
from assess.agreement.share_intervals import wilson
from assess.agreement.tally import Tally, estimated, no_comparison, undefined
from assess.agreement.weights import same_side_table, weight_table, within_one_table

__all__ = ["pass_line", "plain_agreement"]


def plain_agreement(scores: Scores, tally: Tally, bootstrap: Bootstrap) -> tuple[Estimate, Estimate, Estimate | None]:
    """Share of pairs of scores that are equal, at most one apart, and (with a line) on the same side of the line.

    Averaged over the pairs of a unit, then over units with two scores or more, each counting the same (Gwet 2014,
    ch. 2), so a unit scored by many does not outweigh the others. se: between candidates, by linearisation. ci95:
    Wilson's for two assessors and one unit per candidate; else the bootstrap over candidates; where all resamples
    agree, Wilson's with candidates as cases.
    """
    names = ["percent_agreement", "within_one"] + ([] if scores.line is None else ["at_pass_line"])
    if (why := no_comparison(scores, tally)) is not None:
        made = [undefined(name, scores, why, tally) for name in names]
    else:
        made = _shares(names, scores, tally, bootstrap)
    return made[0], made[1], made[2] if len(made) > 2 else None


def _shares(names: list[str], scores: Scores, tally: Tally, bootstrap: Bootstrap) -> list[Estimate]:
    tables = [weight_table("none", scores.levels), within_one_table(scores.levels, declared=scores.declared)]
    if scores.line is not None:
        tables.append(same_side_table(scores.levels, scores.line))
    columns = [unit_agreement(tally.counts, table) for table in tables]
    patterns = tally.per_candidate(np.column_stack([tally.comparable, *columns])).saying()
    shares = (patterns.total()[0, 1:] / patterns.total()[0, 0]).tolist()
    errors = _errors(patterns.dense(slice(None)), patterns.times)
    single = len(scores.assessors) == 2 and tally.one_unit_each
    if single:
        # No difference between resampling and counting here, and Wilson's interval is the better of the two.
        hows = [
            Resampled(None, wilson(share * patterns.n, patterns.n), f"Wilson, {patterns.n} candidates")
            for share in shares
        ]
    else:
        hows = list(bootstrap.intervals(patterns, lambda sums: divided(sums[:, 1:], sums[:, :1]), (0.0, 1.0)))
    made = []
    for name, share, error, how in zip(names, shares, errors, hows, strict=True):
        ci95, text = how.ci95, how.interval
        if ci95 is None and patterns.n > 1 and share in (0.0, 1.0):
            ci95, text = (
                wilson(share * patterns.n, patterns.n),
                f"Wilson, as if each of {patterns.n} candidates were one case",
            )
        made.append(estimated(name, scores, tally, share, Resampled(error, ci95, text, how.warnings)))
    return made


def _errors(rows: Floats, times: Ints) -> list[float | None]:
    """Standard errors of shares of clustered units: sums by candidate of [units, agreement...]."""
    n = int(times.sum())
    if n < 2:
        return [None] * (rows.shape[1] - 1)
    units = times @ rows[:, 0]
    shares = times @ rows[:, 1:] / units
    gaps = rows[:, 1:] - shares * rows[:, :1]
    return [float(error) for error in np.sqrt(n / (n - 1) * (times @ gaps**2)) / units]


def pass_line(scores: Scores, tally: Tally, agreement: Estimate | None, bootstrap: Bootstrap) -> PassLine | None:
    """Agreement on the only question an appeal asks: the same side of the line? None without a line.

    agreement: the share of pairs on the same side, from `plain_agreement`. kappa: Conger's (with two assessors
    Cohen's) of the two sides. table: pairs of scores, first assessor (in order of names) by row; with more than two
    assessors each pair is counted both ways round.
    """
    if scores.line is None or agreement is None:
        return None
    sides = same_side_table(scores.levels, scores.line)
    kappa = conger_kappa(scores, tally, sides, bootstrap, name="kappa_at_pass_line")
    return PassLine(agreement, kappa, _table(scores, tally, scores.line))


def _table(scores: Scores, tally: Tally, line: float) -> tuple[tuple[int, int], tuple[int, int]]:
    if no_comparison(scores, tally) is not None:
        return (0, 0), (0, 0)
    if len(scores.assessors) == 2:
        both = scores.matrix[~np.isnan(scores.matrix).any(axis=1)]
        cells = np.bincount(2 * (both[:, 0] >= line) + (both[:, 1] >= line), minlength=4)
    else:
        on = tally.counts @ (np.asarray(scores.levels) >= line)
        below = tally.n_scores - on
        cells = np.array([below * (below - 1), below * on, below * on, on * (on - 1)]) @ tally.times
    (a, b, c, d) = (int(cell) for cell in cells)
    return (a, b), (c, d)
