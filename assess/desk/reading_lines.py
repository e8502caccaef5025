"""The readings of a lesson in plain words: a label, a value and the reasons, for a screen, a page or a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.lesson.results import LessonReadings

__all__ = ["CAUTION", "ReadingLine", "reading_lines"]

CAUTION = (
    "Readings are evidence to look at, never a score. They name the words, drills or minutes they come from; "
    "a possible breach is reported by a person or not at all."
)


@dataclass(frozen=True)
class ReadingLine:
    """One line of a reading.

    reading: which of the five it belongs to. value: a number with two decimals, a word, or why there is none.
    look: something a person has to look at. why: the reasons of the reading, with its last line.
    """

    reading: str
    label: str
    value: str
    why: tuple[str, ...] = ()
    look: bool = False


def reading_lines(read: LessonReadings) -> tuple[ReadingLine, ...]:
    """All lines of a lesson's readings. Five readings stand side by side; nothing here merges them."""
    change = ReadingLine("change", "learner", read.change.verdict, read.change.why)
    lines = (*_diagnosis(read), *_drills(read), *_build_up(read), *_safety(read), change)
    return tuple(replace(line, why=tuple(why for why in line.why if why != line.value)) for line in lines)


def _number(value: float | None, void: str | None = None) -> str:
    from assess.lesson.rounding import rounded

    return f"{rounded(value, 2):.2f}" if value is not None else void or "not told"


def _diagnosis(read: LessonReadings) -> Iterator[ReadingLine]:
    said = read.diagnosis
    if said.void is not None:
        yield ReadingLine("diagnosis", "found, of what mattered", said.void, said.why[1:])
        return
    yield ReadingLine("diagnosis", "found, of what mattered", _number(said.recall))
    yield ReadingLine("diagnosis", "order of the names", _number(said.ndcg))
    guessed = said.chance_mean is not None
    yield ReadingLine("diagnosis", "named with ground", _number(said.precision), () if guessed else said.why)
    if guessed:
        yield ReadingLine("diagnosis", "how a guess would do", _number(said.chance_mean))
        yield ReadingLine("diagnosis", "how a stock answer would do", _number(said.stock_answer), said.why)


def _drills(read: LessonReadings) -> Iterator[ReadingLine]:
    said = read.drill_fit
    yield ReadingLine("drills", "drills fit what the learner needs", _number(said.value, said.void))
    yield ReadingLine("drills", "drills fit what was named", _number(said.own_value, said.void), said.why)


def _build_up(read: LessonReadings) -> Iterator[ReadingLine]:
    said = read.progression
    why = (*read.inconsistent, *read.unknown, *said.why)
    yield ReadingLine("build-up", "progression", _number(said.value, said.void), why)


def _safety(read: LessonReadings) -> Iterator[ReadingLine]:
    said = read.safety
    yield ReadingLine("safety", "safety list", _number(said.base, said.void))
    hazards = _number(said.hazard_recall, "no hazard was listed")
    look = said.possible_breaches
    yield ReadingLine("safety", "hazards named or avoided", hazards, () if look else said.why)
    if look:
        yield ReadingLine("safety", "possible breach, look", ", ".join(look), said.why, look=True)
