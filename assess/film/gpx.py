"""Tracks as GPX 1.1, read with the standard library's expat: nothing in the file can make it grow or reach outside.

A document type, an entity or an encoding outside the few of the format is refused where it stands. gpxpy is not used:
it expands entities, takes latitude 95 for a place, and its errors name no line.

Source: GPX 1.1 schema, topografix.com/GPX/1/1: WGS84, latitude -90 to 90, longitude -180 to below 180, metres, UTC.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise
from typing import Any
from xml.parsers import expat

from assess.film.number import decimal
from assess.film.table import told
from assess.records.errors import InputError, Problem

__all__ = ["LARGEST_TRACK", "MOST_POINTS", "TrackPoint", "read_gpx"]

LARGEST_TRACK = 8 * 1024 * 1024
MOST_POINTS = 20_000
_DEEPEST, _LONGEST, _MOST_ELEMENTS = 32, 64, 300_000
_SPACE = "http://www.topografix.com/GPX/1/1"
_OLDER = "http://www.topografix.com/GPX/1/0"
_POINT = tuple(f"{_SPACE} {name}" for name in ("gpx", "trk", "trkseg", "trkpt"))
_ENCODINGS = ("utf-8", "utf-16", "us-ascii", "iso-8859-1")
_AGAIN = "export the track again as GPX 1.1"
_CUT = "cut the run out of it: lifts and waits do not belong here"
_TIME = re.compile(r"\s*(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d)(\.\d{1,12})?(?:Z|([+-])(\d\d):(\d\d))?\s*", re.ASCII)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class TrackPoint:
    """A place of a track: degrees north and east (WGS84), seconds after the track's first point, the file's line."""

    line: int
    lat: float
    lon: float
    t: float


class _Stop(Exception):
    """What makes the file unusable as a whole."""


def read_gpx(raw: bytes, shown: str) -> tuple[tuple[TrackPoint, ...], ...]:
    """The points of a file's one track, by segment; times rise from point to point.

    Names, devices and the hour of the day in the file are not kept. Raises InputError with the line of everything
    that makes it no track: not GPX 1.1, not well formed, a document type, too large, more than one track, a place
    outside the earth, a time that is missing or does not rise, fewer than two points.
    """
    if len(raw) > LARGEST_TRACK:
        what = f"is larger than {LARGEST_TRACK // 1024} KiB"
        raise InputError([Problem(shown, 0, what, _CUT)])
    reader = _Reader(shown)
    try:
        reader.parser.Parse(raw, True)
    except _Stop as trouble:
        raise InputError([Problem(shown, reader.parser.CurrentLineNumber, *trouble.args)]) from None
    except expat.ExpatError as trouble:
        what = f"is no well-formed XML ({expat.ErrorString(trouble.code)})"
        raise InputError([Problem(shown, trouble.lineno, what, f"the file may be cut; {_AGAIN}")]) from trouble
    except (ValueError, LookupError) as trouble:
        raise InputError([Problem(shown, 1, "its encoding cannot be read", "save it in UTF-8")]) from trouble
    return reader.found()


class _Reader:
    """Handlers for expat: only the points of tracks are kept, with the line each stands in."""

    def __init__(self, shown: str) -> None:
        self.shown = shown
        self.path: list[str] = []
        self.tracks: list[tuple[int, list[list[TrackPoint]]]] = []
        self.problems: list[Problem] = []
        self.others = 0
        self.points = 0
        self.elements = 0
        self.place: tuple[int, str, str] = (0, "", "")
        self.time: str | None = None
        self.parser = expat.ParserCreate(None, " ")
        self.parser.buffer_text = True
        self.parser.StartDoctypeDeclHandler = self.refuse
        self.parser.EntityDeclHandler = self.refuse
        self.parser.ExternalEntityRefHandler = self.refuse
        self.parser.XmlDeclHandler = self.declared
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.text

    def refuse(self, *_: Any) -> int:
        raise _Stop("the file declares a document type or entities, which no track needs", _AGAIN)

    def declared(self, _version: str, encoding: str | None, _alone: int) -> None:
        if encoding is not None and encoding.lower() not in _ENCODINGS:
            raise _Stop(f"the encoding `{encoding[:20]}` is not read", "save it in UTF-8")

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        if not self.path:
            self.root(tag, attributes)
        self.path.append(tag)
        self.elements += 1
        if self.elements > _MOST_ELEMENTS:
            raise _Stop(f"holds more than {_MOST_ELEMENTS} elements", _CUT)
        depth = len(self.path)
        if depth > _DEEPEST:
            raise _Stop(f"elements stand more than {_DEEPEST} deep in one another", _AGAIN)
        here = self.parser.CurrentLineNumber
        if depth == 2 and tag in (f"{_SPACE} rte", f"{_SPACE} wpt"):
            self.others += 1
        if depth > 4 or tuple(self.path) != _POINT[:depth]:
            # Of a point only its own time is wanted; the same name deeper down is somebody's extension.
            if depth == 5 and tag == f"{_SPACE} time" and tuple(self.path[:4]) == _POINT:
                self.time = ""
            return
        if depth == 2:
            self.tracks.append((here, []))
        elif depth == 3:
            self.tracks[-1][1].append([])
        elif depth == 4:
            self.place, self.time = (here, attributes.get("lat", ""), attributes.get("lon", "")), None

    def root(self, tag: str, attributes: dict[str, str]) -> None:
        version = attributes.get("version", "")
        if tag == f"{_OLDER} gpx" or (tag.endswith("gpx") and version == "1.0"):
            raise _Stop("is GPX 1.0, not GPX 1.1", _AGAIN)
        if tag != _POINT[0]:
            raise _Stop(f"is no GPX 1.1 file: it begins with `{tag.rpartition(' ')[2][:40]}` of another kind", _AGAIN)
        if version != "1.1":
            raise _Stop(f"its version is `{version[:20]}`, not 1.1", _AGAIN)

    def text(self, text: str) -> None:
        if len(self.path) == 5 and self.time is not None and self.path[4] == f"{_SPACE} time":
            self.time = (self.time + text)[: _LONGEST + 1]

    def end(self, _tag: str) -> None:
        if len(self.path) == 4 and tuple(self.path) == _POINT:
            self.point()
        self.path.pop()

    def point(self) -> None:
        self.points += 1
        if self.points > MOST_POINTS:
            raise _Stop(f"holds more than {MOST_POINTS} points", _CUT)
        line, north, east = self.place
        lat, lon, t = decimal(north), decimal(east), _seconds(self.time or "")
        before = self.tracks[-1][1][-1]
        if lat is None or not -90 <= lat <= 90:
            self.wrong(line, f"the latitude is `{north[:20]}`", "from -90 to 90 degrees")
        if lon is None or not -180 <= lon < 180:
            self.wrong(line, f"the longitude is `{east[:20]}`", "from -180 to below 180 degrees")
        if self.time is None:
            self.wrong(line, "the point has no time", "without times nothing can be told; export the recorded track")
        elif t is None:
            self.wrong(line, f"the time is `{self.time.strip()[:30]}`", "write it as 2027-02-03T09:02:11.48Z")
        if lat is not None and lon is not None and t is not None:
            before.append(TrackPoint(line, lat, lon, t))

    def wrong(self, line: int, what: str, todo: str) -> None:
        self.problems.append(Problem(self.shown, line, what, todo))

    def found(self) -> tuple[tuple[TrackPoint, ...], ...]:
        """The segments with points of the one track. Raises InputError."""
        tracks = [(line, [piece for piece in pieces if piece]) for line, pieces in self.tracks]
        tracks = [(line, pieces) for line, pieces in tracks if pieces]
        for line, _ in tracks[1:]:
            self.wrong(line, f"a second track begins; the first is in line {tracks[0][0]}", "keep one track in a file")
        points = [point for _, pieces in tracks[:1] for piece in pieces for point in piece]
        for before, point in pairwise(points):
            if point.t <= before.t:
                what = f"the time is not later than that of the point in line {before.line}"
                self.wrong(point.line, what, "times rise; export them with fractions of a second")
        if len(points) < 2 and not self.problems:
            kept = "one point only" if points else "routes or waypoints, no track" if self.others else "no track"
            self.wrong(tracks[0][0] if tracks else 1, f"holds {kept}", "export the recorded track of a run")
        if self.problems:
            raise told(self.problems)
        first = points[0].t
        return tuple(tuple(TrackPoint(at.line, at.lat, at.lon, at.t - first) for at in piece) for piece in tracks[0][1])


def _seconds(text: str) -> float | None:
    """Seconds after 1970 of an XML time; without a zone it is UTC, as the format says. None if it is none."""
    match = _TIME.fullmatch(text) if len(text) <= _LONGEST else None
    if not match:
        return None
    try:
        moment = datetime.fromisoformat(match[1]).replace(tzinfo=UTC)
        zone = timedelta(hours=int(match[4]), minutes=int(match[5])) if match[3] else timedelta()
        timezone(zone)
    except ValueError:
        return None
    whole = (moment - _EPOCH).total_seconds() - (zone.total_seconds() if match[3] != "-" else -zone.total_seconds())
    return whole + float(match[2] or 0)
