"""Looks at set moments of a film, and things counted in it: kept as observations with a tag, told with their sources.

Momentary sampling (a look at the end of each interval) is right on average; its interval is too narrow, because looks
follow each other closely (Powell et al. 1977; Murphy & Goodall 1980; both as cited by later work).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from assess.records.errors import Refusal, UsageError
from assess.records.times import film_text

if TYPE_CHECKING:
    from assess.desk.film_sheet import FilmSheet
    from assess.lesson.results.trainee import PerMinute, TimeShare
    from assess.marking.results import Sheet
    from assess.records.ledger import Entry

__all__ = ["COUNTED", "Looks", "add_count", "add_look", "add_looks", "counted", "is_look", "looked_at", "looks_of"]

LOOK, COUNT = "look:", "count:"
LETTERS = {"p": "practise", "t": "talk", "w": "wait", "m": "move", "l": "lift"}
COUNTED = {
    "question-open": ("questions, open", "asks what the learner felt, saw or would do; many answers are right"),
    "question-closed": ("questions, closed", "yes, no, or one right answer"),
    "feedback-general": ("feedback, general", "says that it was good or not, and not what"),
    "feedback-confirming": ("feedback, confirming", "names what was done right"),
    "feedback-correcting": ("feedback, correcting", "names what is to be done otherwise"),
    "sweep": ("looks over the whole group", "the eyes go over every learner; van der Mars 1989"),
}
"""What may be counted: its words, and when it counts. Questions: after Rowe 1974, who also asks for a wait of 3 s."""


@dataclass(frozen=True)
class Looks:
    """Looks at one film: how many, the usual ms between two, and the shares with their (optimistic) intervals."""

    n: int
    every_ms: int
    shares: tuple[TimeShare, ...]


def add_look(sheet: FilmSheet, use: str, at_ms: int) -> Entry:
    """At this instant the time was used so. Raises Refusal for a second look at one instant."""
    if use not in LETTERS.values():
        raise Refusal(f"{use} is no use of time", todo=f"use one of {', '.join(LETTERS.values())}")
    if at_ms in {at for at, _ in _looks(sheet.sheet)}:
        raise Refusal(f"there is a look at {film_text(at_ms)} already", todo="undo that one, or go on to the next")
    told = _look(use, at_ms)
    return sheet.note(told.pop("text"), told.pop("criteria"), **told)


def _look(use: str, at_ms: int) -> dict[str, Any]:
    return {
        "text": f"look: {use}", "criteria": (), "tags": (LOOK + use,), "category": "fact", "film_ms": at_ms,
    }  # fmt: skip


def add_looks(sheet: FilmSheet, seen: str, every_ms: int) -> int:
    """Looks from letters (p t w m l; `-` where nothing could be seen), each at the end of its interval; how many.

    Nothing is written when one of them cannot be. Raises UsageError for wrong letters, Refusal for a second look.
    """
    letters = [letter for letter in seen.casefold() if not letter.isspace()]
    if every_ms <= 0:
        raise UsageError("there is some time between two looks", todo="say --looks 10 for every ten seconds")
    wrong = sorted({letter for letter in letters if letter not in (*LETTERS, "-")})
    if wrong or not letters:
        told = ", ".join(f"{letter} {use}" for letter, use in LETTERS.items())
        what = f"`{wrong[0]}` is no look" if wrong else "what was seen at each look?"
        raise UsageError(what, todo=f"say --seen with one letter a look: {told}, - not seen")
    found = [(place * every_ms, LETTERS[each]) for place, each in enumerate(letters, 1) if each in LETTERS]
    there = {at for at, _ in _looks(sheet.sheet)}
    for at, _ in found:
        if at in there:
            raise Refusal(f"there is a look at {film_text(at)} already", todo="nothing was written")
    return sheet.note_all(_look(use, at) for at, use in found)


def add_count(sheet: FilmSheet, what: str, at_ms: int) -> Entry:
    """One more of what is counted, at this instant. Raises Refusal for something that is not counted."""
    if what not in COUNTED:
        raise Refusal(f"{what} is not counted", todo=f"use one of {', '.join(COUNTED)}")
    return sheet.note(COUNTED[what][0], (), tags=(COUNT + what,), category="fact", film_ms=at_ms)


def looks_of(sheet: Sheet) -> Looks | None:
    """The shares by one's looks; None without any."""
    from assess.lesson.time_use import from_looks

    found = sorted(_looks(sheet))
    if not found:
        return None
    gaps = sorted(after - before for (before, _), (after, _) in pairwise(found))
    every = gaps[len(gaps) // 2] if gaps else 0
    return Looks(len(found), every, from_looks([use for _, use in found]))


def counted(sheet: Sheet, total_ms: int) -> tuple[PerMinute, ...]:
    """What was counted, and how often a minute of the lesson; no rate where nobody marked its length."""
    from collections import Counter

    from assess.lesson.results.trainee import PerMinute
    from assess.lesson.time_use import per_minute

    counts = Counter(name for _, name in _tagged(sheet, COUNT) if name in COUNTED)
    if total_ms <= 0:
        return tuple(PerMinute(name, count, None) for name, count in sorted(counts.items()))
    return per_minute(counts, total_ms)


def looked_at(sheet: Sheet) -> tuple[int, ...]:
    """Where in the film one has looked at the use of time, in ms."""
    return tuple(sorted(at for at, _ in _looks(sheet)))


def is_look(tags: tuple[str, ...]) -> bool:
    """True for the tags of a look."""
    return any(tag.startswith(LOOK) for tag in tags)


def _looks(sheet: Sheet) -> list[tuple[int, str]]:
    return [(at, use) for at, use in _tagged(sheet, LOOK) if use in LETTERS.values()]


def _tagged(sheet: Sheet, head: str) -> list[tuple[int, str]]:
    return [
        (seen.fact.film_ms, tag.removeprefix(head))
        for seen in sheet.observations
        for tag in seen.fact.tags
        if tag.startswith(head) and seen.fact.film_ms is not None
    ]
