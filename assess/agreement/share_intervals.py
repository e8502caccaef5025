"""95 % intervals of a share of persons, and of the difference of two shares.

Sources: Wilson (1927), J. Am. Stat. Assoc. 22, 209-212; Newcombe (1998), Stat. Med. 17, 873-890, method 10 (both from
memory).
"""

from __future__ import annotations

from math import hypot, sqrt

from scipy.special import ndtri

from assess.agreement.results import Interval

__all__ = ["newcombe", "wilson"]


def wilson(count: float, n: int) -> Interval:
    """95 % interval of a share of n >= 1 persons after Wilson, without continuity correction.

    count: of how many it holds; a part of a person where a mean share stands for them.
    """
    z = float(ndtri(0.975))
    share = count / n
    middle = (share + z * z / (2 * n)) / (1 + z * z / n)
    reach = z / (1 + z * z / n) * sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    # At the ends of the scale one end of the interval is exactly that end.
    return (0.0 if count == 0 else middle - reach), (1.0 if count == n else middle + reach)


def newcombe(count: int, n: int, other_count: int, other_n: int) -> Interval:
    """95 % interval of count/n - other_count/other_n, two groups of different persons, from their Wilson intervals."""
    share, other = count / n, other_count / other_n
    (low, high), (other_low, other_high) = wilson(count, n), wilson(other_count, other_n)
    down = hypot(share - low, other_high - other)
    up = hypot(high - share, other - other_low)
    return max(-1.0, share - other - down), min(1.0, share - other + up)
