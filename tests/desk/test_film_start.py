"""From a film to a season: what a name becomes."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.cli.film_asking import chosen
from assess.desk.film_start import id_for, season_at, season_for
from assess.desk.opening import open_course
from assess.desk.season_grow import add_film
from assess.desk.seasons_near import season_with, seasons_near
from assess.records.errors import Refusal
from assess.records.ids import is_short_id

TODAY = date(2026, 2, 1)
LESSONS = [("T4", "Beginners on the carpet"), ("T5", "One guest, own choice")]


@pytest.mark.parametrize(
    ("name", "ident"),
    [("KW", "KW"), ("Kaja Wendrin", "KW"), ("Ánna-Lena van Öst", "AVO"), ("王小明", "ME"), ("no id!", "NI")],
)
def test_a_name_gives_its_initials_and_an_id_stays(name: str, ident: str) -> None:
    assert id_for(name) == ident


@given(st.text(min_size=1))
def test_any_name_gives_an_id(name: str) -> None:
    assert is_short_id(id_for(name))


@pytest.mark.parametrize(
    ("said", "answer"),
    [("1", "T4"), ("2", "T5"), ("t5", "T5"), ("one g", "T5"), ("T", None), ("", None), ("3", None), ("0", None)],
)
def test_a_number_an_id_or_a_beginning_of_one_alone_chooses(said: str, answer: str | None) -> None:
    assert chosen(said, LESSONS) == answer


def test_a_film_that_is_in_a_season_opens_that_season(tmp_path: Path) -> None:
    for name in ("a", "b", "c"):
        (tmp_path / f"{name}.mp4").write_bytes(name.encode())
    root, _ = season_for(tmp_path / "a.mp4", TODAY, trainee="KW", task="T5", activity="alpine-ski")
    desk = open_course(root, "KW", act=True)
    assert add_film(desk, tmp_path / "b.mp4") == "F2"
    desk.close()
    assert season_with(tmp_path / "b.mp4") == root == season_with(tmp_path / "a.mp4")
    assert season_with(tmp_path / "c.mp4") is None
    assert [(near.root, near.films) for near in seasons_near(tmp_path / "c.mp4")] == [(root, 2)]
    (root / "season.yaml").write_text("films: [", encoding="utf-8")  # a broken season is passed over
    assert seasons_near(tmp_path / "c.mp4") == ()


def test_a_new_season_takes_the_films_own_day_or_the_one_that_is_told(tmp_path: Path) -> None:
    for name, on, day in (("VID_20260103.mp4", "", "2026-01-03"), ("b.mp4", "2.1.2026", "2026-01-02")):
        (tmp_path / name).write_bytes(b"film")
        root, _ = season_for(tmp_path / name, TODAY, trainee="KW", task="T5", activity="alpine-ski", on=on)
        assert season_at(root).films[0].date == day


def test_a_season_that_a_full_disk_left_unfinished_is_finished(tmp_path: Path) -> None:
    film = tmp_path / "a.mp4"
    film.write_bytes(b"film")
    root = tmp_path / "a-season"
    (root / "rubrics").mkdir(parents=True)
    (root / "people.yaml").write_text("# assess peo", encoding="utf-8")
    made, _ = season_for(film, TODAY, trainee="KW", task="T5", activity="alpine-ski")
    assert made == root and season_at(root).trainee == "KW"
    other = tmp_path / "b.mp4"
    other.write_bytes(b"film two")
    (tmp_path / "b-season").mkdir()
    (tmp_path / "b-season" / "mine.txt").touch()
    with pytest.raises(Refusal, match="is no season"):
        season_for(other, TODAY, trainee="KW", task="T5", activity="alpine-ski")
