"""Two orders of the same things, a disagreement at the top counting most: the weighted tau of Vigna.

Source: Vigna (2015), A weighted correlation index for rankings with ties, Proc. WWW, 1166-1176 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import permutations as all_orders
from math import factorial, sqrt
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from assess.agreement.given import columns_given
from assess.agreement.scores import Floats, Ints

__all__ = ["WeightedTau", "weighted_tau"]

Weighing = Literal["sum", "product"]
ALL_ORDERS_TO = 6
SAME = 1e-12


@dataclass(frozen=True, slots=True)
class WeightedTau:
    """Weighted tau of n things, from -1 to 1. p: chance of one as far from 0 in blind orders; p_from: which orders."""

    tau: float | None
    p: float | None
    p_from: str
    n: int
    undefined: str | None = None
    sentence: str = ""


def weighted_tau(
    first: ArrayLike, second: ArrayLike, *, weighing: Weighing = "sum", permutations: int = 999, seed: int = 0
) -> WeightedTau:
    """How alike two orders are, from a value each per thing, the larger the more important; ties are allowed.

    A pair of things in places r and q weighs 1/r + 1/q ("sum") or 1/(r q) ("product"); the places are those by
    the first values, ties by the second, then the other way round, and the two taus are averaged. A thing with a
    missing value (NaN) is left out. p: from all orders of up to 6 things, else from so many drawn with `seed`;
    0 draws none. Time and memory go with n squared.
    """
    x, y = columns_given(first, second)
    n = len(x)
    if n < 2 or x[0] == x[-1] or y.min() == y.max():
        why = f"{n} things are no order." if n < 2 else "One of the two gives everything the same value."
        return WeightedTau(None, None, "", n, why, why)
    tau = _tau(x, y, weighing)
    p, p_from = _chance(x, y, tau, weighing, permutations, seed)
    sentence = f"Weighted to the top, the two orders of {n} agree by {tau:.2f} (1: the same, -1: turned round)"
    if p is not None:
        sentence += f"; blind orders are as far from 0 in {100 * p:.1f} of 100 cases"
    return WeightedTau(tau, p, p_from, n, None, sentence + ".")


def _tau(x: Floats, y: Floats, weighing: Weighing) -> float:
    x_signs, y_signs = np.sign(x[:, None] - x), np.sign(y[:, None] - y)
    both = [_one_way(x_signs, y_signs, _places(*order), weighing) for order in ((x, y), (y, x))]
    return min(1.0, max(-1.0, (both[0] + both[1]) / 2))


def _places(by: Floats, then: Floats) -> Ints:
    """Place of each thing from 1, the largest first, equal ones by the other values."""
    places = np.empty(len(by), dtype=np.int64)
    places[np.lexsort((-then, -by))] = np.arange(1, len(by) + 1)
    return places


def _one_way(x_signs: Floats, y_signs: Floats, places: Ints, weighing: Weighing) -> float:
    weight = 1 / places
    pairs = weight[:, None] + weight if weighing == "sum" else weight[:, None] * weight
    signed = float((x_signs * y_signs * pairs).sum())
    return signed / sqrt(float((x_signs**2 * pairs).sum()) * float((y_signs**2 * pairs).sum()))


def _chance(
    x: Floats, y: Floats, tau: float, weighing: Weighing, permutations: int, seed: int
) -> tuple[float | None, str]:
    if permutations < 1:
        return None, ""
    n = len(x)
    if n <= ALL_ORDERS_TO:
        far = _as_far(x, (y[list(order)] for order in all_orders(range(n))), tau, weighing)
        return far / factorial(n), f"all {factorial(n)} orders"
    rng = np.random.default_rng(seed)
    far = _as_far(x, (rng.permutation(y) for _ in range(permutations)), tau, weighing)
    return (far + 1) / (permutations + 1), f"{permutations} orders drawn with seed {seed}"


def _as_far(x: Floats, orders: Iterable[Floats], tau: float, weighing: Weighing) -> int:
    return sum(abs(_tau(x, order, weighing)) >= abs(tau) - SAME for order in orders)
