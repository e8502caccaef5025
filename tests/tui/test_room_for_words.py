"""Words are whole where there is room for them, and say what is meant in the words of the screen."""

from __future__ import annotations

import re

from assess.desk.run_sheet import Cell, Row
from assess.tui.acts import acts_at
from assess.tui.asking import ListAsk, Option
from assess.tui.run_layout import draw_head, layout_for
from tests.courses import build_course
from tests.tui.seat import at_seat

T1, LESSON = ("task", "T1"), ("lesson", "T4", "C01")


def row(mark: str) -> Row:
    return Row("C01", 20, "Aldous Prynne", mark, tuple(Cell(name, "·") for name in "abcd"), False)


def test_a_criterion_s_word_stands_whole_where_no_further_mark_takes_the_room() -> None:
    labels = ("Over feet", "Edging", "Line", "Speed")
    layout = layout_for(80, [row("green jacket, black helmet")], labels)
    assert all(label in draw_head(layout, labels, None).plain for label in labels)
    assert layout_for(80, [row("red jacket")], labels).mark == len("red jacket"), "that column is worth more"


async def test_the_longest_level_of_a_demonstration_is_cut_by_little_at_80_cells(tmp_path) -> None:
    async with at_seat(tmp_path, T1) as seat:
        await seat.press("4")
        assert "3 over the feet on the gentle start, pushed back on the main slope" in seat.text


async def test_slopes_are_written_with_the_same_sign_on_both_sheets(tmp_path) -> None:
    course = build_course(tmp_path / "course") / "course.yaml"
    text = course.read_text(encoding="utf-8")
    course.write_text(re.sub(r"(id: (T1|T4), area: \w+)", r"\1, slope_deg: 14", text), encoding="utf-8")
    for start in (T1, LESSON):
        async with at_seat(tmp_path, start, size=(120, 40)) as seat:
            assert "14°" in seat.text.splitlines()[0]


async def test_the_numbered_list_begins_with_what_has_no_key_on_the_pad_and_is_no_arrow(tmp_path) -> None:
    async with at_seat(tmp_path) as seat:
        await seat.press("plus")
        first = next(item for item in acts_at("board") if not seat.app.keys.on_pad(item) and not item.repeats)
        shown = seat.text.splitlines()
        assert first.title in shown[shown.index(" more") + 1]
        assert "the task before" not in seat.text


def test_a_list_with_short_remarks_leaves_the_words_whole() -> None:
    words = "teacher and learners looked uphill before setting off and at stops"
    assert words in ListAsk("safety list", [Option(words, "look", "?"), Option("b", "b", "done")]).body(78).plain


async def test_the_board_says_what_a_begun_sheet_lacks_in_the_words_of_the_screen(tmp_path) -> None:
    async with at_seat(tmp_path) as seat:
        await seat.press("1 2 2 4 q")
        line = seat.line("T1 bib 20")
        assert line.strip() == "T1 bib 20 Aldous Prynne: note due for Over feet, Edging; no mark for Speed"


async def test_the_board_says_of_a_sheet_that_lacks_nothing_that_it_is_not_locked(tmp_path) -> None:
    async with at_seat(tmp_path, tasks=("T6",)) as seat:
        await seat.press("1 4 4 4 4 q")
        assert seat.line("T6 bib 20").strip().endswith("Aldous Prynne: not locked")


async def test_a_long_sentence_takes_more_lines_and_gives_them_back(tmp_path) -> None:
    async with at_seat(tmp_path, T1, size=(60, 20)) as seat:
        await seat.press("4")
        assert seat.desk.drain(2)
    ledger = next((tmp_path / "course" / "sheets").iterdir())
    ledger.write_text(ledger.read_text(encoding="utf-8").replace('"level": 4', '"level": 5'), encoding="utf-8")
    async with at_seat(tmp_path, T1, size=(60, 20)) as seat:
        rows = seat.text.splitlines().index(seat.line("Over"))
        await seat.press("4")
        told = " ".join(seat.text.split())
        assert "is damaged" in told and "mark this one on paper for now" in told
        await seat.press("down")
        assert seat.message == "" and "damaged" not in seat.text
        assert seat.text.splitlines().index(seat.line("Over")) == rows


async def test_outcomes_and_tasks_of_a_candidate_stand_whole_on_the_board_where_there_is_room(tmp_path) -> None:
    async with at_seat(tmp_path, tasks=("T1", "T2", "T3", "T4", "T5", "T6")) as seat:
        assert seat.line("Dario Felske").rstrip().endswith("open T1 T2 T3 T4 T5 T6")


async def test_a_long_remark_on_the_board_goes_on_under_itself(tmp_path) -> None:
    barred = ['- {assessor: A1, candidate: C02, why: "' + "a reason in many words " * 5 + '"}']
    async with at_seat(tmp_path, conflicts=barred) as seat:
        lines = seat.text.splitlines()
        first = next(number for number, line in enumerate(lines) if "Beric Stannow: a reason" in line)
        assert lines[first].startswith("   Beric") and lines[first + 1].startswith("     ")
