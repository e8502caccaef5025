"""An evening with one's own film: it stands still while one writes, says what comes next, and keeps every word."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import pytest

from assess.records.times import film_text
from assess.tui.film_picture import film_rows
from tests.seasons import build_season, film_desk, mark_film
from tests.tui.seat import Seat, at_seat
from tests.tui.toy_film import ToyFilm


@pytest.fixture
def toy(monkeypatch: pytest.MonkeyPatch) -> ToyFilm:
    film = ToyFilm()
    monkeypatch.setattr("assess.desk.film_player.shown_film", lambda sheet: (film, ""))
    return film


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_season(tmp_path / "season")


async def opened(seat: Seat) -> Any:
    for _ in range(200):
        if seat.app.screen.with_film:
            return seat.app.screen
        await asyncio.sleep(0.02)
    raise AssertionError(seat.text)


@pytest.mark.parametrize("keys", ["n", "w", "p", "d", "i", "a", "l", "c", "g"])
async def test_the_film_stands_still_while_something_is_asked_and_goes_on_after(
    root: Path, toy: ToyFilm, tmp_path: Path, keys: str
) -> None:
    async with at_seat(tmp_path, ("film", "F1"), desk=film_desk(root, "TR")) as seat:
        await opened(seat)
        await seat.press("space")
        assert not toy.paused
        await seat.press(keys)
        assert toy.paused
        await seat.press("escape")
        await seat.pilot.pause()
        assert not toy.paused


async def test_a_note_goes_on_playing_only_once_it_is_written(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    desk = film_desk(root, "TR")
    async with at_seat(tmp_path, ("film", "F1"), desk=desk) as seat:
        await opened(seat)
        await seat.press("space n")
        await seat.type("talks")
        await seat.press("enter")
        assert toy.paused and not desk.film("T5", "F1").noted()
        await seat.press("2")
        assert not toy.paused and desk.film("T5", "F1").noted()[0].criteria == ("drill-choice",)


async def test_words_that_were_typed_are_never_lost(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    desk = film_desk(root, "TR")
    async with at_seat(tmp_path, ("film", "F1"), desk=desk) as seat:
        await opened(seat)
        await seat.press("n")
        await seat.type("half a thought")
        await seat.press("escape n")
        assert "half a thought" in seat.text
        await seat.press("enter escape")  # which criterion? nobody knows yet
        assert [item.text for item in desk.film("T5", "F1").noted()] == ["half a thought"]


async def test_the_next_thing_stands_there_with_its_key(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    desk = film_desk(root, "TR")
    async with at_seat(tmp_path, ("film", "F1"), desk=desk) as seat:
        await opened(seat)
        assert seat.line(" w first: the learner's fault as you see it")
        await seat.press("w")
        await seat.type("late")
        await seat.press("enter")
        assert seat.line(" p first: your plan, what you would do with this learner")
        await seat.press("p")
        await seat.type("wait")
        await seat.press("enter")
        assert seat.line(" m score your two weakest criteria before the others")
        assert "the learner's fault as you see it" not in seat.text  # what is done is not asked again
        await seat.press("m 3 3")
        await seat.press("q")
        assert seat.line(" n missing: Diagnosis: no observation with a film time speaks for this score")


async def test_levels_of_a_film_speak_of_the_film(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    desk = film_desk(root, "TR")
    sheet = desk.film("T5", "F1")
    sheet.name_fault("late", whose="assessor")
    sheet.plan(steps="wait")
    sheet.note("talks", ("diagnosis",), film_ms=65_000)
    async with at_seat(tmp_path, ("film", "F1"), desk=desk) as seat:
        await opened(seat)
        await seat.press("m")
        assert "score your two weakest criteria before the others" in seat.text
        assert "noted at 1:05" in seat.text and "nothing noted yet" in seat.text
        for word in ("bib", "practising", "against"):
            assert word not in seat.text
        await seat.press("k")
        assert "bib" not in seat.text and "moderation" not in seat.text and "F1 Lesson 1" in seat.text
        assert "items (e beside the film)" in seat.text


async def test_repeating_another_line_repeats_that_line_and_plays(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    desk = film_desk(root, "TR")
    sheet = desk.film("T5", "F1")
    sheet.note("one", (), film_ms=60_000, film_end_ms=70_000)
    sheet.note("two", (), film_ms=90_000, film_end_ms=95_000)
    async with at_seat(tmp_path, ("film", "F1"), desk=desk) as seat:
        await opened(seat)
        await seat.press("r")
        assert toy.looped == [(60_000, 70_000)] and not toy.paused
        await seat.press("down r")
        assert toy.looped[1:] == [(90_000, 95_000)] and "again and again" in seat.text
        await seat.press("r")
        assert toy.looped[2:] == [(None, None)] and "again and again" not in seat.text


async def test_what_mpvs_own_window_does_is_seen_here(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    async with at_seat(tmp_path, ("film", "F1"), desk=film_desk(root, "TR")) as seat:
        await opened(seat)
        await seat.press("space")
        assert "0:00 of 20:00   playing" in seat.text
        toy.paused = True  # somebody pressed the space bar over there, or the film has ended
        await asyncio.sleep(0.4)
        assert "still" in seat.text
        await seat.press("space")
        assert not toy.paused


async def test_one_frame_and_how_slow_are_seen(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    async with at_seat(tmp_path, ("film", "F1"), desk=film_desk(root, "TR")) as seat:
        await opened(seat)
        await seat.press("3 3")
        assert "0:00.06 of 20:00" in seat.text
        await seat.press("s")
        assert "at half its speed" in seat.text and toy.factor == 0.5


async def test_drills_and_the_use_of_time_stand_in_the_list(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    async with at_seat(tmp_path, ("film", "F1"), desk=film_desk(root, "TR")) as seat:
        await opened(seat)
        await seat.press("i 2")
        toy.position_ms = 30_000
        await seat.press("i 1")
        toy.position_ms = 95_000
        await seat.press("d")
        await seat.type("own drill")
        await seat.press("enter")
        # Where one use begins the one before has stopped: said once.
        assert "talk begins" in seat.text and "practice begins" in seat.text and "talk stops" not in seat.text
        assert seat.line(" > 1:35").split() == [">", "1:35", "drill", "own", "drill"]
        await seat.press("v")
        for _ in range(100):
            if "Use of time" in seat.text:
                break
            await asyncio.sleep(0.02)
        assert "talk 100 %" in seat.text


async def test_the_safety_list_a_film_asks_for_can_be_filled_in(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    desk = film_desk(root, "TR")
    async with at_seat(tmp_path, ("film", "F1"), desk=desk) as seat:
        await opened(seat)
        await seat.press("e l")
        await seat.press("1 1")
        assert any(state for state in desk.film("T5", "F1").safety_states().values())
        await seat.press("escape escape q")
        assert seat.app.screen.place == "film"


async def test_without_a_film_a_note_may_begin_with_its_time(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from assess.desk.film_player import typed_times

    monkeypatch.setattr("assess.desk.film_player.shown_film", lambda sheet: (typed_times(), "no player"))
    desk = film_desk(root, "TR")
    async with at_seat(tmp_path, ("film", "F1"), desk=desk) as seat:
        for said in ("12:05 the learner waits", "3:75 is no time"):
            await seat.press("n")
            await seat.type(said)
            await seat.press("enter 5")
        assert {(item.film_ms, item.text) for item in desk.film("T5", "F1").noted()} == {
            (725_000, "the learner waits"), (0, "3:75 is no time"),
        }  # fmt: skip
        await seat.press("r")
        assert "no film is shown here" in seat.message and "again and again" not in seat.text


async def test_once_locked_it_says_who_is_waited_for_or_what_to_compare(
    root: Path, toy: ToyFilm, tmp_path: Path
) -> None:
    mark_film(root, "TR", "F1", (5, 4, 5, 4))
    async with at_seat(tmp_path, ("film", "F1"), desk=film_desk(root, "TR")) as seat:
        await opened(seat)
        assert "locked; Person M1 has not locked yet" in seat.text
        await seat.press("b")
        assert "Person M1 has not locked yet" in seat.message and "both sheets" not in seat.message
    mark_film(root, "M1", "F1", (4, 3, 4, 4))
    async with at_seat(tmp_path, ("film", "F1"), desk=film_desk(root, "TR")) as seat:
        await opened(seat)
        assert seat.line(" b locked; it can be compared with Person M1")


async def test_ten_thousand_lines_are_no_slower_than_a_screenful(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    desk = film_desk(root, "TR")
    desk.film("T5", "F1").note_all({"text": f"line {n}", "criteria": (), "film_ms": 1000 * n} for n in range(3000))
    async with at_seat(tmp_path, ("film", "F1"), desk=desk) as seat:
        screen = await opened(seat)
        await seat.press(["pagedown"] * 3)
        height = screen.query_one("#film-scroll").size.height
        assert seat.line(f" > {film_text(1000 * 3 * (height - 1))}") and screen.at == 3 * (height - 1)
        screen.at = 1500
        screen.draw()
        await seat.pilot.pause()
        assert "line 1500" in seat.text and "line 1495" in seat.text and "line 1505" in seat.text
        assert len(film_rows(screen.slot, 1500, 76, [])[0]) == 203
        await seat.press(["pageup"] * 200)
        assert "line 0" in seat.text and screen.at == 0


async def test_a_note_half_written_is_kept_when_the_window_goes_away(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    desk = film_desk(root, "TR")
    async with at_seat(tmp_path, ("film", "F1"), desk=desk) as seat:
        await opened(seat)
        toy.position_ms = 65_000
        await seat.press("n")
        await seat.type("half a th")
        toy.position_ms = 90_000
        seat.app.hang_up(129)
        await seat.pilot.pause()
    assert [(n.film_ms, n.text) for n in desk.film("T5", "F1").noted()] == [(65_000, "half a th")]


async def test_times_of_a_film_of_hours_are_whole(root: Path, toy: ToyFilm, tmp_path: Path) -> None:
    desk = film_desk(root, "TR")
    desk.film("T5", "F1").note("late", (), film_ms=17_980_000, film_end_ms=17_998_000)
    async with at_seat(tmp_path, ("film", "F1"), desk=desk, size=(60, 20)) as seat:
        await opened(seat)
        assert "4:59:40-4:59:58" in seat.text
