"""When things happen: days, clock times, minutes into a slot, and the uneven seconds of people."""

from __future__ import annotations

import hashlib
from datetime import date

from assess.records.times import local_instant, milliseconds
from making.source import told

__all__ = ["SECOND", "at_clock", "minutes", "slot_start", "uneven"]

SECOND = 1000
SEED = "K-2026-01"


def at_clock(day: int, clock: str) -> int:
    """Milliseconds after 1970 of `HH:MM` or `HH:MM:SS` on a day of the course."""
    course = told("course-plan")
    dates = (*course["days"], *course["reserve_days"])
    return milliseconds(local_instant(date.fromisoformat(dates[day - 1]), clock, course["utc_offset"]))


def minutes(text: str) -> int:
    """Milliseconds of `m:ss`."""
    whole, seconds = text.split(":")
    return (int(whole) * 60 + int(seconds)) * SECOND


def slot_start(task: str, candidate: str) -> int:
    """When a slot is planned, in milliseconds after 1970."""
    course = told("course-plan")
    day = next(item["day"] for item in course["tasks"] if item["id"] == task)
    slot = next(item for item in course["allocation"] if (item["task"], item["candidate"]) == (task, candidate))
    return at_clock(day, slot["at"])


def uneven(low_s: float, high_s: float, *of: object) -> int:
    """A duration between two numbers of seconds, in milliseconds; the same for the same `of`, whatever the machine."""
    digest = hashlib.sha256("|".join((SEED, *map(str, of))).encode()).digest()
    share = int.from_bytes(digest[:4], "big") / 2**32
    return int((low_s + (high_s - low_s) * share) * SECOND)
