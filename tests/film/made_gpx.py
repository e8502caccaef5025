"""GPX files as receivers write them, and broken ones."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from math import cos, pi, radians

__all__ = ["AT_ONCE", "gpx", "point", "track_of"]

AT_ONCE = 5
"""Seconds of computing on any machine, busy as it may be; a reader that goes back over what it read needs minutes."""
SPACE = "http://www.topografix.com/GPX/1/1"
START = datetime(2027, 2, 3, 9, 2, 11, tzinfo=UTC)
# Mean metres of a degree on a sphere: enough to lay out a track, and not the reader's own formula.
DEGREE_M = 6_371_008.8 * pi / 180


def point(lat: object, lon: object, second: float | None, more: str = "") -> str:
    time = (
        ""
        if second is None
        else f"<time>{(START + timedelta(seconds=second)).isoformat().replace('+00:00', 'Z')}</time>"
    )
    return f'<trkpt lat="{lat}" lon="{lon}">{more}{time}</trkpt>'


def gpx(*tracks: Sequence[Sequence[str]], head: str = '<?xml version="1.0" encoding="UTF-8"?>\n', space: str = SPACE,
        version: str = "1.1", more: str = "") -> str:  # fmt: skip
    """A file of tracks, each of segments, each of points; one point a line."""
    lines = [head + f'<gpx version="{version}" creator="made for a test" xmlns="{space}">{more}']
    for track in tracks:
        lines.append("<trk><name>run</name>")
        for segment in track:
            lines += ["<trkseg>", *segment, "</trkseg>"]
        lines.append("</trk>")
    return "\n".join([*lines, "</gpx>\n"])


def track_of(fixes: Sequence[tuple[float, float, float]], lat: float = 46.0, lon: float = 8.0) -> str:
    """A file with one track through (seconds, metres east, metres north)."""
    east = DEGREE_M * cos(radians(lat))
    return gpx([[point(f"{lat + y / DEGREE_M:.9f}", f"{lon + x / east:.9f}", t) for t, x, y in fixes]])
