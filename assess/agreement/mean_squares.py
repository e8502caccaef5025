"""Mean squares of complete tables, units by assessors, from sums over units; intraclass correlations from them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assess.agreement.scores import Floats

__all__ = ["FORMS", "TwoWay", "correlations", "exact_intervals", "two_way", "unit_sums"]

FORMS = ("ICC(1)", "ICC(A,1)", "ICC(C,1)", "ICC(k)", "ICC(A,k)", "ICC(C,k)")
"""The six estimators behind McGraw and Wong's ten forms, in the order used everywhere."""


@dataclass(frozen=True, eq=False)
class TwoWay:
    """Mean squares of units (rows), assessors (columns), what is left (error), and within units, each of shape (b,).

    n: units, shape (b,); k: assessors.
    """

    rows: Floats
    columns: Floats
    error: Floats
    within: Floats
    n: Floats
    k: int


def unit_sums(table: Floats, group: Floats | None = None, groups: int = 0) -> Floats:
    """What mean squares are made of, added up: one row for the table (n, k), or one for each of the groups.

    Columns: units, squared unit means, squared scores, then the sum of every assessor; scores should be centred.
    """
    parts = np.column_stack([np.ones(len(table)), table.mean(axis=1) ** 2, (table**2).sum(axis=1), table])
    if group is None:
        return np.asarray(parts.sum(axis=0)[None, :])
    which = np.asarray(group, dtype=np.int64)
    return np.column_stack([np.bincount(which, weights=column, minlength=groups) for column in parts.T])


def two_way(sums: Floats) -> TwoWay:
    """Mean squares from rows of `unit_sums`, shape (b, 3 + k); NaN for less than two units."""
    n, squared_means, squares, columns = sums[:, 0], sums[:, 1], sums[:, 2], sums[:, 3:]
    k = columns.shape[1]
    enough = n >= 2
    n_safe = np.where(enough, n, 2.0)
    mean = columns.sum(axis=1) / (n_safe * k)
    rows = k * squared_means - n_safe * k * mean**2
    between = (columns**2).sum(axis=1) / n_safe - n_safe * k * mean**2
    within = squares - k * squared_means
    floor = 1e-13 * np.maximum(squares, 1e-300)
    rows, between, error, within = (
        np.where(part > floor, part, 0.0) for part in (rows, between, within - between, within)
    )
    rows, between = rows / (n_safe - 1), between / (k - 1)
    error, within = error / ((n_safe - 1) * (k - 1)), within / (n_safe * (k - 1))
    rows, between, error, within = (np.where(enough, part, np.nan) for part in (rows, between, error, within))
    return TwoWay(rows, between, error, within, n_safe, k)


def _ratio(above: Floats, below: Floats) -> Floats:
    """A quotient, NaN where there is nothing positive to divide by."""
    fine = below > 0
    return np.asarray(np.where(fine, above, np.nan) / np.where(fine, below, 1.0))


def correlations(ms: TwoWay) -> Floats:
    """The six estimators in the order of FORMS, shape (b, 6); negative values as they are, NaN where one is not.

    Source: McGraw & Wong (1996), Psychological Methods 1, 30-46, table 4; Shrout & Fleiss (1979).
    """
    k, n = ms.k, ms.n
    severity = (ms.columns - ms.error) / n
    return np.column_stack([
        _ratio(ms.rows - ms.within, ms.rows + (k - 1) * ms.within),
        _ratio(ms.rows - ms.error, ms.rows + (k - 1) * ms.error + k * severity),
        _ratio(ms.rows - ms.error, ms.rows + (k - 1) * ms.error),
        _ratio(ms.rows - ms.within, ms.rows),
        _ratio(ms.rows - ms.error, ms.rows + severity),
        _ratio(ms.rows - ms.error, ms.rows),
    ])  # fmt: skip


def exact_intervals(ms: TwoWay) -> tuple[tuple[float, float] | None, ...]:
    """95 % intervals of one table in the order of FORMS; None where the error is zero or the estimate is not.

    Exact F for the one-way and consistency forms, Satterthwaite's degrees of freedom for absolute agreement.
    Source: McGraw & Wong (1996), table 7; those of a mean of k by the Spearman-Brown formula, which is the same.
    """
    n, k = float(ms.n[0]), ms.k
    rows, error, within = float(ms.rows[0]), float(ms.error[0]), float(ms.within[0])
    one_way = _f_limits(rows, within, n - 1, n * (k - 1), k)
    consistent = _f_limits(rows, error, n - 1, (n - 1) * (k - 1), k)
    agreed = _satterthwaite(ms)
    return (one_way, agreed, consistent, _of_mean(one_way, k), _of_mean(agreed, k), _of_mean(consistent, k))


def _f_limits(signal: float, noise: float, df1: float, df2: float, k: int) -> tuple[float, float] | None:
    from scipy.special import fdtri

    if noise <= 0 or signal <= 0:
        return None
    low = signal / noise / float(fdtri(df1, df2, 0.975))
    high = signal / noise * float(fdtri(df2, df1, 0.975))
    return (low - 1) / (low + k - 1), (high - 1) / (high + k - 1)


def _satterthwaite(ms: TwoWay) -> tuple[float, float] | None:
    from scipy.special import fdtri

    n, k = float(ms.n[0]), ms.k
    rows, columns, error = float(ms.rows[0]), float(ms.columns[0]), float(ms.error[0])
    rho = float(correlations(ms)[0, 1])
    if not rho < 1 or rows <= 0 or (error <= 0 and columns <= 0):
        return None
    a = k * rho / (n * (1 - rho))
    b = 1 + k * rho * (n - 1) / (n * (1 - rho))
    spread = (a * columns) ** 2 / (k - 1) + (b * error) ** 2 / ((n - 1) * (k - 1))
    if spread <= 0:
        return None
    v = (a * columns + b * error) ** 2 / spread
    if v <= 0:
        return None
    up, down = float(fdtri(n - 1, v, 0.975)), float(fdtri(v, n - 1, 0.975))
    rest = k * columns + (k * n - k - n) * error
    low = n * (rows - up * error) / (up * rest + n * rows)
    high = n * (down * rows - error) / (rest + n * down * rows)
    return (low, high) if np.isfinite(low) and np.isfinite(high) else None


def _of_mean(limits: tuple[float, float] | None, k: int) -> tuple[float, float] | None:
    if limits is None or any(1 + (k - 1) * limit <= 0 for limit in limits):
        return None
    return k * limits[0] / (1 + (k - 1) * limits[0]), k * limits[1] / (1 + (k - 1) * limits[1])
