"""From degrees on the earth to metres on a plane around a run, good to a few centimetres over some kilometres."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin, sqrt

__all__ = ["local_metres"]

# WGS84 ellipsoid: half axis in metres and first eccentricity squared (NIMA TR8350.2).
_A, _E2 = 6_378_137.0, 6.694_379_990_14e-3


def local_metres(places: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """(metres east, metres north) of each place (degrees north, degrees east) from the first one.

    The ellipsoid's two radii of curvature at the middle latitude are used; height is left out. A step over the 180th
    meridian is a short one.
    """
    if not places:
        return ()
    lat0, lon0 = places[0]
    middle = radians((min(lat for lat, _ in places) + max(lat for lat, _ in places)) / 2)
    bend = 1 - _E2 * sin(middle) ** 2
    north, east = _A * (1 - _E2) / bend**1.5, _A / sqrt(bend) * cos(middle)
    return tuple((east * radians((lon - lon0 + 180) % 360 - 180), north * radians(lat - lat0)) for lat, lon in places)
