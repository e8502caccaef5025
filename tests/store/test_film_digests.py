"""A film is read whole once, and again as soon as anything about its file has changed."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from assess.store.film_digests import known_digest


class Reader:
    """Counts how often it reads; its digest is what stands in the file."""

    times = 0

    def __call__(self, path: Path) -> str:
        self.times += 1
        return path.read_text()


@pytest.fixture
def film(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ASSESS_CACHE_DIR", str(tmp_path / "cache"))
    # As if made long ago: a file that changed just now is not remembered.
    now = time.time_ns
    monkeypatch.setattr("assess.store.film_digests.time.time_ns", lambda: now() + 60_000_000_000)
    path = tmp_path / "a.mp4"
    path.write_text("one")
    return path


def test_a_film_is_read_once_while_nothing_changes(film: Path) -> None:
    read = Reader()
    assert [known_digest(film, read) for _ in range(3)] == ["one"] * 3 and read.times == 1


@pytest.mark.parametrize("change", ["written", "replaced", "touched", "cache gone", "cache torn"])
def test_whatever_changes_is_read_again(film: Path, change: str, tmp_path: Path) -> None:
    read = Reader()
    known_digest(film, read)
    stat = film.stat()
    kept = next((tmp_path / "cache" / "films").iterdir())
    if change == "written":
        film.write_text("two")
        os.utime(film, ns=(stat.st_atime_ns, stat.st_mtime_ns))  # same size, same time of writing
    elif change == "replaced":
        other = tmp_path / "b"
        other.write_text("two")
        other.replace(film)
    elif change == "touched":
        film.touch()
    elif change == "cache gone":
        kept.unlink()
    else:
        kept.write_bytes(kept.read_bytes()[:-9])
    assert known_digest(film, read) == film.read_text() and read.times == 2


def test_a_file_that_changed_just_now_and_a_cache_that_cannot_be_written_cost_time_only(
    film: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    read = Reader()
    monkeypatch.setenv("ASSESS_CACHE_DIR", str(film / "no folder"))
    assert known_digest(film, read) == known_digest(film, read) == "one" and read.times == 2
    monkeypatch.setenv("ASSESS_CACHE_DIR", str(tmp_path / "cache"))
    monkeypatch.setattr("assess.store.film_digests.time.time_ns", lambda: film.stat().st_ctime_ns + 1)
    assert known_digest(film, read) == known_digest(film, read) and read.times == 4
