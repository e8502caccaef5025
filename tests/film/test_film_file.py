"""A film is found again after it was moved or renamed, by size and SHA-256, and never taken for another."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.film.film_file import film_file, find_film
from assess.records.errors import InputError


@pytest.fixture
def season(tmp_path: Path) -> Path:
    (tmp_path / "season").mkdir()
    return tmp_path / "season"


def made(path: Path, content: bytes = b"film one") -> Path:
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content)
    return path


@pytest.mark.parametrize("to", ["../other name.mov", "films/x", "y.mp4", "../season/-z.mp4"])
def test_a_film_moved_or_renamed_is_found_again(season: Path, to: str) -> None:
    film = made(season.parent / "a.mp4")
    known = film_file(film, "../a.mp4")
    assert find_film(known, season).moved is False and find_film(known, season).path is not None
    made(season.parent / "same-size.mp4", b"film two")
    (season / to).parent.mkdir(exist_ok=True)
    film.rename(season / to)
    found = find_film(known, season)
    assert found.moved and found.path is not None and found.path.resolve() == (season / to).resolve()


def test_another_film_under_its_name_is_not_taken_for_it(season: Path) -> None:
    film = made(season.parent / "a.mp4")
    known = film_file(film, "../a.mp4")
    made(film, b"film two")
    assert find_film(known, season).path is None
    made(film, b"longer than it was")
    assert find_film(known, season).path is None


def test_it_is_looked_for_in_a_folder_that_is_named(season: Path, tmp_path: Path) -> None:
    film = made(season.parent / "a.mp4")
    known = film_file(film, "../a.mp4")
    (tmp_path / "far" / "away").mkdir(parents=True)
    film.rename(tmp_path / "far" / "away" / "b.mp4")
    assert find_film(known, season).path is None
    assert find_film(known, season, [tmp_path / "far" / "away"]).moved


def test_no_file_is_no_film(season: Path) -> None:
    with pytest.raises(InputError, match="no film"):
        film_file(season)
    with pytest.raises(InputError, match="no film"):
        film_file(season / "none.mp4")
