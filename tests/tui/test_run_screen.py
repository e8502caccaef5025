from __future__ import annotations

import pytest

from tests.courses import open_desk
from tests.tui.rest import rest
from tests.tui.seat import NAMES, at_seat

T1 = ("task", "T1")
TEN = (*NAMES, "Greta Halvik", "Hanno Tresk", "Ines Corvald", "Jory Platt")


def cells(seat, candidate: str) -> list[str]:
    return [cell.text for cell in seat.desk.run_sheet("T1").row(candidate).cells]


async def test_ten_candidates_by_four_criteria_are_forty_digits_and_nothing_else(tmp_path) -> None:
    async with at_seat(tmp_path, T1, candidates=10, names=TEN) as seat:
        digits = [str(1 + (row + column) % 6) for row in range(10) for column in range(4)]
        await seat.press(digits)
        rows = [[cell.text for cell in row.cells] for row in seat.desk.run_sheet("T1").rows()]
        assert [text for row in rows for text in row] == digits
        assert "all rows are marked" in seat.message


async def test_a_mark_is_on_the_disk_without_a_further_key(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 5")
        assert seat.desk.drain(2)
        await rest(seat.pilot)
        assert "saved 09:45" in seat.line("saved")
        lines = [path.read_text(encoding="utf-8") for path in sorted((tmp_path / "course" / "sheets").iterdir())]
        assert sum(line.count('"kind": "score"') for line in lines) == 2


async def test_a_held_key_counts_once_and_is_never_written_twice(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4", settle=False)
        await seat.press("4", gap_ms=400, settle=False)
        assert "[ ]" in seat.line("20 Aldous")
        assert seat.line("20 Aldous").count("4") == 2, "shown at once"
        await seat.press("4 4 4 4 4", gap_ms=30)
        assert cells(seat, "C01") == ["4", "·", "·", "·"]
        assert seat.line("20 Aldous").split("jacket")[1].split()[:2] == ["4", "["]
        assert len(seat.desk.slot("T1", "C01").sheet.history) == 1


async def test_honest_equal_digits_160_ms_apart_count_twice(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 4 4 4", gap_ms=160)
        assert cells(seat, "C01") == ["4", "4", "4", "4"]


async def test_an_equal_digit_within_a_keyboard_s_delay_is_written_after_60_ms(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 4", gap_ms=300, settle=False)
        assert cells(seat, "C01") == ["4", "·", "·", "·"], "not yet"
        seat.now_ms += 100
        await seat.idle()
        assert cells(seat, "C01") == ["4", "4", "·", "·"]


async def test_another_digit_commits_the_one_that_was_shown(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 4 3", gap_ms=300)
        assert cells(seat, "C01") == ["4", "4", "3", "·"]


async def test_a_held_undo_takes_one_act_back(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 5 3")
        await seat.press("u", settle=False)
        await seat.press("u", gap_ms=500, settle=False)
        await seat.press("u u u u", gap_ms=30)
        assert cells(seat, "C01") == ["4", "5", "·", "·"]


async def test_arrows_repeat_as_often_as_they_come(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("down down down", gap_ms=30)
        assert "> 23" in seat.text


async def test_a_level_the_rubric_does_not_have_is_refused_in_a_sentence_that_blocks_nothing(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("9")
        assert seat.message == "9 is no level; levels go from 1 to 6"
        await seat.press("6")
        assert cells(seat, "C01")[0] == "6"


async def test_not_observed_is_never_a_number(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("0")
        assert cells(seat, "C01") == ["no", "·", "·", "·"]
        assert seat.desk.slot("T1", "C01").sheet.mark("over-feet").level is None


async def test_not_applicable_asks_its_reason_once_per_task(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("full_stop")
        assert "(asked once)" in seat.text
        await seat.type("no bumps")
        await seat.press("enter")
        assert cells(seat, "C01") == ["na", "·", "·", "·"]
        await seat.press("b 2 1 full_stop")
        assert "(asked once)" not in seat.text
        assert cells(seat, "C02") == ["na", "·", "·", "·"]


async def test_the_panel_says_what_the_level_just_given_means(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4")
        panel = seat.text.splitlines()[-6:-2]
        assert [line.split()[0 if index else 2] for index, line in enumerate(panel[1:])] == ["3", ">4", "5"]


async def test_all_levels_are_shown_whole_and_digits_still_mark(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("h")
        shown = " ".join(seat.text.split())
        for text in seat.desk.rubric_for("T1").criteria["over-feet"].levels.values():
            assert " ".join(text.split()) in shown
        await seat.press("5")
        assert cells(seat, "C01")[0] == "5"


# --- put right within six keys -------------------------------------------------------------------


@pytest.mark.parametrize("keys", ["x 2 3", "b 2 0 x 2 3", "plus 1 2 3"])
async def test_a_wrong_bib_is_put_right_in_at_most_six_keys(tmp_path, keys: str) -> None:
    assert len(keys.split()) <= 6
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 3 5 4")
        await seat.press(keys)
        assert cells(seat, "C04") == ["4", "3", "5", "4"]
        assert cells(seat, "C01") == ["·", "·", "·", "·"]
        assert "> 20" in seat.text


@pytest.mark.parametrize("keys", ["o 1", "b 2 1 o 1", "minus 2 1 plus 2 1"])
async def test_a_late_arrival_takes_at_most_six_keys(tmp_path, keys: str) -> None:
    assert len(keys.split()) <= 6
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 3 5 4")
        await seat.press(keys)
        assert [row.bib for row in seat.desk.run_sheet("T1").rows()] == [20, 22, 23, 21]
        assert "late" in seat.line("21 Beric")
        assert "> 22" in seat.text


@pytest.mark.parametrize("keys", ["o 3", "o 4 3", "b 2 1 o 4 3"])
async def test_a_moved_row_takes_at_most_six_keys(tmp_path, keys: str) -> None:
    assert len(keys.split()) <= 6
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 3 5 4")
        await seat.press(keys)
        assert [row.bib for row in seat.desk.run_sheet("T1").rows()] == [20, 22, 21, 23]


@pytest.mark.parametrize("keys", ["o 6", "b 2 1 o 6", "minus 2 1 plus 2 6"])
async def test_a_withdrawal_takes_at_most_six_keys(tmp_path, keys: str) -> None:
    assert len(keys.split()) <= 6
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 3 5 4")
        await seat.press(keys)
        assert "withdrawn" in seat.line("21 Beric")
        assert "> 22" in seat.text
        await seat.press("up 4")
        assert "withdrawn" in seat.message


async def test_starts_now_puts_the_row_before_all_without_a_mark(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 3 5 4 b 2 3 o 2")
        assert [row.bib for row in seat.desk.run_sheet("T1").rows()] == [20, 23, 21, 22]
        assert "> 23" in seat.text


async def test_two_rows_with_marks_change_places(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 4 4 4 3 3 3 3 b 2 0 x 2 1", gap_ms=160)
        assert (cells(seat, "C01"), cells(seat, "C02")) == (["3"] * 4, ["4"] * 4)
        await seat.press("u")
        assert (cells(seat, "C01"), cells(seat, "C02")) == (["4"] * 4, ["3"] * 4)


async def test_a_bib_that_is_not_mine_is_refused(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("b 9 9")
        assert seat.message.startswith("nobody wears bib 99")
        assert cells(seat, "C01") == ["·"] * 4, "no digit of it became a mark"


async def test_a_bib_jump_waits_while_a_longer_number_could_be_meant(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        seat.desk.day_book.bib_change("C01", 2)
        await seat.press("o escape o 1 u")
        await seat.press("b 2")
        assert "go to bib 2_" in seat.text
        await seat.press("enter")
        assert ">  2" in seat.text


# --- undo ------------------------------------------------------------------------------------------


async def test_undo_takes_every_act_back_one_by_one_and_shows_where(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 3 u")
        assert cells(seat, "C01") == ["4", "·", "·", "·"]
        assert "[ ]" in seat.line("20 Aldous")
        await seat.press("u")
        assert cells(seat, "C01") == ["·"] * 4
        await seat.press("u")
        assert seat.message == "nothing of this task to take back"


async def test_undo_works_after_a_restart(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 3")
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("u u")
        assert cells(seat, "C01") == ["·"] * 4


async def test_a_change_of_order_is_taken_back_too(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("o 1 u")
        assert [row.bib for row in seat.desk.run_sheet("T1").rows()] == [20, 21, 22, 23]


# --- notes, runs, two at once ------------------------------------------------------------------------


async def test_a_note_after_the_last_digit_belongs_to_the_bib_just_marked(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 3 4 4 n")
        assert "note, bib 20 Aldous Prynne:" in seat.text
        await seat.type("tails wash left")
        await seat.press("enter")
        assert seat.desk.slot("T1", "C01").sheet.observations[-1].fact.text == "tails wash left"
        assert seat.desk.slot("T1", "C01").needing_evidence() == ()
        await seat.press("5")
        assert cells(seat, "C02")[0] == "5", "the next bib stayed up"


async def test_a_held_note_key_types_nothing_into_the_note(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("n", settle=False)
        await seat.press("n", gap_ms=400, settle=False)
        await seat.press("n n n", gap_ms=30)
        await seat.type("edge")
        await seat.press("enter")
        assert seat.desk.slot("T1", "C01").sheet.observations[-1].fact.text == "edge"


async def test_a_note_may_begin_with_the_letter_that_opened_it(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("n")
        await seat.type("nice")
        await seat.press("enter")
        assert seat.desk.slot("T1", "C01").sheet.observations[-1].fact.text == "nice"


async def test_a_note_that_was_left_is_a_draft(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("n")
        await seat.type("half a")
        await seat.press("escape")
        assert seat.desk.slot("T1", "C01").sheet.observations == ()
        await seat.press("n")
        assert "half a" in seat.text


async def test_a_tag_is_found_by_a_word_of_the_catalogue_and_kept_by_its_id(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("t")
        await seat.names_read()
        await seat.type("hips")
        assert "hips behind the feet" in seat.text
        await seat.press("enter")
        assert seat.desk.slot("T1", "C01").sheet.observations[-1].fact.tags == ("aft-stance",)


async def test_free_words_may_be_taken_though_a_name_begins_alike(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("t")
        await seat.names_read()
        await seat.type("hip")
        assert "as typed: hip" in seat.text
        await seat.press("up enter")
        assert seat.desk.slot("T1", "C01").sheet.observations[-1].fact.tags == ("hip",)


async def test_another_run_keeps_the_first_beside_it(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 3 4 5 r 1")
        assert "run 2 of 2" in seat.text
        await seat.press("5")
        row = seat.desk.run_sheet("T1").row("C01")
        assert (row.cells[0].earlier, row.cells[0].text) == (("4",), "5")
        assert "4 5" in seat.line("20 Aldous")


async def test_a_rerun_is_for_one_row_and_the_others_stay_in_their_run(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 3 4 5 r 2")
        assert seat.message.startswith("run 2 of bib 20 Aldous Prynne: obstructed")
        await seat.press("6 6 6 6", gap_ms=160)
        await seat.press("3")
        rows = seat.desk.run_sheet("T1").rows()
        assert [cell.text for cell in rows[0].cells] == ["6"] * 4
        assert [cell.earlier for cell in rows[0].cells] == [("4",), ("3",), ("4",), ("5",)]
        assert seat.desk.slot("T1", "C02").sheet.run_mark(1, "over-feet").level == 3
    async with at_seat(tmp_path, T1) as seat:
        assert cells(seat, "C01") == ["6"] * 4, "after a restart too"
        assert cells(seat, "C02")[0] == "3"


async def test_two_candidates_at_once_tab_goes_between_their_open_cells(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 b 2 2 3 tab 5 tab 2")
        assert cells(seat, "C01")[:2] == ["4", "5"]
        assert cells(seat, "C03")[:2] == ["3", "2"]


async def test_an_overall_mark_is_set_with_the_earlier_digits_hidden(tmp_path) -> None:
    async with at_seat(tmp_path, ("task", "T3"), tasks=("T3",)) as seat:
        await seat.press("4 3 4 5 a")
        assert "overall marks" in seat.text
        assert not set("345") & set(seat.line("20 Aldous").split("jacket")[1])
        await seat.press("6")
        assert seat.desk.slot("T3", "C01").sheet.run_mark(0, "over-feet").level == 6
        assert "4 6" in seat.line("20 Aldous")


# --- safety and lock ---------------------------------------------------------------------------------


async def test_a_breach_is_reported_by_the_key_itself_and_completed_later(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("g")
        for words in ("Stop, protect, call", "what", "where", "who at risk"):
            assert words in seat.text
        assert len(seat.desk.slot("T1", "C01").sheet.breaches) == 1
        await seat.press("escape k")
        assert "breach report to be completed" in seat.text
        await seat.press("escape c 3")
        await seat.type("into the lane")
        await seat.press("enter")
        await seat.type("by the pylon")
        await seat.press("enter")
        await seat.type("two children")
        await seat.press("enter")
        report = seat.desk.slot("T1", "C01").sheet.breaches[0]
        assert (report.must_not, report.what, report.where, report.who, report.lacking) == (
            "people-put-at-risk", "into the lane", "by the pylon", "two children", (),
        )  # fmt: skip


async def test_what_was_typed_before_esc_is_kept_with_the_report(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("g")
        await seat.type("rope")
        await seat.press("escape 4")
        assert seat.desk.slot("T1", "C01").sheet.breaches[0].what == "rope"
        assert cells(seat, "C01")[0] == "4"


async def test_a_breach_interrupts_a_list_and_undo_takes_it_back(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("plus slash")
        assert len(seat.desk.slot("T1", "C01").sheet.breaches) == 1
        await seat.press("escape asterisk")
        assert seat.desk.slot("T1", "C01").sheet.breaches == ()


async def test_the_holes_stand_before_the_lock_and_enter_locks(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 5 4 5 k")
        assert "Nothing is missing" in seat.text
        await seat.press("enter")
        assert seat.desk.slot("T1", "C01").locked
        assert "locked" in seat.line("20 Aldous")
        assert "is locked" in seat.message


async def test_a_sheet_with_holes_is_not_locked_and_says_why(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 2 4 k")
        assert "Edging: this level needs an observation" in " ".join(seat.text.split())
        assert "Speed: no mark yet" in seat.text
        await seat.press("enter")
        assert not seat.desk.slot("T1", "C01").locked
        assert "cannot be locked: 2 missing" in seat.message


async def test_a_held_enter_opens_the_holes_and_locks_nothing(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 5 4 5")
        await seat.press("enter", settle=False)
        await seat.press("enter", gap_ms=500, settle=False)
        await seat.press("enter enter", gap_ms=30)
        assert not seat.desk.slot("T1", "C01").locked


async def test_all_sheets_without_holes_are_locked_at_once(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 5 4 5 5 4 5 4 2 k a 1")
        assert [seat.desk.slot("T1", who).locked for who in ("C01", "C02", "C03")] == [True, True, False]
        assert "2 sheets are locked" in seat.message


async def test_a_locked_row_takes_no_mark(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 5 4 5 k enter up 3")
        assert "is locked" in seat.message
        assert cells(seat, "C01") == ["4", "5", "4", "5"]


# --- blind ---------------------------------------------------------------------------------------------


async def test_a_partner_s_marks_and_words_are_on_no_screen_before_both_are_locked(tmp_path) -> None:
    async with at_seat(tmp_path, T1):
        pass
    partner = open_desk(tmp_path / "course", "A2", device="x9z8w")
    theirs = partner.slot("T1", "C01")
    for criterion, level in zip(theirs.criteria, (1, 2, 1, 2), strict=True):
        theirs.score(criterion, level)
    theirs.note("PARTNERWORD", theirs.criteria, tags=("PARTNERTAG",))
    theirs.breach("people-put-at-risk", "PARTNERBREACH", "there", "them")
    theirs.lock()
    partner.close()
    async with at_seat(tmp_path, T1) as seat:
        seen = [seat.text]
        for keys in ("k", "escape q", "r", "escape m", "escape"):
            await seat.press(keys)
            seen.append(seat.text)
        whole = "\n".join(seen)
        assert "A2 locked" in whole, "that is all one may know"
        assert "PARTNER" not in whole
        assert not set("12") & set(seen[0].splitlines()[2].split("jacket")[1])
        assert "not shown: not released" in whole


# --- names and sizes -------------------------------------------------------------------------------------

HOSTILE = ("[bold]Ob[/] [x", "👩‍👩‍👧 Eda 🎿", "محمد علي", "山田 太郎", "e\u0301tienne R", "N" * 60)


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_hostile_names_are_shown_as_they_are_and_cells_stay_in_their_columns(tmp_path, size) -> None:
    from rich.cells import cell_len

    async with at_seat(tmp_path, T1, size=size, candidates=6, names=HOSTILE) as seat:
        await seat.press("6 5 6 5 6 5 6 5 6 5 6 5 6 5 6 5 6 5 6 5 6 5 6")
        lines = [line for line in seat.text.splitlines() if "\u2420" not in line]
        rows = [line for line in lines if line[2:4] in ("20", "21", "22", "23", "24", "25")]
        assert len(rows) == 6
        for name, row in zip(HOSTILE[:4], rows, strict=False):
            assert name[:11] in row
            assert name in row or size[0] < 80
        assert "e\u0301tienne R" in rows[4]
        assert "NNNN" in rows[5]
        assert "…" in rows[5]
        columns = {cell_len(row[: row.rindex("6", 0, row.rindex("5"))]) for row in rows[:5]}
        assert len(columns) == 1, "the marks stand under one another"
        assert all(cell_len(row) <= size[0] for row in rows)


@pytest.mark.parametrize("size", [(59, 24), (80, 19)])
async def test_a_window_too_small_says_so_and_marks_nothing(tmp_path, size) -> None:
    async with at_seat(tmp_path, T1, size=size) as seat:
        assert "assess needs 60 by 20" in " ".join(seat.text.split())
        await seat.press("4")
        assert cells(seat, "C01")[0] == "·"
        await seat.pilot.resize_terminal(80, 24)
        await seat.press("4")
        assert cells(seat, "C01")[0] == "4"


async def test_another_bib_is_written_in_at_most_six_keys_and_the_marks_stay_with_the_person(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4 up")
        await seat.press("o 8 2 1 enter")
        assert (seat.desk.bib("C01"), seat.desk.bib("C02")) == (21, 20)
        assert "4" in seat.line("21 Aldous")
        await seat.press("u")
        assert (seat.desk.bib("C01"), seat.desk.bib("C02")) == (20, 21)
