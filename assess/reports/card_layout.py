"""How much stands on a card: rows, boxes and parts by their height in millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from assess.reports.cards import CardCriterion, CardPart, CardSize

__all__ = ["FORMATS", "CardFormat", "flowed", "level_parts", "split_evenly"]

Item = TypeVar("Item")
_LETTERS_PER_LINE = {"a6": 74, "a5": 80}


@dataclass(frozen=True, slots=True)
class CardFormat:
    """One size of card, in millimetres.

    rows, boxes: the most candidates and criteria of a run on one card. room: what the parts of a card may take
    together. heads, lines: the height of a part's heading and of one of its lines.
    """

    wide: float
    high: float
    rows: int
    boxes: int
    room: float
    heads: dict[str, float]
    lines: dict[str, float]
    drills: int


FORMATS: dict[CardSize, CardFormat] = {
    "a6": CardFormat(
        105, 148.5, 6, 4, 99,
        {"times": 0, "marks": 6, "drills": 6, "safety": 8, "notes": 6},
        {"times": 10, "marks": 12, "drills": 9, "safety": 9, "notes": 9}, 3,
    ),
    "a5": CardFormat(
        148.5, 210, 9, 5, 155,
        {"times": 0, "marks": 7, "drills": 7, "safety": 8, "notes": 7},
        {"times": 12, "marks": 14, "drills": 10, "safety": 10.5, "notes": 10}, 5,
    ),
}  # fmt: skip


def split_evenly(items: Sequence[Item], most: int) -> list[tuple[Item, ...]]:
    """Cut into as few groups as `most` allows, as alike in length as can be, in order: 5 by 4 is 3 and 2."""
    count = max(1, -(-len(items) // most))
    short, longer = divmod(len(items), count)
    groups, start = [], 0
    for index in range(count):
        end = start + short + (index < longer)
        groups.append(tuple(items[start:end]))
        start = end
    return groups


def flowed(parts: Sequence[CardPart], size: CardSize) -> list[tuple[CardPart, ...]]:
    """Parts on as many cards as they need, in order; a part that fits on a card of its own is not torn.

    What is left of the last card is filled with lines for notes, where that is two or more.
    """
    form = FORMATS[size]
    cards: list[list[CardPart]] = [[]]
    left = form.room
    for part in parts:
        head, line = form.heads[part.kind], form.lines[part.kind]
        whole = head + line * _lines(part)
        if whole > left and cards[-1] and whole <= form.room:
            cards.append([])
            left = form.room
        rest: CardPart | None = part
        while rest is not None:
            fits = int((left - head) / line)
            if fits < 1:
                cards.append([])
                left = form.room
                continue
            now, rest = _cut(rest, fits)
            cards[-1].append(now)
            left -= head + line * _lines(now)
    return [tuple(card) for card in _with_notes(cards, left, form)]


def _with_notes(cards: list[list[CardPart]], left: float, form: CardFormat) -> list[list[CardPart]]:
    from assess.reports.cards import CardPart

    lines = int((left - form.heads["notes"]) / form.lines["notes"])
    if lines >= 2:
        cards[-1].append(CardPart("notes", ("",) * min(lines, 6)))
    return cards


def _lines(part: CardPart) -> int:
    return len(part.criteria) if part.kind == "marks" else max(1, len(part.rows))


def _cut(part: CardPart, fits: int) -> tuple[CardPart, CardPart | None]:
    if _lines(part) <= fits:
        return part, None
    if part.kind == "marks":
        return replace(part, criteria=part.criteria[:fits]), replace(part, criteria=part.criteria[fits:])
    return replace(part, rows=part.rows[:fits]), replace(part, rows=part.rows[fits:])


def level_parts(criteria: Sequence[CardCriterion], size: CardSize) -> list[tuple[CardCriterion, ...]]:
    """The criteria whose levels stand together on one card, by how many lines their sentences take."""
    per_line, line = _LETTERS_PER_LINE[size], 2.9 if size == "a6" else 4.0
    groups: list[list[CardCriterion]] = [[]]
    left = FORMATS[size].room
    for criterion in criteria:
        lines = 1.9 + sum(1 + len(text) // per_line for _, text in criterion.levels)
        if lines * line > left and groups[-1]:
            groups.append([])
            left = FORMATS[size].room
        groups[-1].append(criterion)
        left -= lines * line
    return [tuple(group) for group in groups]
