"""Two assessors compared as measurements: how far apart they are (Bland-Altman) and how alike they rank."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from assess.agreement.bootstrap import Bootstrap, Patterns
from assess.agreement.chance import divided
from assess.agreement.results import BlandAltman, Interval
from assess.agreement.scores import Floats, Ints

__all__ = ["Ranks", "bland_altman", "rank_correlation", "spearman_of_tables", "tau_b_of_tables"]

_Z = 1.959963984540054


def bland_altman(
    a: ArrayLike, b: ArrayLike, candidate: Ints | None = None, bootstrap: Bootstrap | None = None
) -> BlandAltman:
    """Differences a - b of paired scores: their mean, and the limits 95 % of differences are expected within.

    limits_ci95 holds exact intervals (noncentral t) of both limits, limits_ci95_1986 the approximation with standard
    error sqrt(3 s^2 / n). With `candidate` (index of each pair's candidate) naming one more than once, pairs are not
    independent: then all intervals come from `bootstrap`, without it there are none. slope: of the difference on the
    mean of the two, which is not 0 where the gap grows with the level; slope_p only for independent pairs.
    Source: Bland & Altman (1986), Lancet i, 307-310; Carkeet (2015), Optom. Vis. Sci. 92, e71-e80.
    """
    x, y = np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)
    gap, mean, n = x - y, (x + y) / 2, len(x)
    if n < 2:
        return BlandAltman(None if n == 0 else float(gap[0]), None, None, None, undefined=_too_few(n), n=n)
    bias, sd = float(gap.mean()), float(gap.std(ddof=1))
    limits = (bias - _Z * sd, bias + _Z * sd)
    slope = _slope(gap, mean)
    if sd < 1e-12:
        return BlandAltman(bias, sd, limits, None, slope, n=n, interval="none: all differences are equal", slope_p=None)
    if candidate is None or len(np.unique(candidate)) == n:
        reach = (3 / n) ** 0.5 * sd
        return BlandAltman(
            bias, sd, limits, _exact(bias, sd, n), slope, n=n, interval="exact, noncentral t",
            bias_ci95=_around(bias, sd / n**0.5, n - 1),
            limits_ci95_1986=(_around(limits[0], reach, n - 1), _around(limits[1], reach, n - 1)),
            slope_p=_slope_p(gap, mean),
        )  # fmt: skip
    return _clustered(BlandAltman(bias, sd, limits, None, slope, n=n), gap, mean, candidate, bootstrap)


def _too_few(n: int) -> str:
    return "they scored nothing in common" if n == 0 else "they have one score in common"


def _around(value: float, se: float, df: int) -> Interval:
    from scipy.special import stdtrit

    reach = float(stdtrit(df, 0.975)) * se
    return value - reach, value + reach


def _exact(bias: float, sd: float, n: int) -> tuple[Interval, Interval]:
    near, far = (factor * sd for factor in _limit_factors(n))
    return (bias - far, bias - near), (bias + near, bias + far)


@cache
def _limit_factors(n: int) -> tuple[float, float]:
    """The ends of the interval of the upper limit, in standard deviations above the bias; kept, as pairs repeat n."""
    near, far = (_noncentral_t(p, n - 1, _Z * n**0.5) / n**0.5 for p in (0.025, 0.975))
    return near, far


def _noncentral_t(p: float, df: int, shift: float) -> float:
    """Quantile of the noncentral t, above 0 for the shifts and shares that occur here.

    The inverse of scipy.special has five digits only, so its answer is only where the search starts. Distribution:
    P(T <= t) = P(Z < -shift) + integral of phi(z) P(chi2 / df >= ((z + shift) / t)^2).
    """
    from scipy.optimize import brentq
    from scipy.special import gammaincc, nctdtrit, ndtr, roots_legendre

    low = max(-shift, -9.0)
    nodes, sizes = roots_legendre(200)
    z = low + (9.0 - low) * (nodes + 1) / 2
    density = sizes * (9.0 - low) / 2 * np.exp(-z * z / 2) / (2 * np.pi) ** 0.5

    def beyond(t: float) -> float:
        above = gammaincc(df / 2, df / 2 * ((z + shift) / t) ** 2)
        return float(ndtr(-shift) + density @ above - p)

    start = float(nctdtrit(df, shift, p))
    return float(brentq(beyond, start * 0.999, start * 1.001, xtol=1e-12))


def _slope(gap: Floats, mean: Floats) -> float | None:
    spread = float(((mean - mean.mean()) ** 2).sum())
    return float(((mean - mean.mean()) * gap).sum()) / spread if spread > 1e-12 else None


def _slope_p(gap: Floats, mean: Floats) -> float | None:
    """Two-sided p of the correlation of difference and mean."""
    g, m, n = gap - gap.mean(), mean - mean.mean(), len(gap)
    size = float((g @ g) * (m @ m))
    return _student_p(float(g @ m) / size**0.5, n) if n > 2 and size > 1e-18 else None


def _student_p(r: float, n: int) -> float:
    from scipy.special import stdtr

    if abs(r) >= 1 - 1e-15:
        return 0.0
    return float(2 * stdtr(n - 2, -abs(r) * ((n - 2) / (1 - r * r)) ** 0.5))


def _clustered(plain: BlandAltman, gap: Floats, mean: Floats, candidate: Ints, boot: Bootstrap | None) -> BlandAltman:
    if boot is None or plain.bias is None:
        return plain
    owner = np.unique(candidate, return_inverse=True)[1]
    g, m = gap - plain.bias, mean - mean.mean()
    columns = [np.bincount(owner, weights=part) for part in (np.ones_like(g), g, g * g, m, m * m, g * m)]
    rows = Patterns(np.column_stack(columns), np.ones(len(columns[0]), dtype=np.int64))
    bias, low, high, slope = boot.intervals(rows, _bland_altman_of_sums)

    def moved(ci: Interval | None) -> Interval | None:
        return None if ci is None or plain.bias is None else (ci[0] + plain.bias, ci[1] + plain.bias)

    lower, upper = moved(low.ci95), moved(high.ci95)
    both = None if lower is None or upper is None else (lower, upper)
    return BlandAltman(
        plain.bias, plain.sd, plain.limits, both, plain.slope, n=plain.n, interval=low.interval,
        bias_ci95=moved(bias.ci95), slope_ci95=slope.ci95,
    )  # fmt: skip


def _bland_altman_of_sums(sums: Floats) -> Floats:
    """Bias, limits and slope from sums of [n, d, d^2, m, m^2, d m], shape (b, 6) -> (b, 4)."""
    n, d, dd, m, mm, dm = sums.T
    bias = divided(d, n)
    variance = divided(np.maximum(dd - d * bias, 0.0), np.maximum(n - 1, 0.0))
    reach = _Z * np.sqrt(variance)
    spread = mm - m * divided(m, n)
    slope = divided(dm - d * divided(m, n), np.where(spread > 1e-9, spread, 0.0))
    return np.stack([bias, bias - reach, bias + reach, slope], axis=1)


def spearman_of_tables(tables: Floats) -> Floats:
    """Spearman's correlation of each table of two assessors, shape (b, k, k) -> (b,); NaN for a constant one.

    Mean ranks of equal scores. Source: Kendall & Gibbons (1990), Rank Correlation Methods, ch. 3.
    """
    row, column = tables.sum(axis=2), tables.sum(axis=1)
    n = row.sum(axis=1, keepdims=True)
    first, second = (np.cumsum(given, axis=1) - given / 2 - n / 2 for given in (row, column))
    together = (np.einsum("bij,bj->bi", tables, second) * first).sum(axis=1)
    spread = (row * first**2).sum(axis=1) * (column * second**2).sum(axis=1)
    return divided(together, np.sqrt(spread))


def tau_b_of_tables(tables: Floats) -> Floats:
    """Kendall's tau-b of each table of two assessors, shape (b, k, k) -> (b,); NaN for a constant one.

    Source: Kendall & Gibbons (1990), Rank Correlation Methods, ch. 3.
    """
    k = tables.shape[1]
    sign = np.sign(np.arange(k)[:, None] - np.arange(k)).astype(np.float64)
    turned = (tables @ sign.T).swapaxes(1, 2) @ sign.T
    twice = (tables * turned.swapaxes(1, 2)).sum(axis=(1, 2))
    n2 = tables.sum(axis=(1, 2)) ** 2
    untied = (n2 - (tables.sum(axis=2) ** 2).sum(axis=1)) * (n2 - (tables.sum(axis=1) ** 2).sum(axis=1))
    return divided(twice, np.sqrt(np.maximum(untied, 0.0)))


@dataclass(frozen=True, slots=True)
class Ranks:
    """How alike two sets of values rank, with two-sided p of no connection; None for a constant set or n < 2.

    tau_p is exact without equal values up to n = 170, else from a normal with tie correction; tau_method says which.
    """

    spearman: float | None
    spearman_p: float | None
    tau_b: float | None
    tau_p: float | None
    tau_method: str


def rank_correlation(x: ArrayLike, y: ArrayLike) -> Ranks:
    """Spearman's correlation and Kendall's tau-b of paired values of independent cases.

    Source: Kendall & Gibbons (1990), ch. 3-5; exact distribution by counting inversions, Kendall (1938).
    """
    i, j = (np.unique(np.asarray(v, dtype=np.float64), return_inverse=True)[1] for v in (x, y))
    n, k = len(i), int(max(i.max(initial=-1), j.max(initial=-1))) + 1
    if n < 2:
        return Ranks(None, None, None, None, "none")
    table = np.bincount(i * k + j, minlength=k * k).reshape(1, k, k).astype(np.float64)
    rho, tau = float(spearman_of_tables(table)[0]), float(tau_b_of_tables(table)[0])
    if not np.isfinite(rho):
        return Ranks(None, None, None, None, "none")
    p, method = _tau_p(tau, table[0])
    return Ranks(rho, _student_p(rho, n) if n > 2 else None, tau, p, method)


def _tau_p(tau: float, table: Floats) -> tuple[float | None, str]:
    row, column = table.sum(axis=1), table.sum(axis=0)
    n = float(row.sum())
    if row.max() == 1 and column.max() == 1 and n <= 170:
        pairs = n * (n - 1) / 2
        return _inversions_p(round((1 - tau) * pairs / 2), int(n)), "exact"
    if n < 3:
        return None, "none"
    (x0, x1, xt), (y0, y1, yt) = (
        ((t * (t - 1) * (t - 2)).sum(), (t * (t - 1) * (2 * t + 5)).sum(), (t * (t - 1) / 2).sum())
        for t in (row, column)
    )
    m = n * (n - 1)
    variance = (m * (2 * n + 5) - x1 - y1) / 18 + 2 * xt * yt / m + x0 * y0 / (9 * m * (n - 2))
    difference = tau * np.sqrt((m / 2 - xt) * (m / 2 - yt))
    from scipy.special import ndtr

    return float(2 * ndtr(-abs(difference) / np.sqrt(variance))), "normal, corrected for equal values"


def _inversions_p(inversions: int, n: int) -> float:
    """Two-sided p of so many inversions in a random order of n."""
    share = np.ones(1)
    for size in range(2, n + 1):
        share = np.convolve(share, np.full(size, 1 / size))
    few = min(inversions, len(share) - 1 - inversions)
    return float(min(1.0, 2 * share[: few + 1].sum()))
