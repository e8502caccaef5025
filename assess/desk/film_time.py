"""How the time of a filmed lesson was used, from its marks, and how alike two observers marked practice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.lesson.results.trainee import ObserverAgreement, TimeShare
    from assess.marking.results import Sheet

__all__ = ["TimeUse", "agreed_practice", "time_use"]

Stretch = tuple[int, int, str]


@dataclass(frozen=True)
class TimeUse:
    """From the first mark to the last: so many ms, and the share of each use; they sum to 1. None: nothing marked."""

    total_ms: int
    shares: tuple[TimeShare, ...]


def time_use(sheet: Sheet) -> TimeUse | None:
    """The shares by one observer's marks; None when no use of time begins and stops."""
    from assess.lesson.time_use import from_marks

    found = _stretches(sheet)
    if not found:
        return None
    start = min(begin for begin, _, _ in found)
    total = max(end for _, end, _ in found) - start
    return TimeUse(total, from_marks([(a - start, b - start, use) for a, b, use in found], total))


def agreed_practice(one: Sheet, two: Sheet) -> ObserverAgreement | None:
    """How alike two sheets mark practice, second by second, over all either marked; None when one marked nothing."""
    from assess.lesson.time_use import observer_agreement, seconds_of

    first, second = _stretches(one), _stretches(two)
    if not first or not second:
        return None
    start = min(begin for begin, _, _ in (*first, *second))
    total = max(end for _, end, _ in (*first, *second)) - start
    mine, theirs = (seconds_of([(a - start, b - start, use) for a, b, use in each], total) for each in (first, second))
    return observer_agreement(mine, theirs, "practise")


def _stretches(sheet: Sheet) -> list[Stretch]:
    """Each use from where it begins to where it stops; one that never stops is left out, as its end is not known."""
    running: dict[str, int] = {}
    found: list[Stretch] = []
    for item in sheet.intervals:
        use, at = item.fact.use, item.fact.minute_ms
        if at is None:
            continue
        if item.fact.on:
            running.setdefault(use, at)
        elif use in running:
            found.append((running.pop(use), at, use))
    return [stretch for stretch in found if stretch[1] > stretch[0]]
