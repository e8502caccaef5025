"""How a lesson's time was used, from marks or from looks at set moments, and how alike two observers saw it.

Momentary sampling is right on average; counting whole or part intervals is not (Powell et al. 1977, from memory;
Murphy & Goodall 1980). Wilson (1927) for the interval of a share. Kappa: Cohen (1960), Educ Psychol Meas 20, 37-46.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from math import sqrt

from assess.lesson.results.trainee import ObserverAgreement, PerMinute, TimeShare

__all__ = ["from_looks", "from_marks", "observer_agreement", "per_minute", "seconds_of", "wilson"]

USES = ("practise", "talk", "wait", "move", "lift")
Stretch = tuple[int, int, str]
"""From, to (ms) and what the time was used for."""


def from_marks(stretches: Sequence[Stretch], total_ms: int) -> tuple[TimeShare, ...]:
    """The share of each use of a lesson of so many ms, and of what nobody marked, in a fixed order; they sum to 1."""
    spent = Counter[str]()
    for start, end, use in stretches:
        spent[use] += max(0, end - start)
    rest = max(0, total_ms - sum(spent.values()))
    whole = total_ms if rest else sum(spent.values())
    if whole <= 0:
        return ()
    shares = [TimeShare(use, spent[use] / whole, None, "marks") for use in USES]
    return (*shares, TimeShare("not marked", rest / whole, None, "marks"))


def from_looks(looks: Sequence[str]) -> tuple[TimeShare, ...]:
    """The share of each use from what was seen at the end of each interval, with Wilson's interval.

    Looks follow each other closely, so the interval is shorter than it should be; whoever shows it says so.
    """
    n = len(looks)
    counts = Counter(looks)
    return tuple(TimeShare(use, counts[use] / n, wilson(counts[use], n), f"{n} looks") for use in USES if n)


def wilson(hits: int, n: int) -> tuple[float, float]:
    """Wilson's 95 % interval of a share. Raises ZeroDivisionError without a look."""
    z = 1.959963984540054
    share, edge = hits / n, 1 + z * z / n
    middle = (share + z * z / (2 * n)) / edge
    half = z * sqrt(share * (1 - share) / n + z * z / (4 * n * n)) / edge
    return max(0.0, middle - half), min(1.0, middle + half)


def per_minute(counts: Mapping[str, int], total_ms: int) -> tuple[PerMinute, ...]:
    """How often a minute each kind of thing happened; nothing for a lesson without length."""
    if total_ms <= 0:
        return ()
    return tuple(PerMinute(name, count, count / (total_ms / 60_000)) for name, count in sorted(counts.items()))


def seconds_of(stretches: Sequence[Stretch], total_ms: int) -> list[str]:
    """What each whole second was used for, by what stands at its middle; "" for what nobody marked."""
    seconds = [""] * (total_ms // 1000)
    for start, end, use in stretches:
        first = max(0, -(-(start - 500) // 1000))
        for second in range(first, min(len(seconds), -(-(end - 500) // 1000))):
            seconds[second] = use
    return seconds


def observer_agreement(one: Sequence[str], two: Sequence[str], use: str) -> ObserverAgreement:
    """How alike two observers marked one use, second by second: the table, the share of equal seconds, kappa.

    Also of the seconds either marked, and of those either left: a rare use makes kappa low and the share high.
    Raises ValueError when the two did not look at the same length of film.
    """
    if len(one) != len(two):
        raise ValueError(f"the two looked at {len(one)} and {len(two)} seconds")
    table = Counter((a == use, b == use) for a, b in zip(one, two, strict=True))
    both, first, second, none = (table[True, True], table[True, False], table[False, True], table[False, False])
    return kappa_of(both, first, second, none)


def kappa_of(both: int, first: int, second: int, none: int) -> ObserverAgreement:
    """From the four counts: marked by both, by the first alone, by the second alone, by none."""
    n = both + first + second + none
    if n == 0:
        return ObserverAgreement(0, (0, 0, 0, 0), None, None, None, None)
    equal = (both + none) / n
    chance = ((both + first) * (both + second) + (none + second) * (none + first)) / (n * n)
    return ObserverAgreement(
        n,
        (both, first, second, none),
        equal,
        None if chance == 1 else (equal - chance) / (1 - chance),
        both / (both + first + second) if both + first + second else None,
        none / (none + first + second) if none + first + second else None,
    )
