"""The day a film was made: out of the film, out of its name, else its file's own."""

from __future__ import annotations

import os
import struct
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.film.film_day import film_day

TODAY = date(2026, 11, 30)
SINCE_1904 = 2_082_844_800
"""Seconds from 1904 to 1970: 66 years, 17 of them leap years, (66 * 365 + 17) * 86400."""


def box(kind: bytes, content: bytes, *, wide: bool = False) -> bytes:
    if wide:
        return struct.pack(">I4sQ", 1, kind, 16 + len(content)) + content
    return struct.pack(">I4s", 8 + len(content), kind) + content


def movie(at: datetime | None, *, version: int = 0, wide: bool = False) -> bytes:
    seconds = 0 if at is None else int(at.timestamp()) + SINCE_1904
    head = bytes([version, 0, 0, 0]) + seconds.to_bytes(8 if version else 4, "big")
    header = box(b"mvhd", head + bytes(80))
    return box(b"ftyp", b"isom") + box(b"mdat", b"x" * 50, wide=wide) + box(b"moov", header)


def written(path: Path, raw: bytes) -> Path:
    path.write_bytes(raw)
    os.utime(path, (1_790_000_000, 1_790_000_000))  # 2026-09-21
    return path


@pytest.mark.parametrize(("version", "wide"), [(0, False), (1, False), (0, True)])
def test_the_film_itself_is_asked_first(tmp_path: Path, version: int, wide: bool) -> None:
    raw = movie(datetime(2026, 2, 14, 12, tzinfo=UTC), version=version, wide=wide)
    assert film_day(written(tmp_path / "VID_20250101.mp4", raw), TODAY) == date(2026, 2, 14)


@pytest.mark.parametrize("name", ["VID_20260214_162231.mp4", "2026-02-14 16.22.31.mov", "IMG-20260214-x.mp4"])
def test_then_its_name(tmp_path: Path, name: str) -> None:
    assert film_day(written(tmp_path / name, movie(None)), TODAY) == date(2026, 2, 14)


@pytest.mark.parametrize("name", ["lesson.mp4", "12345678901.mp4", "20261399.mp4", "2026-0214.mp4", "20270101.mp4"])
def test_then_its_file(tmp_path: Path, name: str) -> None:
    assert film_day(written(tmp_path / name, b"no film"), TODAY) == date(2026, 9, 21)


def test_a_day_before_there_were_telephones_or_after_today_is_not_believed(tmp_path: Path) -> None:
    for year in (1970, 2030):
        film = written(tmp_path / f"{year}.mp4", movie(datetime(year, 6, 1, tzinfo=UTC)))
        assert film_day(film, TODAY) == date(2026, 9, 21)


@given(st.binary(max_size=200), st.integers(0, 150))
def test_no_bytes_are_too_strange(tmp_path_factory: pytest.TempPathFactory, noise: bytes, at: int) -> None:
    whole = movie(datetime(2026, 2, 14, 12, tzinfo=UTC))
    raw = whole[:at] + noise + whole[at:]
    film = written(tmp_path_factory.mktemp("d") / "a.mp4", raw)
    assert film_day(film, TODAY) <= TODAY
