"""An assessor's licence: what they may mark, from when until when, and what it rests on."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from assess.records.ids import LongId, ShortId

__all__ = ["Licence"]

IsoDate = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")]


class Licence(BaseModel):
    """One dated entry of an assessor's record; a later one adds to it and deletes nothing.

    areas: what they may assess; empty means every area of the activity.
    last_calibration: the day of the round it rests on; source: that round's id, or who gave it.
    conditions: `only-second` never the first marker of a slot, `supervised` beside one without conditions.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    assessor: ShortId
    activity: LongId
    areas: tuple[LongId, ...] = ()
    valid_from: IsoDate
    valid_to: IsoDate
    last_calibration: IsoDate | None = None
    conditions: tuple[Literal["only-second", "supervised"], ...] = ()
    suspended: bool = False
    source: Annotated[str, Field(max_length=400)] = ""

    def covers(self, activity: str, area: str, day: date) -> bool:
        """True when it lets its holder mark this area of the activity on that day; both ends count."""
        known = self.activity == activity and (not self.areas or area in self.areas)
        within = date.fromisoformat(self.valid_from) <= day <= date.fromisoformat(self.valid_to)
        return known and within and not self.suspended
