"""Cold, ground and danger as they are told beside a lesson: formulas inside their domain, orders that cannot be added.

Nothing here says whether it is safe: the official bulletin, the patrol and the people on the hill do.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from math import atan, degrees, isfinite, radians, tan

from assess.records.catalogue import Snow

__all__ = [
    "Bulletin", "DangerLevel", "Demand", "bulletin_cautions", "edge_demand", "slope_degrees", "slope_percent",
    "speed_demand", "wind_chill_c", "wind_chill_f",
]  # fmt: skip

HOUR_MS = 3_600_000
STALE_HOURS = 24


def wind_chill_f(temp_f: float, wind_mph: float) -> float | None:
    """Wind chill in °F from air temperature in °F and wind at 10 m in mph; None outside the formula's domain.

    Domain: 50 °F or colder and more than 3 mph. Source: US National Weather Service, wind chill index of 2001.
    It takes walking pace and no sun; one's own speed is not in it.
    """
    if not (isfinite(temp_f) and isfinite(wind_mph)) or temp_f > 50 or wind_mph <= 3:
        return None
    power: float = wind_mph**0.16
    return 35.74 + 0.6215 * temp_f - 35.75 * power + 0.4275 * temp_f * power


def wind_chill_c(temp_c: float, wind_kmh: float) -> float | None:
    """The same in °C from °C and km/h. Domain: 10 °C or colder and more than 4.8 km/h."""
    if not (isfinite(temp_c) and isfinite(wind_kmh)) or temp_c > 10 or wind_kmh <= 4.8:
        return None
    power: float = wind_kmh**0.16
    return 13.12 + 0.6215 * temp_c - 11.37 * power + 0.3965 * temp_c * power


def slope_percent(slope_deg: float) -> float:
    """Metres of height in 100 metres of plan, from degrees. Raises ValueError unless 0 <= degrees < 90."""
    if not 0 <= slope_deg < 90:
        raise ValueError(f"`slope_deg` must be from 0 to below 90 degrees, got {slope_deg:g}; was it given in percent?")
    return 100 * tan(radians(slope_deg))


def slope_degrees(percent: float) -> float:
    """Degrees from metres of height in 100 metres of plan. Raises ValueError unless it is 0 or more."""
    if not (percent >= 0 and isfinite(percent)):
        raise ValueError(f"`percent` must be 0 or more, got {percent:g}")
    return degrees(atan(percent / 100))


class Ordered(Enum):
    """Places in an order: they compare with their own kind; sums and means of them do not exist."""

    def _place(self, other: object) -> int | None:
        if type(self) is not type(other):
            return None
        members = list(type(self))
        return members.index(self) - members.index(other)

    def __lt__(self, other: object) -> bool:
        place = self._place(other)
        return NotImplemented if place is None else place < 0

    def __le__(self, other: object) -> bool:
        place = self._place(other)
        return NotImplemented if place is None else place <= 0

    def __gt__(self, other: object) -> bool:
        place = self._place(other)
        return NotImplemented if place is None else place > 0

    def __ge__(self, other: object) -> bool:
        place = self._place(other)
        return NotImplemented if place is None else place >= 0


class DangerLevel(Ordered):
    """The five levels of the European avalanche danger scale, for regions; a level says nothing about one slope."""

    LOW = "1 low"
    MODERATE = "2 moderate"
    CONSIDERABLE = "3 considerable"
    HIGH = "4 high"
    VERY_HIGH = "5 very high"


class Demand(Ordered):
    """What snow asks of edges, or how fast it runs."""

    VERY_LITTLE = "very little"
    LITTLE = "little"
    MIDDLING = "middling"
    MUCH = "much"
    VERY_MUCH = "very much"


def edge_demand(snow: Snow) -> Demand:
    """What a snow asks of the edges."""
    return tuple(Demand)[snow.edge - 1]


def speed_demand(snow: Snow) -> Demand:
    """How fast a snow runs."""
    return tuple(Demand)[snow.speed - 1]


@dataclass(frozen=True, slots=True)
class Bulletin:
    """A line copied from an official avalanche bulletin; at_ms: when it was published, in ms after 1970.

    band: height band, half_day: time of day, as published. Raises ValueError without a source.
    """

    level: DangerLevel
    source: str
    at_ms: int
    band: str = ""
    half_day: str = ""

    def __post_init__(self) -> None:
        if not self.source.strip():
            raise ValueError("a bulletin needs its `source`: who published it")


def bulletin_cautions(bulletin: Bulletin, now_ms: int) -> tuple[str, ...]:
    """What to say beside a bulletin line at `now_ms`; a line older than 24 hours is named as old."""
    hours = (now_ms - bulletin.at_ms) / HOUR_MS
    told = ["the level is for a region and says nothing about one slope; the bulletin and the patrol of the day decide"]
    if hours > STALE_HOURS:
        told.insert(0, f"this bulletin is {hours:.0f} hours old: read today's")
    if hours < 0:
        told.insert(0, "this bulletin is dated in the future: check its time")
    return tuple(told)
