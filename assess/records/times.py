"""Times: UTC with `Z` and milliseconds; durations are integer milliseconds."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from typing import Annotated
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator, Field, StringConstraints

from assess.records.errors import Refusal

__all__ = [
    "EPOCH", "CalendarDay", "CourseDay", "Instant", "Wall", "ZoneName", "clock_text", "day_told", "film_ms",
    "film_text", "instant", "local_date", "local_instant", "milliseconds", "offset_minutes", "wall_minutes",
    "wall_text",
]  # fmt: skip

INSTANT = r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}\.\d{3}Z$"
Instant = Annotated[str, StringConstraints(pattern=INSTANT)]
CourseDay = Annotated[int, Field(ge=1, le=60)]
"""A day of a course by its number: 1 is the first."""
Wall = Annotated[str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]
"""A wall time at the course's place: `09:45`."""
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def _of_the_calendar(text: str) -> str:
    """The text itself. Raises ValueError for a day no calendar has."""
    try:
        date.fromisoformat(text if text.isascii() else "")
    except ValueError:
        raise ValueError(f"the calendar has no day `{text}`") from None
    return text


CalendarDay = Annotated[
    str,
    StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$"),
    AfterValidator(_of_the_calendar),
    Field(json_schema_extra={"format": "date"}),
]


_DAY_FIRST = re.compile(r"(\d{1,2})\. ?(\d{1,2})\. ?(\d{4})", re.ASCII)


def day_told(text: str) -> date:
    """The day somebody typed: `2027-02-01`, or `1.2.2027`. Raises Refusal for anything else."""
    said = text.strip()
    german = _DAY_FIRST.fullmatch(said)
    try:
        if german:
            return date(int(german[3]), int(german[2]), int(german[1]))
        return date.fromisoformat(said if re.fullmatch(r"\d{4}-\d{2}-\d{2}", said, re.ASCII) else "")
    except ValueError:
        raise Refusal(f"`{said[:20]}` is no day", todo="write it like 2027-02-01 or 1.2.2027") from None


def _a_zone(name: str) -> str:
    """The name itself. Raises ValueError for a zone nobody knows."""
    try:
        if name:
            ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ValueError(f"no time zone is called `{name}`: write one like `Europe/Zurich`") from None
    return name


ZoneName = Annotated[str, StringConstraints(max_length=64), AfterValidator(_a_zone)]
"""The IANA name of a time zone, or nothing."""
_OFFSET = re.compile(r"^([+-])(\d{2}):(\d{2})$")


def instant(ms: int) -> str:
    """The instant `ms` milliseconds after 1970 as written in a record: `2027-02-03T08:58:11.000Z`."""
    moment = EPOCH + timedelta(milliseconds=ms)
    return moment.strftime("%Y-%m-%dT%H:%M:%S.") + f"{moment.microsecond // 1000:03d}Z"


def milliseconds(text: str) -> int:
    """Milliseconds after 1970 of a written instant. Raises ValueError if it is not one."""
    if not re.fullmatch(INSTANT, text):
        raise ValueError(f"not an instant: {text!r}")
    moment = datetime.fromisoformat(text[:-1]).replace(tzinfo=UTC)
    return (moment - EPOCH) // timedelta(milliseconds=1)


def offset_minutes(text: str) -> int:
    """Minutes east of UTC of `+01:00`. Raises ValueError if it is not an offset."""
    match = _OFFSET.match(text)
    if not match:
        raise ValueError(f"not an offset from UTC: {text!r}")
    return (1 if match[1] == "+" else -1) * (int(match[2]) * 60 + int(match[3]))


def local_instant(day: date, clock: str, offset: str = "+00:00", zone_name: str = "") -> str:
    """The instant of a wall time `HH:MM` or `HH:MM:SS` on a day at a place `offset` from UTC, or of a named zone."""
    zone: tzinfo = ZoneInfo(zone_name) if zone_name else timezone(timedelta(minutes=offset_minutes(offset)))
    moment = datetime.combine(day, time.fromisoformat(clock), tzinfo=zone)
    return instant((moment - EPOCH) // timedelta(milliseconds=1))


def clock_text(at: str, offset: str = "+00:00", *, seconds: bool = True) -> str:
    """The wall time of an instant at a place: `10:02:19`."""
    moment = EPOCH + timedelta(milliseconds=milliseconds(at), minutes=offset_minutes(offset))
    return moment.strftime("%H:%M:%S" if seconds else "%H:%M")


def local_date(at: str, offset: str = "+00:00") -> str:
    """The date of an instant at a place: `2027-02-03`."""
    moment = EPOCH + timedelta(milliseconds=milliseconds(at), minutes=offset_minutes(offset))
    return moment.strftime("%Y-%m-%d")


def wall_minutes(clock: str) -> int:
    """Minutes of the day of a wall time `HH:MM`."""
    return int(clock[:2]) * 60 + int(clock[3:5])


def wall_text(minutes: int) -> str:
    """The wall time `HH:MM` of minutes of the day."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def film_text(ms: int) -> str:
    """A time in a film as people write it: `12:05`, `1:02:05`."""
    minutes, seconds = divmod(ms // 1000, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{seconds:02d}" if hours else f"{minutes}:{seconds:02d}"


_FILM_TIME = re.compile(r"(?:(?:(\d{1,3}):)?(\d{1,3}):)?(\d{1,5})(?:[.,](\d{1,3}))?", re.ASCII)


def film_ms(text: str) -> int:
    """The ms of `12:05`, `1:02:05.250` or `725` (seconds). Raises ValueError for anything else."""
    found = _FILM_TIME.fullmatch(text.strip())
    if found is None or (found[2] is not None and int(found[3]) > 59) or (found[1] is not None and int(found[2]) > 59):
        raise ValueError(f"`{text[:20]}` is no time in a film: write minutes and seconds, 12:05")
    hours, minutes, seconds, rest = found.groups(default="0")
    return ((int(hours) * 60 + int(minutes)) * 60 + int(seconds)) * 1000 + int(rest.ljust(3, "0"))
