"""The severities of a course as lines of text: a dot with its interval for each assessor, on a scale of their own."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.agreement.results.raters import Effect, RaterCourse

__all__ = ["severity_picture"]

STEP = 0.25
MOST = 10
"""So many characters of an id are shown."""
LEAST = 21


def severity_picture(course: RaterCourse, width: int) -> list[str]:
    """Lines of at most `width` characters (32 at least), plain ASCII: harder left, milder right, | the group.

    In levels. Only assessors stand on this scale. Empty when nobody's severity is known.
    """
    known = [one for rater in course.raters if (one := rater.effect("severity")).estimate is not None]
    if not known:
        return []
    label = min(MOST, max(len(one.assessor) for one in known)) + 1
    cells = max(LEAST, min(61, width - label))
    cells -= 1 - cells % 2
    end = _end(known)
    rows = [f"{one.assessor[:MOST]:<{label}}{_row(one, cells, end)}" for one in known]
    group = "group" if course.n_assessors > 2 else "the two"
    head = f"{'':{label}}{_spread(('harder', group, 'milder'), cells)}"
    foot = f"{'':{label}}{_spread((f'-{end:g}', '0', f'+{end:g}'), cells)}"
    return [line.rstrip() for line in (head, *rows, foot)]


def _end(known: Sequence[Effect]) -> float:
    """The end of the scale on both sides: the furthest number, rounded up to a quarter."""
    numbers: list[float] = [number for one in known for number in (one.estimate or 0.0, *(one.ci95 or ()))]
    return max(STEP, STEP * ceil(max(abs(number) for number in numbers) / STEP - 1e-9))


def _row(effect: Effect, cells: int, end: float) -> str:
    def at(value: float) -> int:
        return round((value + end) / (2 * end) * (cells - 1))

    row = [" "] * cells
    if effect.ci95 is not None:
        for cell in range(at(effect.ci95[0]), at(effect.ci95[1]) + 1):
            row[cell] = "-"
    row[at(0.0)] = "|"
    row[at(effect.estimate or 0.0)] = "o"
    return "".join(row)


def _spread(words: tuple[str, str, str], cells: int) -> str:
    """Three words at the left end, the middle and the right end."""
    left, middle, right = words
    before = max(len(left) + 1, (cells - len(middle) + 1) // 2)
    line = f"{left:<{before}}{middle}"
    return f"{line:<{max(len(line) + 1, cells - len(right))}}{right}"
