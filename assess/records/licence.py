"""An assessor's licence: what they may mark, from when until when, and what it rests on."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from assess.records.ids import LongId, ShortId
from assess.records.times import CalendarDay

__all__ = ["Licence"]


class Licence(BaseModel):
    """One dated entry of an assessor's record; a later one adds to it and deletes nothing.

    Of the entries that speak of an activity, an area and a day the last one stands: a later one with `suspended`
    suspends, one without conditions lifts them.

    areas: what they may assess; empty means every area of the activity.
    last_calibration: the day of the round it rests on; source: that round's id, or who gave it.
    conditions: `only-second` never the first marker of a slot, `supervised` beside one without conditions.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    assessor: ShortId
    activity: LongId
    areas: tuple[LongId, ...] = ()
    valid_from: CalendarDay
    valid_to: CalendarDay
    last_calibration: CalendarDay | None = None
    conditions: tuple[Literal["only-second", "supervised"], ...] = ()
    suspended: bool = False
    source: Annotated[str, Field(max_length=400)] = ""

    def names(self, activity: str, area: str) -> bool:
        """True when this area of the activity is among what it is for, whatever the day."""
        return self.activity == activity and (not self.areas or area in self.areas)

    def speaks_of(self, activity: str, area: str, day: date) -> bool:
        """True when it says something about this area of the activity on that day; both ends count."""
        within = date.fromisoformat(self.valid_from) <= day <= date.fromisoformat(self.valid_to)
        return self.names(activity, area) and within

    def covers(self, activity: str, area: str, day: date) -> bool:
        """True when it lets its holder mark this area of the activity on that day."""
        return self.speaks_of(activity, area, day) and not self.suspended
