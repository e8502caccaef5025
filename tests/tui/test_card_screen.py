"""Typing in a paper card: its number, then box by box in its own order; every key is kept as it is pressed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from assess.desk.card_numbers import CardPlan, cards_of
from assess.records.facts import FromCard
from assess.tui.board_screen import BoardScreen
from assess.tui.card_screen import CardScreen
from assess.tui.lesson_card_screen import LessonCardScreen
from tests.courses import FixedClock, build_course, open_desk
from tests.tui.seat import Seat, at_seat

ENTER, NO_TIME = ["enter"], ["enter"]


def cards(desk: Any, kind: str, who: str = "A1") -> list[CardPlan]:
    return [plan for plan in cards_of(desk, who) if plan.kind == kind]


def from_card(seat: Seat, task: str, candidate: str) -> list[FromCard]:
    ledgers = seat.desk.shelf.sheet((task, candidate, "A1"))
    return [entry.fact for ledger in ledgers for entry in ledger.entries if isinstance(entry.fact, FromCard)]


async def test_a_run_card_is_typed_in_box_by_box_with_its_time_and_notes(tmp_path: Path) -> None:
    async with at_seat(tmp_path, candidates=3) as seat:
        plan = cards(seat.desk, "run")[0]
        await seat.press(["t", *plan.number, "enter", *"0946", *"4443", *"3.", "escape"])
        assert "card" in seat.text and plan.number in seat.text and "on the hill 09:46" in seat.text
        await seat.press([*"344", *"5555"])
        assert "a note for bib" in seat.text
        await seat.press([*"20"])
        await seat.type("tails wash")
        await seat.press(["enter", "enter"])
        assert "is typed in" in seat.message
        marks = [seat.desk.slot("T1", who).sheet.run_mark(1, "edging").level for who in plan.candidates]
        assert marks == [4, 3, 5]
        for who in plan.candidates:
            assert [fact.on_the_hill for fact in from_card(seat, "T1", who)] == ["09:46"]
        assert seat.desk.slot("T1", "C01").sheet.observations[0].fact.text == "tails wash"


async def test_not_seen_and_undo_work_as_on_the_run_sheet(tmp_path: Path) -> None:
    async with at_seat(tmp_path, candidates=2) as seat:
        plan = cards(seat.desk, "run")[0]
        await seat.press(["t", *plan.number, "enter", "enter", "0", "4", "u", "5"])
        sheet = seat.desk.slot("T1", "C01").sheet
        assert sheet.run_mark(1, plan.criteria[0]).status == "not-observed"
        assert sheet.run_mark(1, plan.criteria[1]).level == 5
        assert [fact.on_the_hill for fact in from_card(seat, "T1", "C01")] == [None]
        await seat.press(["u", "u", "u"])
        assert not seat.desk.slot("T1", "C01").sheet.runs


async def test_the_order_is_the_cards_also_when_the_running_order_changed(tmp_path: Path) -> None:
    async with at_seat(tmp_path, candidates=3) as seat:
        plan = cards(seat.desk, "run")[0]
        seat.desk.run_sheet("T1").order("C01", "late")
        await seat.press(["t", *plan.number, "enter", "enter"])
        assert [row.candidate for row in seat.app.screen.rows] == ["C01", "C02", "C03"]


async def test_a_card_of_the_overall_mark_gives_overall_marks(tmp_path: Path) -> None:
    async with at_seat(tmp_path, candidates=1, tasks=("T3",)) as seat:
        plan = next(plan for plan in cards(seat.desk, "run") if plan.run == 0)
        await seat.press(["t", *plan.number, "enter", "enter", "4", "4", "4", "5"])
        marks = seat.desk.slot("T3", "C01").sheet.runs
        assert [(mark.run, mark.level) for mark in marks] == [(0, 4), (0, 4), (0, 4), (0, 5)]


async def test_a_wrong_a_foreign_and_a_locked_card_are_refused_in_one_sentence(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=1)
    desk = open_desk(root)
    plan = cards(desk, "run")[0]
    foreign = cards(desk, "run", "A2")[0]
    numbers = {item.number for who in ("A1", "A2") for item in cards_of(desk, who)}
    for criterion in plan.criteria:
        desk.slot("T1", "C01").score(criterion, 4)
    desk.slot("T1", "C01").lock()
    assert desk.close()
    nobodys = next(str(number) for number in range(10_000, 99_999) if str(number) not in numbers)
    async with at_seat(tmp_path) as seat:
        for number, told in (
            (plan.number, f"card {plan.number}: its sheet is locked"),
            (foreign.number, f"card {foreign.number} is A2's, not yours"),
            (nobodys, f"there is no card {nobodys} in this course as it is planned now"),
        ):
            await seat.press(["t", *number, "enter"])
            assert told in " ".join(seat.text.split())
            assert isinstance(seat.app.screen, BoardScreen)


async def test_no_time_of_day_is_refused(tmp_path: Path) -> None:
    async with at_seat(tmp_path, candidates=1) as seat:
        await seat.press(["t", *cards(seat.desk, "run")[0].number, "enter", *"2575"])
        assert "2575 is no time of day" in seat.text
        assert isinstance(seat.app.screen, BoardScreen)


async def test_a_director_types_in_no_card(tmp_path: Path) -> None:
    async with at_seat(tmp_path, who="D1") as seat:
        await seat.press("t")
        assert "typed in by the assessor who wrote them" in seat.message


async def test_a_lesson_card_is_typed_in_from_top_to_bottom(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=2)
    clock = FixedClock(1_770_033_600_000)  # 12:00 UTC of the first day
    desk = open_desk(root, clock=clock)
    async with at_seat(tmp_path, desk=desk) as seat:
        plan = cards(desk, "lesson")[0]
        await seat.press(["t", *plan.number, "enter", *"0945", *"1010"])
        assert isinstance(seat.app.screen, LessonCardScreen)
        await seat.press(["plus", "plus", "minus", "4", "5", "u", "3", "enter", "0"])
        assert "drill:" in seat.text
        await seat.type("falling leaf with my own name")
        await seat.press(["enter", "enter"])
        await seat.press([*"1112", "enter", *"34111"])
        assert "note," in seat.text
        await seat.type("stood under the roll")
        await seat.press(["enter", "enter"])
        assert "is typed in" in seat.message
        sheet = desk.lesson("T4", plan.candidates[0]).sheet
        assert sheet.started_at.startswith("2026-02-02T09:45:0") and sheet.ended.minute_ms == 25 * 60_000
        marks = {mark.criterion: (mark.status, mark.level) for mark in sheet.marks}
        first, second, _, last = plan.criteria
        assert marks == {first: ("scored", 4), second: ("scored", 3), last: ("not-observed", None)}
        directions = [seen.fact.direction for seen in sheet.observations]
        assert directions == ["for", "for", "against", None]
        assert all(seen.fact.minute_ms is None for seen in sheet.observations)
        assert [seen.fact.minute_ms for seen in sheet.drills] == [None]
        assert {moment.minute_text for moment in desk.lesson("T4", plan.candidates[0]).timeline()} == {"-", "25:00"}
        states = list(desk.lesson("T4", plan.candidates[0]).safety_states().values())
        assert states == ["done"] * 3 + ["missed", None, "violated", "not-applicable"] + ["done"] * 3
        assert [fact.on_the_hill for fact in from_card(seat, "T4", plan.candidates[0])] == ["09:45"]


async def test_a_lesson_card_that_was_left_goes_on_where_it_was(tmp_path: Path) -> None:
    async with at_seat(tmp_path, candidates=1, tasks=("T4",)) as seat:
        plan = cards(seat.desk, "lesson")[0]
        await seat.press(["t", *plan.number, "enter", "enter", "4", "5", "escape"])
        assert "is kept" in seat.message
        await seat.press(["q", "t", *plan.number, "enter"])
        assert "was begun before" in seat.text
        await seat.press(["enter", "6"])
        marks = {mark.criterion: mark.level for mark in seat.desk.lesson("T4", "C01").sheet.marks}
        assert marks == dict(zip(plan.criteria, (4, 5, 6), strict=False))


async def test_what_is_half_written_is_kept_when_the_window_goes(tmp_path: Path) -> None:
    async with at_seat(tmp_path, candidates=1, tasks=("T1",)) as seat:
        plan = cards(seat.desk, "run")[0]
        await seat.press(["t", *plan.number, "enter", "enter", *"4444", *"20"])
        await seat.type("half a no")
        assert isinstance(seat.app.screen, CardScreen)
        seat.app.screen.leave_drafts()
        assert [seen.fact.text for seen in seat.desk.slot("T1", "C01").sheet.observations] == ["half a no"]


async def test_a_case_file_says_which_card_a_sheet_came_from_and_when_it_was_written(tmp_path: Path) -> None:
    from assess.desk.case_page import case_lines
    from assess.desk.case_record import case_record

    root = build_course(tmp_path / "course", candidates=1, assessors=("A1",), tasks=("T6",))
    async with at_seat(tmp_path) as seat:
        plan = cards(seat.desk, "run")[0]
        await seat.press(["t", *plan.number, "enter", *"0946", *"4444", "enter"])
        seat.desk.slot("T6", "C01").lock()
    director = open_desk(root, "D1")
    record = case_record(director, "C01")
    told = [item for slot in record["slots"] for sheet in slot["sheets"] for item in sheet["from_cards"]]
    assert [(item["card"], item["on_the_hill"]) for item in told] == [(plan.number, "09:46")]
    assert f"card {plan.number}, on the hill 09:46, typed in" in " ".join(" ".join(case_lines(record)).split())
    director.close()


async def test_an_enter_after_the_five_digits_leaves_no_time_out(tmp_path: Path) -> None:
    async with at_seat(tmp_path, candidates=2) as seat:
        plan = cards(seat.desk, "lesson")[0]
        await seat.press(["t", *plan.number])
        bib = seat.desk.bib(plan.candidates[0])
        assert f"{plan.task}, bib {bib} " in seat.text and "Enter opens it" in seat.text
        await seat.press(["enter"])
        assert "began" in seat.text


async def test_an_unknown_number_is_told_before_it_is_taken_and_too_few_digits_are_not(tmp_path: Path) -> None:
    async with at_seat(tmp_path, candidates=1) as seat:
        await seat.press(["t", *"12", "enter"])
        assert "card no. 12_" in seat.text
        await seat.press([*"345"])
        assert "no card of yours has this number" in seat.text


async def test_times_left_out_by_mistake_are_asked_again_by_undo(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=2)
    desk = open_desk(root, clock=FixedClock(1_770_033_600_000))
    async with at_seat(tmp_path, desk=desk) as seat:
        plan = cards(desk, "lesson")[0]
        await seat.press(["t", *plan.number, "enter", "enter", "u", *"0945", *"1010"])
        assert desk.lesson("T4", plan.candidates[0]).sheet.started_at.startswith("2026-02-02T09:45:0")
        await seat.press(["4", "u", "u", "u"])
        assert "began" in seat.text
