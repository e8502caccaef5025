"""One key too many, a key on the wrong screen, a clock set right late: nothing is locked, lost or moved by it."""

from __future__ import annotations

import pytest

from assess.desk.card_numbers import cards_of
from assess.tui.card_screen import CardScreen
from assess.tui.lock_screen import LockScreen
from assess.tui.run_screen import RunScreen
from assess.tui.text_line import TextLine
from tests.tui.seat import at_seat

T1, LESSON = ("task", "T1"), ("lesson", "T4", "C01")


# --- a number that was taken already, and Enter out of habit ---------------------------------------


@pytest.mark.parametrize("keys", ["b 2 2 enter", "x 2 2 enter"])
async def test_enter_after_a_bib_that_was_taken_already_opens_nothing(tmp_path, keys: str) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press(keys)
        assert isinstance(seat.app.screen, RunScreen)
        assert "taken" in seat.message and "Enter again" in seat.message
        await seat.press("enter")
        assert isinstance(seat.app.screen, LockScreen), "the second Enter is meant"


async def test_a_digit_after_the_bib_marks_and_the_next_enter_is_meant(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("b 2 2 4 enter")
        assert isinstance(seat.app.screen, LockScreen)
        assert seat.desk.run_sheet("T1").row("C03").cells[0].text == "4"


async def test_enter_after_the_time_on_a_card_does_not_go_on_to_the_lock(tmp_path) -> None:
    async with at_seat(tmp_path, "board") as seat:
        number = next(plan.number for plan in cards_of(seat.desk, "A1") if plan.kind == "run")
        await seat.press(["t", *number, "enter", *"0946", "enter", "4"])
        assert isinstance(seat.app.screen, CardScreen)
        assert seat.desk.run_sheet("T1").row("C01").cells[0].text == "4"


async def test_enter_after_the_bib_of_a_cards_note_ends_no_note(tmp_path) -> None:
    async with at_seat(tmp_path, "board") as seat:
        number = next(plan.number for plan in cards_of(seat.desk, "A1") if plan.kind == "run")
        await seat.press(["t", *number, "enter", *"0946", *(["4"] * 16), *"21", "enter"])
        await seat.type("late")
        await seat.press("enter")
        assert seat.desk.slot("T1", "C02").sheet.observations[-1].fact.text == "late"


# --- the page before the lock ----------------------------------------------------------------------


async def test_the_pad_key_of_undo_never_locks(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 4 4 4 k asterisk a asterisk")
        assert not seat.desk.slot("T1", "C01").locked


async def test_locking_many_sheets_asks_once_how_many(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 4 4 4 4 4 4 4 k a")
        assert "lock 2 sheets" in seat.text
        assert not seat.desk.slot("T1", "C01").locked
        await seat.press("escape")
        assert not seat.desk.slot("T1", "C01").locked
        await seat.press("a 1")
        assert [seat.desk.slot("T1", who).locked for who in ("C01", "C02", "C03")] == [True, True, False]


async def test_a_run_that_nobody_marked_is_told_before_the_lock_and_hinders_nothing(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press(["4"] * 16)
        assert "r: run 2" in seat.message
        await seat.press("b 2 0 k")
        assert "run 2 of 2 has no mark" in seat.text
        await seat.press("enter")
        assert seat.desk.slot("T1", "C01").locked


async def test_a_digit_on_the_page_before_the_lock_says_that_it_did_nothing(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("k 4")
        assert "4 does nothing here" in seat.message
        assert seat.desk.run_sheet("T1").row("C01").cells[0].text == "·"


# --- a breach on the row ---------------------------------------------------------------------------


async def test_a_reported_breach_stands_on_the_row_until_it_is_taken_back(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 g escape")
        assert "breach due" in seat.line("20 Aldous")
        assert "c completes it" in seat.message
        await seat.press("u")
        assert "breach" not in seat.line("20 Aldous")


# --- undo speaks as the screen does ----------------------------------------------------------------


async def test_what_is_taken_back_is_named_as_its_column_is(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 u")
        assert seat.message == "taken back: bib 20: Over feet 4"


# --- a lesson --------------------------------------------------------------------------------------


async def test_a_note_on_the_levels_stands_for_what_the_line_under_it_says(tmp_path) -> None:
    async with at_seat(tmp_path, LESSON) as seat:
        await seat.press("s 2 minus m 4 4 3 4 n")
        label = seat.desk.rubric_for("T4").criteria[seat.desk.lesson("T4", "C01").criteria[2]].label
        assert f"stands for {label}" in seat.text
        await seat.type("two things at once")
        await seat.press("enter")
        assert seat.desk.lesson("T4", "C01").needing_evidence() == ()


async def test_a_note_of_the_thin_sheet_says_which_criterion_it_stands_for(tmp_path) -> None:
    async with at_seat(tmp_path, LESSON) as seat:
        await seat.press("s 2 n")
        slot = seat.desk.lesson("T4", "C01")
        assert f"stands for {slot.rubric.criteria[slot.criteria[1]].label}" in seat.text
        await seat.type("late")
        await seat.press("enter")
        assert slot.sheet.observations[-1].fact.criteria == (slot.criteria[1],)


async def test_a_start_put_back_moves_what_was_seen_before_with_it(tmp_path) -> None:
    async with at_seat(tmp_path, LESSON) as seat:
        await seat.press("s 1 plus d space g escape")
        await seat.press("s 1 0 enter")
        lesson = seat.desk.lesson("T4", "C01")
        assert {moment.minute_text.split(":")[0] for moment in lesson.timeline()} <= {"9", "10"}
        await seat.press("1 plus")
        assert lesson.timeline()[-1].minute_text.split(":")[0] == "10"


# --- the morning -----------------------------------------------------------------------------------


async def test_a_morning_line_that_cannot_be_is_asked_again_and_the_next_line_stays_clean(tmp_path) -> None:
    async with at_seat(tmp_path, "board") as seat:
        await seat.press("m 3")
        await seat.type("fast")
        await seat.press("enter")
        assert "a whole number" in seat.message and "Input should" not in seat.text
        assert "wind, km/h:" in seat.text
        await seat.press("backspace " * 4)
        await seat.type("20")
        await seat.press("enter escape")
        assert seat.desk.day_book.morning() == {"wind_kmh": "20"}


async def test_an_act_that_closed_its_own_page_ends_quietly_when_the_page_is_gone_already(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("k")
        gone = seat.app.screen

        async def done() -> None:
            return

        await seat.press("escape")
        await seat.pilot.pause()
        await gone.remove_children()
        gone.flow = done()
        gone.go_on(None)
        assert isinstance(seat.app.screen, RunScreen)


async def test_what_is_missing_is_written_where_it_is_listed_sheet_after_sheet(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 3 4 4 4 4 2 4 b 2 0 k n")
        assert "stands for Edging" in seat.text
        await seat.type("tails wash")
        await seat.press("enter")
        assert "Nothing is missing" in seat.text
        await seat.press("down n")
        await seat.type("wide")
        await seat.press("enter")
        assert [seat.desk.slot("T1", who).needing_evidence() for who in ("C01", "C02")] == [(), ()]
        await seat.press("u")
        assert seat.desk.slot("T1", "C02").needing_evidence() == ("line",)
        assert 'taken back: note "wide"' in seat.message


async def test_all_that_is_said_when_all_rows_are_marked_fits_on_one_line(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press(["4"] * 16)
        assert seat.message.endswith("before the lock")


@pytest.mark.parametrize(("start", "before", "keys"), [(T1, "4", "n"), (LESSON, "s", "n"), (LESSON, "s f", "n 1 1")])
async def test_a_note_that_is_too_long_is_kept_as_a_draft_to_be_made_shorter(
    tmp_path, start, before: str, keys: str
) -> None:
    async with at_seat(tmp_path, start) as seat:
        await seat.press(f"{before} {keys}")
        seat.app.screen.query_one(TextLine).value = "x" * 8001
        await seat.pilot.pause()
        await seat.press("enter")
        assert "8000 are the most" in seat.message
        await seat.press(keys)
        assert seat.app.screen.query_one(TextLine).value == "x" * 8001


async def test_a_window_that_closes_writes_a_long_draft_in_pieces_and_the_others_too(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 5 5 4 n")
        await seat.type("of the first")
        await seat.press("escape down n")
        seat.app.screen.query_one(TextLine).value = "x" * 8001
        await seat.pilot.pause()
        seat.app.screen.leave_drafts()
        notes = [seat.desk.slot("T1", who).sheet.observations for who in ("C01", "C03")]
        assert [[len(seen.fact.text) for seen in some] for some in notes] == [[12], [8000, 1]]
