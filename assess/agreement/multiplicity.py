"""Many tests at once: which flags hold when a whole family of them was looked at (Benjamini and Hochberg).

Source: Benjamini & Hochberg (1995), J. R. Stat. Soc. B 57, 289-300, the procedure (1).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from assess.agreement.scores import ScoreError

__all__ = ["Family", "Tested", "benjamini_hochberg"]


@dataclass(frozen=True, slots=True)
class Tested:
    """One test of a family: p alone, adjusted for the family, and whether it is flagged. None: the test has no p."""

    name: str
    p: float | None
    adjusted: float | None
    flagged: bool


@dataclass(frozen=True, slots=True)
class Family:
    """The tests of one family, by name; n_tests: those that have a p. rate: share of false flags put up with."""

    name: str
    tests: tuple[Tested, ...]
    n_tests: int
    n_flagged: int
    rate: float
    sentence: str


def benjamini_hochberg(family: str, p_values: Mapping[str, float | None], *, rate: float = 0.05) -> Family:
    """The tests of one family, flagged so that on average at most `rate` of the flags are false.

    p_values: by name of the test; None for a test that does not exist, which then counts for nothing. A family is
    what is looked at together, such as the severity of all assessors of a course; families are not mixed.
    Raises ScoreError for a p outside 0 to 1 or a rate not between 0 and 1.
    """
    if not 0 < rate < 1:
        raise ScoreError(f"the rate of false flags must lie between 0 and 1, both excluded, and is {rate:g}")
    for name, p in sorted(p_values.items()):
        if p is not None and not 0 <= p <= 1:
            raise ScoreError(f"the p value of {name} must lie between 0 and 1, and is {p:g}")
    known = sorted((p, name) for name, p in p_values.items() if p is not None)
    adjusted: dict[str, float] = {}
    least = 1.0
    for rank in range(len(known), 0, -1):
        p, name = known[rank - 1]
        # Never above a later one: the rule goes up from the smallest to the last that holds. Never below p itself,
        # not even by the last bit of p m / m.
        least = min(least, max(p, p * len(known) / rank))
        adjusted[name] = least
    tests = tuple(
        # The last bit of a product must not decide about a flag.
        Tested(name, p, adjusted.get(name), p is not None and adjusted[name] <= rate * (1 + 1e-12))
        for name, p in sorted(p_values.items())
    )
    flagged = sum(test.flagged for test in tests)
    return Family(family, tests, len(known), flagged, rate, _sentence(family, len(known), flagged, rate))


def _sentence(family: str, n: int, flagged: int, rate: float) -> str:
    if n == 0:
        return f"{family}: nothing was tested."
    if flagged == 0:
        return f"{family}: none of {n} differences is more than chance would bring when {n} are looked at together."
    return (
        f"{family}: {flagged} of {n} stand out when all {n} are looked at together; on average at most "
        f"{100 * rate:g} in 100 such flags are false. A reason to look, not a finding."
    )
