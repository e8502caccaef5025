"""The lines of the film's screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from assess.records.times import film_text
from assess.tui.shown import Content, joined, shown, wrapped

if TYPE_CHECKING:
    from assess.desk.film_sheet import FilmSheet, Noted

__all__ = ["film_head", "film_rows"]

TIMES, HOURS, ABOUT, NARROW_ABOUT = 13, 16, 22, 13
AN_HOUR_MS = 3_600_000
AROUND = 100
"""So many lines are drawn before and after the chosen one: more than any window has."""


def film_head(slot: FilmSheet, clock: str, state: str, from_ms: int | None, key: str, width: int) -> list[Content]:
    """The time, how the film runs, and what comes next with its key."""
    begun = f"  from {film_text(from_ms)} to ..." if from_ms is not None else ""
    style = "$good" if slot.locked else "bold $warn"
    words = slot.asked()
    for name in slot.criteria:
        words = words.replace(f"missing: {name}:", f"missing: {slot.rubric.criteria[name].label}:")
    head = shown(f"{key} " if key else "", "bold $mark")
    levels = "  ".join(f"{slot.rubric.criteria[name].label} {_level(slot, name)}" for name in slot.criteria)
    return [
        joined([shown(f" {clock} ", "bold $cursor-ink on $cursor"), shown(f"  {state}"), shown(begun, "bold $mark")]),
        joined([head, shown(words, style, cells=width - head.cell_length)]),
        shown(levels, "$soft", cells=width),
    ]


def _level(slot: FilmSheet, criterion: str) -> str:
    mark = slot.sheet.mark(criterion)
    return "-" if mark is None else str(mark.level) if mark.level is not None else "no"


def film_rows(slot: FilmSheet, at: int, width: int, hints: Sequence[str]) -> tuple[list[Content], int]:
    """What was seen and what was begun, by film time, and which of the lines is the chosen one's first.

    Of thousands those about the chosen one; before the first of all the hints.
    """
    said = [
        *(f"fault: {seen.fact.text or seen.fact.fault}" for seen in slot.sheet.named_faults),
        *([f"plan: {slot.sheet.plan.steps or slot.sheet.plan.goal}"] if slot.sheet.plan else []),
    ]
    head = [line for text in said for line in wrapped(text, width, "$soft", most=2)]
    listed = slot.listed()
    if not listed:
        return [*head, shown(""), *(line for text in hints for line in wrapped(text, width, "$soft"))], 0
    first, last = max(0, at - AROUND), min(len(listed), at + AROUND + 1)
    drawn = [*head, *([shown(f"  {first} earlier", "$soft")] if first else [])]
    chosen = len(drawn) + at - first
    times = HOURS if (listed[-1].film_ms or 0) >= AN_HOUR_MS else TIMES
    for index in range(first, last):
        drawn += _row(slot, listed[index], index == at, width, times)
    if last < len(listed):
        drawn.append(shown(f"  {len(listed) - last} later", "$soft"))
    return drawn, chosen


def _row(slot: FilmSheet, item: Noted, here: bool, width: int, times: int) -> list[Content]:
    """One observation; the chosen one with all its words."""
    at = "-" if item.film_ms is None else film_text(item.film_ms)
    until = "" if item.end_ms is None else film_text(item.end_ms)
    end = f"-{until}" if until not in ("", at) else ""
    about = " ".join(slot.rubric.criteria[name].label for name in item.criteria) or item.category
    sign = {"for": " +", "against": " -"}.get(item.direction, "")
    words = item.text + (" (imported)" if item.imported else "")
    what = ABOUT if width >= 70 else NARROW_ABOUT
    room = max(8, width - 3 - times - what)
    first, *more = wrapped(words, room, "bold", most=4) if here else [shown(words, "", cells=room)]
    parts = [
        shown("> " if here else "  ", "bold $mark"),
        shown(at + end, "bold" if here else "", cells=times, fill=True),
        shown(about + sign, "$soft", cells=what, fill=True),
        shown(" "),
        first,
    ]
    return [joined(parts), *(joined([shown(" " * (width - room)), line]) for line in more)]
