from __future__ import annotations

import pytest

from assess.records.errors import Refusal
from tests.courses import build_course, open_desk


@pytest.fixture
def desk(tmp_path):
    desk = open_desk(build_course(tmp_path / "course", candidates=3))
    yield desk
    desk.close()


def texts(sheet, candidate):
    return [cell.text for cell in sheet.row(candidate).cells]


def test_a_digit_is_shown_at_once_and_is_there_after_reopening(desk) -> None:
    sheet = desk.run_sheet("T1")
    sheet.slot("C01").score("edging", 3)
    assert texts(sheet, "C01") == ["·", "3", "·", "·"]
    assert desk.drain()
    desk.close()
    again = open_desk(desk.folder.root)
    assert texts(again.run_sheet("T1"), "C01") == ["·", "3", "·", "·"]


def test_nothing_is_written_before_the_first_act(desk) -> None:
    before = sorted(path for path in desk.folder.root.rglob("*"))
    desk.board()
    desk.run_sheet("T1").rows()
    desk.run_sheet("T1").undo()
    desk.lesson("T4", "C01").timeline()
    assert sorted(path for path in desk.folder.root.rglob("*")) == before


def test_a_level_outside_the_scale_and_a_foreign_criterion_are_refused(desk) -> None:
    slot = desk.run_sheet("T1").slot("C01")
    with pytest.raises(Refusal, match="levels go from 1 to 6"):
        slot.score("edging", 7)
    with pytest.raises(Refusal, match="no criterion of T1"):
        slot.score("rhythm", 3)
    assert slot.sheet.marks == ()


def test_not_observed_and_not_applicable_are_words_and_the_reason_is_asked_once_per_task(desk) -> None:
    sheet = desk.run_sheet("T1")
    sheet.slot("C01").not_observed("edging", "fog")
    with pytest.raises(Refusal, match="why"):
        sheet.slot("C01").not_applicable("line")
    sheet.slot("C01").not_applicable("line", "no gates of snow today")
    sheet.slot("C02").not_applicable("line")
    assert texts(sheet, "C01")[1:3] == ["no", "na"]
    assert texts(sheet, "C02")[2] == "na"


def test_undo_takes_back_the_latest_act_on_any_row_and_goes_on_after_a_restart(desk) -> None:
    sheet = desk.run_sheet("T1")
    sheet.slot("C01").score("edging", 3)
    sheet.slot("C02").score("edging", 5)
    desk.close()
    again = open_desk(desk.folder.root)
    sheet = again.run_sheet("T1")
    assert sheet.undo() == "bib 21: Edging 5"
    assert texts(sheet, "C02")[1] == "·"
    assert sheet.undo() == "bib 20: Edging 3"
    assert sheet.undo() is None
    again.close()


def test_marks_given_to_a_wrong_bib_are_moved_and_both_sheets_keep_it(desk) -> None:
    sheet = desk.run_sheet("T1")
    for criterion, level in zip(sheet.criteria, (3, 3, 4, 4), strict=True):
        sheet.slot("C01").score(criterion, level)
    sheet.slot("C01").note("tails wash left")
    assert sheet.give_to("C01", 22) == "C03"
    assert texts(sheet, "C01") == ["·"] * 4
    assert texts(sheet, "C03") == ["3", "3", "4", "4"]
    assert sheet.slot("C03").needing_evidence() == ()
    assert [mark.state for mark in sheet.slot("C01").sheet.history] == ["moved away"] * 4
    assert sheet.undo() == "bib 20: the marks are back"
    assert texts(sheet, "C01") == ["3", "3", "4", "4"]
    assert texts(sheet, "C03") == ["·"] * 4


def test_two_bibs_swapped_change_places_and_one_undo_puts_them_back(desk) -> None:
    sheet = desk.run_sheet("T1")
    sheet.slot("C01").score("edging", 2)
    sheet.slot("C02").score("edging", 5)
    sheet.give_to("C01", 21)
    assert (texts(sheet, "C01")[1], texts(sheet, "C02")[1]) == ("5", "2")
    sheet.undo()
    assert (texts(sheet, "C01")[1], texts(sheet, "C02")[1]) == ("2", "5")


def test_a_moved_row_stands_where_it_was_put_and_undo_puts_it_back(desk) -> None:
    sheet = desk.run_sheet("T1")
    sheet.order("C01", "late")
    assert [row.candidate for row in sheet.rows()] == ["C02", "C03", "C01"]
    assert sheet.undo() == "the change of order"
    assert [row.candidate for row in sheet.rows()] == ["C01", "C02", "C03"]


def test_a_low_mark_without_an_observation_cannot_be_locked_and_one_note_answers_all(desk) -> None:
    slot = desk.run_sheet("T1").slot("C01")
    for criterion in slot.criteria:
        slot.score(criterion, 3)
    with pytest.raises(Refusal, match="not complete"):
        slot.lock()
    note = slot.note("tails wash in the last third")
    assert note.fact.criteria == slot.criteria
    slot.lock()
    assert slot.locked
    with pytest.raises(Refusal, match="is locked"):
        slot.score("edging", 4)


def test_a_second_run_stands_beside_the_first(desk) -> None:
    sheet = desk.run_sheet("T1")
    slot = sheet.slot("C01")
    slot.score("edging", 3)
    sheet.start_run(2)
    slot.score("edging", 5)
    cell = sheet.row("C01").cells[1]
    assert (cell.earlier, cell.text) == (("3",), "5")
    assert slot.sheet.mark("edging").level == 5


def test_a_rerun_needs_one_of_the_rubrics_reasons(desk) -> None:
    slot = desk.run_sheet("T1").slot("C01")
    with pytest.raises(Refusal, match="gives no further run"):
        slot.rerun("fall")
    slot.rerun("obstructed")
    assert slot.run == 2


def test_somebody_who_does_not_mark_a_slot_is_refused(tmp_path) -> None:
    desk = open_desk(build_course(tmp_path / "other"), "D1")
    with pytest.raises(Refusal, match="mark nobody"):
        desk.run_sheet("T1")
    desk = open_desk(build_course(tmp_path / "more"), None)
    with pytest.raises(Refusal, match="--as"):
        desk.slot("T1", "C01")


def test_the_three_descriptors_are_the_level_given_and_its_neighbours(desk) -> None:
    sheet = desk.run_sheet("T1")
    assert [level for level, _ in sheet.descriptors("edging", 4)] == [3, 4, 5]
    assert [level for level, _ in sheet.descriptors("edging", 6)] == [4, 5, 6]
    assert [level for level, _ in sheet.descriptors("edging", 1)] == [1, 2, 3]
    assert [level for level, _ in sheet.descriptors("edging", None)] == [3, 4, 5]


def test_two_people_who_swapped_bibs_keep_their_marks_and_undo_swaps_them_back(desk) -> None:
    sheet = desk.run_sheet("T1")
    sheet.slot("C01").score("edging", 3)
    desk.day_book.bib_change("C01", 21)
    assert (desk.bib("C01"), desk.bib("C02"), desk.by_bib(21)) == (21, 20, "C01")
    assert texts(sheet, "C01")[1] == "3"
    assert sheet.undo() == "the change of bib"
    assert (desk.bib("C01"), desk.bib("C02")) == (20, 21)
    desk.day_book.bib_change("C01", 77)
    assert desk.by_bib(77) == "C01" and desk.by_bib(20) is None
    with pytest.raises(Refusal, match="already"):
        desk.day_book.bib_change("C01", 77)
