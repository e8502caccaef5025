"""Tail areas and quantiles of Student's t and of chi square, from their incomplete beta and gamma functions.

Formulas: Abramowitz & Stegun (1964), Handbook of Mathematical Functions: 6.5.4 and 6.5.29 (incomplete gamma, series),
26.5.8 (incomplete beta, continued fraction), 26.7.1 (Student's t), 26.4.19 (chi square).
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp, inf, lgamma, log

__all__ = ["chi_square_below", "chi_square_quantile", "t_below", "t_quantile"]

TINY = 1e-300
CLOSE = 1e-15
MOST = 10_000


def t_below(t: float, df: float) -> float:
    """Probability that Student's t with `df` degrees of freedom is below `t`. Raises ValueError unless df > 0."""
    _checked(df)
    tail = 0.5 * _incomplete_beta(df / 2, 0.5, df / (df + t * t))
    return 1 - tail if t > 0 else tail


def t_quantile(share: float, df: float) -> float:
    """The t below which `share` lies. Raises ValueError unless 0 < share < 1 and df > 0."""
    _checked(df, share)
    if share < 0.5:
        return -t_quantile(1 - share, df)
    return _solved(lambda t: t_below(t, df), share)


def chi_square_below(x: float, df: float) -> float:
    """Probability that chi square with `df` degrees of freedom is below `x`. Raises ValueError unless df > 0."""
    _checked(df)
    return _incomplete_gamma(df / 2, x / 2) if x > 0 else 0.0


def chi_square_quantile(share: float, df: float) -> float:
    """The chi square below which `share` lies. Raises ValueError unless 0 < share < 1 and df > 0."""
    _checked(df, share)
    return _solved(lambda x: chi_square_below(x, df), share)


def _checked(df: float, share: float = 0.5) -> None:
    if not 0 < df < inf:
        raise ValueError(f"`df` must be above 0, got {df}")
    if not 0 < share < 1:
        raise ValueError(f"`share` must be between 0 and 1, got {share}")


def _solved(below: Callable[[float], float], share: float) -> float:
    """Where the rising function `below`, 0 and up, reaches `share`: by halving, to the last bits of a float."""
    high = 1.0
    while below(high) < share and high < 1e300:
        high *= 2
    low = 0.0
    for _ in range(200):
        middle = (low + high) / 2
        if below(middle) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _incomplete_gamma(a: float, x: float) -> float:
    term = total = 1 / a
    for n in range(1, MOST):
        term *= x / (a + n)
        total += term
        if term < total * CLOSE:
            break
    return min(1.0, total * exp(a * log(x) - x - lgamma(a)))


def _incomplete_beta(a: float, b: float, x: float) -> float:
    if x <= 0 or x >= 1:
        return 0.0 if x <= 0 else 1.0
    # The fraction converges fast below this point; above it the mirrored one does.
    if x > (a + 1) / (a + b + 2):
        return 1 - _incomplete_beta(b, a, 1 - x)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log(1 - x)) / a
    return front / _fraction(a, b, x)


def _fraction(a: float, b: float, x: float) -> float:
    """1 + d1/(1 + d2/(1 + ...)), evaluated forwards as a product of ratios of successive convergents (Lentz 1976)."""
    c, d = 1.0, 0.0
    value = 1.0
    for n in range(1, MOST):
        m = n // 2
        if n % 2:
            step = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            step = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1 / (1 + step * d or TINY)
        c = 1 + step / c or TINY
        value *= c * d
        if abs(c * d - 1) < CLOSE:
            break
    return value
