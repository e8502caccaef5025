"""How the invented markers mark: what there is to see, their habits, and an error; and the order in which they do."""

from __future__ import annotations

from functools import cache
from math import floor
from typing import Any

from making.round_source import CRITERIA, chance, deviate, texts

__all__ = ["LEVELS", "levels", "markers", "order"]

LEVELS = (1, 6)
FIRST = 6


def markers() -> dict[str, Any]:
    """Every marker with their habits, as the source has them."""
    return dict(texts("habits")["markers"])


@cache
def _lessons() -> tuple[str, ...]:
    return tuple(item["id"] for item in texts("lessons")["lessons"])


@cache
def order(who: str) -> tuple[str, ...]:
    """The lessons in the order of one marker: those marked twice early, and again between later ones."""
    repeats = tuple(texts("round")["repeats"]) if who.startswith("A") else ()
    mixed = sorted(_lessons(), key=lambda lesson: chance("order", who, lesson))
    others = [lesson for lesson in mixed if lesson not in repeats]
    early = sorted([*repeats, *others[: FIRST - len(repeats)]], key=lambda lesson: chance("early", who, lesson))
    late = [lesson for lesson in mixed if lesson not in early]
    again = [f"{lesson}-2" for lesson in early if lesson in repeats]
    placed = [*early, *late[:3]]
    for number, lesson in enumerate(late[3:]):
        placed += [*again[number : number + 1], lesson]
    return (*placed, *again[len(late) - 3 :])


@cache
def levels(who: str, slot: str) -> tuple[int, ...]:
    """The levels one marker gives a lesson, criterion by criterion."""
    habits, error = markers()[who], texts("habits")
    place = order(who).index(slot) - (len(order(who)) - 1) / 2
    lesson = next(item for item in texts("lessons")["lessons"] if item["id"] == slot.removesuffix("-2"))
    shared = error["error"] * error["shared"] ** 0.5 * deviate("sheet", who, slot)
    own = error["error"] * (1 - error["shared"]) ** 0.5
    moved = habits.get("severity", 0.0) + habits.get("drift", 0.0) * place + shared
    seen = [lesson["seen"][key] + moved + own * deviate("score", who, slot, key) for key in CRITERIA]
    if habits.get("flat"):
        seen = [sum(seen) / len(seen)] * len(seen)
    low, high = LEVELS
    return tuple(min(high, max(low, floor(value + 0.5))) for value in seen)
