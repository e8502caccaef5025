"""How long what a course holds about people is kept. GDPR, article 5(1)(e): no longer than it is needed.

The default keeps everything for the season of the course and one year after it, so that an appeal can be answered
from the whole record.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from assess.records.ids import ShortId
from assess.records.times import CalendarDay

__all__ = ["Hold", "Retention", "contacts_until", "records_until"]

_REST_OF_A_SEASON_DAYS = 183
_Days = Annotated[int, Field(ge=0, le=36500)]


class Hold(BaseModel):
    """Nothing of this person is erased before `until` (empty: until somebody takes it out): a claim, a legal duty."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    who: ShortId
    why: Annotated[str, Field(max_length=400)]
    until: CalendarDay | None = None


class Retention(BaseModel):
    """`retention` of course.yaml.

    season_ends: last day of the season of the course; without it, half a year after its last day. years: how many
    years after the season names, contacts and free text are kept. contacts_days: contacts go earlier, so many days
    after the last day of the course; without it they are kept as long as the rest.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")
    season_ends: CalendarDay | None = None
    years: Annotated[int, Field(ge=0, le=100)] = 1
    contacts_days: _Days | None = None
    holds: tuple[Hold, ...] = ()


def records_until(kept: Retention, days: Sequence[str]) -> date:
    """The last day on which names and free text of a course on these days are kept."""
    ends = date.fromisoformat(kept.season_ends) if kept.season_ends else _last(days) + timedelta(_REST_OF_A_SEASON_DAYS)
    return _years_later(ends, kept.years)


def contacts_until(kept: Retention, days: Sequence[str]) -> date:
    """The last day on which contacts are kept; never later than the rest."""
    whole = records_until(kept, days)
    return whole if kept.contacts_days is None else min(whole, _last(days) + timedelta(kept.contacts_days))


def _last(days: Sequence[str]) -> date:
    return max(map(date.fromisoformat, days))


def _years_later(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        # The 29th of February in a year without one.
        return day.replace(year=day.year + years, day=28)
