"""The day a film was made: as the film itself says, as its name says, else as its file was written last."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import BinaryIO

__all__ = ["film_day"]

EPOCH_1904 = datetime(1904, 1, 1, tzinfo=UTC)
"""Times in an MP4 or QuickTime film are seconds since then (ISO/IEC 14496-12, movie header; from memory)."""
FIRST_YEAR = 1990
_IN_NAME = re.compile(r"(?<!\d)(20\d\d)([-_.]?)(\d\d)\2(\d\d)(?!\d)", re.ASCII)
_MOST_BOXES, _MOST_HEADER = 1000, 1 << 20


def film_day(path: Path, today: date) -> date:
    """The day a film was made, never after `today`; local. Raises OSError when the file cannot be read."""
    for found in (_told(path), _named(path.name)):
        if found is not None and found.year >= FIRST_YEAR and found <= today:
            return found
    return min(datetime.fromtimestamp(path.stat().st_mtime, UTC).astimezone().date(), today)


def _named(name: str) -> date | None:
    """The day in a name such as `VID_20260214_162231.mp4`."""
    for found in _IN_NAME.finditer(name):
        try:
            return date(int(found[1]), int(found[3]), int(found[4]))
        except ValueError:
            continue  # eight digits that are no day
    return None


def _told(path: Path) -> date | None:
    """The day in the movie header; None for another kind of film, or one that does not say."""
    with path.open("rb") as file:
        size = path.stat().st_size
        movie = _box(file, 0, size, b"moov")
        header = _box(file, *movie, b"mvhd") if movie else None
        if header is None or not 12 <= header[1] - header[0] <= _MOST_HEADER:
            return None
        file.seek(header[0])
        raw = file.read(12)
    seconds = int.from_bytes(raw[4:12] if raw[0] == 1 else raw[4:8], "big")
    try:
        return (EPOCH_1904 + timedelta(seconds=seconds)).astimezone().date() if seconds else None
    except OverflowError:
        return None  # a number no calendar has


def _box(file: BinaryIO, start: int, end: int, kind: bytes) -> tuple[int, int] | None:
    """Where the content of the first box of a kind begins and ends between two places of a file."""
    at = start
    for _ in range(_MOST_BOXES):
        if at + 8 > end:
            return None
        file.seek(at)
        head = file.read(16)
        length, body = int.from_bytes(head[:4], "big"), at + 8
        if length == 1:
            length, body = int.from_bytes(head[8:16], "big"), at + 16
        after = end if length == 0 else at + length
        if after <= at or after < body or after > end:
            return None
        if head[4:8] == kind:
            return body, after
        at = after
    return None
