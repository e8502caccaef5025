"""Two ordered lists that need not name the same things, the top counting most: rank-biased overlap.

Source: Webber, Moffat & Zobel (2010), A similarity measure for indefinite rankings, ACM Trans. Inf. Syst. 28(4),
article 20 (equations from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, log1p

from assess.agreement.scores import ScoreError

__all__ = ["Overlap", "rank_biased_overlap"]


@dataclass(frozen=True, slots=True)
class Overlap:
    """Rank-biased overlap of two lists, from 0 (nothing in common) to 1.

    extrapolated: if the lists went on as they are; least: if nothing more were in common further down; least +
    residual: if everything possible were. weight_of_places: share of the weight the places of the shorter list
    carry. n_first, n_second, n_shared: names in each list and in both.
    """

    extrapolated: float | None
    least: float | None
    residual: float | None
    weight_of_places: float | None
    p: float
    n_first: int
    n_second: int
    n_shared: int
    undefined: str | None = None
    sentence: str = ""


def rank_biased_overlap(first: Sequence[str], second: Sequence[str], *, p: float = 0.9) -> Overlap:
    """How alike two lists are, each from the most important down, without ties; the lengths may differ.

    p: how far down it matters; the chance that a reader of place d goes on to d + 1 (0.9: the first ten places
    carry 86 % of the weight). Raises ScoreError for a name twice in a list or p not between 0 and 1.
    """
    if not 0 < p < 1:
        raise ScoreError(f"p must lie between 0 and 1, both excluded, and is {p:g}")
    for names in (first, second):
        twice = sorted({name for name in names if list(names).count(name) > 1})
        if twice:
            raise ScoreError(f"{twice[0]} stands twice in one list")
    short, long = sorted((list(first), list(second)), key=len)
    if not short:
        why = "A list is empty: there is no order to compare."
        return Overlap(None, None, None, None, p, len(first), len(second), 0, why, why)
    shared = _shared_by_depth(short, long)
    s = len(short)
    extrapolated, least, residual = _extrapolated(shared, s, p), _least(shared, p), _residual(shared, s, p)
    weight = _weight(s, p)
    sentence = (
        f"The lists of {len(first)} and {len(second)} names share {shared[-1]}; overlap weighted to the top "
        f"{extrapolated:.2f} of 1, and between {least:.2f} and {least + residual:.2f} whatever would follow "
        f"(the places both lists have carry {100 * weight:.0f} % of the weight)."
    )
    return Overlap(extrapolated, least, residual, weight, p, len(first), len(second), shared[-1], None, sentence)


def _shared_by_depth(short: list[str], long: list[str]) -> list[int]:
    """X_d for d = 1..l: names in both lists down to depth d, the short one whole once it has ended."""
    return [len(set(short[:depth]) & set(long[:depth])) for depth in range(1, len(long) + 1)]


def _extrapolated(shared: list[int], s: int, p: float) -> float:
    """Eq. 32 (eq. 23 for equal lengths)."""
    l, x_s, x_l = len(shared), shared[s - 1], shared[-1]  # noqa: E741 - the paper's letters
    known = fsum(x / d * p**d for d, x in enumerate(shared, 1))
    assumed = fsum(x_s * (d - s) / (s * d) * p**d for d in range(s + 1, l + 1))
    return min(1.0, (1 - p) / p * (known + assumed) + ((x_l - x_s) / l + x_s / s) * p**l)


def _least(shared: list[int], p: float) -> float:
    """Eq. 11 at the depth of the longer list."""
    x_l = shared[-1]
    return (1 - p) / p * (fsum((x - x_l) / d * p**d for d, x in enumerate(shared, 1)) - x_l * log1p(-p))


def _residual(shared: list[int], s: int, p: float) -> float:
    """Eq. 30 (eq. 13 for equal lengths); f is the depth at which the best that could follow agrees wholly."""
    l, x_l = len(shared), shared[-1]  # noqa: E741 - the paper's letters
    f = l + s - x_l
    short = s * fsum(p**d / d for d in range(s + 1, f + 1)) + l * fsum(p**d / d for d in range(l + 1, f + 1))
    tail = x_l * (-log1p(-p) - fsum(p**d / d for d in range(1, f + 1)))
    return p**s + p**l - p**f - (1 - p) / p * (short + tail)


def _weight(k: int, p: float) -> float:
    """Eq. 21: share of the weight that the first k places carry."""
    return 1 - p ** (k - 1) + (1 - p) / p * k * (-log1p(-p) - fsum(p**d / d for d in range(1, k)))
