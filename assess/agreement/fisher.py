"""Fisher's exact test of two pass rates, and how many persons' outcomes its answer hangs on.

Sources: Fisher (1935), The Design of Experiments, ch. 2; Walsh et al. (2014), J. Clin. Epidemiol. 67, 622-628, for
the idea of counting the persons (from memory; there outcomes change in one group only).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from math import comb

import numpy as np
from scipy.special import gammaln

from assess.agreement.scores import Floats

__all__ = ["fewest_persons", "fisher_exact", "persons_to_flip_test"]

SAME = 1e-9


def fisher_exact(passed: int, n: int, other_passed: int, other_n: int) -> Fraction:
    """Two-sided chance, exact: of all tables with these margins, the share as likely as this one or less so."""
    total = passed + other_passed
    lowest, highest = max(0, total - other_n), min(n, total)
    ways = comb(n, lowest) * comb(other_n, total - lowest)
    every = []
    for k in range(lowest, highest + 1):
        every.append(ways)
        ways = ways * (n - k) * (total - k) // ((k + 1) * (other_n - total + k + 1))
    seen = every[passed - lowest]
    return Fraction(sum(one for one in every if one <= seen), comb(n + other_n, total))


def persons_to_flip_test(passed: int, n: int, other_passed: int, other_n: int, *, rate: float = 0.05) -> int | None:
    """Fewest persons, of either group, whose other outcome would take p across `rate`; None when none can.

    Time grows with the square of the answer: a second for some hundred persons in groups of thousands.
    """
    chances = _log_ways(n), _log_ways(other_n)

    def below(a: int, b: int) -> bool:
        return _chance(a, b, *chances) < rate * (1 - SAME)

    return fewest_persons(passed, n, other_passed, other_n, below)


def fewest_persons(
    passed: int, n: int, other_passed: int, other_n: int, holds: Callable[[int, int], bool]
) -> int | None:
    """Fewest changed outcomes after which `holds(passed, other passed)` is other than it is now; None for never."""
    now = holds(passed, other_passed)
    for persons in range(1, n + other_n + 1):
        if any(holds(a, b) != now for a, b in _after(passed, n, other_passed, other_n, persons)):
            return persons
    return None


def _after(passed: int, n: int, other_passed: int, other_n: int, persons: int) -> Iterator[tuple[int, int]]:
    for here in range(persons + 1):
        for a in sorted({passed + here, passed - here}):
            for b in sorted({other_passed + persons - here, other_passed - persons + here}):
                if 0 <= a <= n and 0 <= b <= other_n:
                    yield a, b


def _log_ways(n: int) -> Floats:
    k = np.arange(n + 1.0)
    return np.asarray(gammaln(n + 1.0) - gammaln(k + 1) - gammaln(n - k + 1), dtype=np.float64)


def _chance(a: int, b: int, log_ways: Floats, other_log_ways: Floats) -> float:
    """The two-sided chance in floating point, for the many tables of a search."""
    total = a + b
    k = np.arange(max(0, total - len(other_log_ways) + 1), min(len(log_ways) - 1, total) + 1)
    ways = log_ways[k] + other_log_ways[total - k]
    shares = np.exp(ways - ways.max())
    return float(shares[ways <= ways[a - k[0]] + SAME].sum() / shares.sum())
