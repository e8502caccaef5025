"""The assessors' pages on screen: the director's list and one page, the assessor's own, at three sizes."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assess.tui.assessor_screen import AssessorScreen
from assess.tui.assessors_screen import AssessorsScreen
from assess.tui.board_screen import BoardScreen
from tests.courses import ROOT, open_desk
from tests.tui.seat import Seat, at_seat

SAMPLE = ROOT / "sample_sessions" / "course"
SIZES = [(60, 20), (80, 24), (120, 40)]


def sample(tmp_path: Path, who: str):
    shutil.copytree(SAMPLE, tmp_path / "course")
    return open_desk(tmp_path / "course", who)


def plain(seat: Seat) -> str:
    return " ".join(seat.text.split())


async def whole(seat: Seat) -> str:
    """Everything on the page, turned page by page."""
    read: list[str] = []
    for _ in range(30):
        # The scroll bar's ends are no part of a sentence.
        text = "\n".join(line.rstrip(" ▁▂▃▄▅▆▇") for line in seat.text.splitlines())
        if read and text == read[-1]:
            break
        read.append(text)
        await seat.press("pagedown")
    return "\n".join(read)


@pytest.mark.parametrize("size", SIZES)
async def test_the_list_has_a_line_and_a_sentence_for_each_and_fits(tmp_path: Path, size: tuple[int, int]) -> None:
    async with at_seat(tmp_path, desk=sample(tmp_path, "D1"), size=size) as seat:
        await seat.press("a")
        await seat.worked()
        assert isinstance(seat.app.screen, AssessorsScreen)
        assert "This rests on 10 candidates" in plain(seat)
        text = await whole(seat)
        rows = [line for line in text.splitlines() if "-0.65 to -0.26" in line]
        assert rows and all(line.endswith("82 %") for line in rows)
        head = next(line for line in text.splitlines() if "same side" in line and "sheets" in line)
        assert head.index("same side") + 9 == rows[0].index("82 %") + 4
        said = " ".join(text.split())
        assert "2027-10-31" in said and "harder group milder" in said
        assert "more than chance makes likely" in said and "Never a sanction from one number" in said
        assert not any("…" in line for line in text.splitlines() if "licence" in line or " to " in line)


async def test_arrows_choose_and_enter_opens_the_page_of_one(tmp_path: Path) -> None:
    async with at_seat(tmp_path, desk=sample(tmp_path, "D1"), size=(60, 20)) as seat:
        await seat.press("a")
        await seat.worked()
        assert seat.line("A1 Rook").startswith(" > A1")
        await seat.press("up down down down down down")
        assert seat.line("A4 Yara").startswith(" > A4")
        await seat.press("up")
        assert seat.line("A3 Sten").startswith(" > A3")
        await seat.press("enter")
        await seat.worked()
        assert isinstance(seat.app.screen, AssessorScreen) and "A3 Sten Ardow" in seat.text.splitlines()[0]
        said = " ".join((await whole(seat)).split())
        assert "Beside the group: look" in said and "What helps: Mark two clips together" in said
        assert "4 ██████████████████████████████ 57" in said
        assert "fit the model of the whole course well enough" in said
        assert "Beside the group: Shown in K-2026-01: wait for the next course." in said
        assert "One digit across a sheet: Shown" not in said
        await seat.press("escape")
        assert isinstance(seat.app.screen, AssessorsScreen) and seat.line("A3 Sten").startswith(" > A3")


@pytest.mark.parametrize("size", SIZES)
async def test_an_assessor_sees_how_even_their_own_marks_were_and_nobody_else(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with at_seat(tmp_path, desk=sample(tmp_path, "A2"), size=size) as seat:
        await seat.press("e")
        await seat.worked()
        assert "how even were my marks" in seat.text.splitlines()[0]
        text = await whole(seat)
        said = " ".join(text.split())
        assert "24 of your 27 sheets" in said and "Never a sanction" in said
        assert not any(name in said for name in ("A1", "A3", "A4", "Ardow", "Hallam", "Kolsen"))
        assert "Your severity in levels" in said


async def test_the_two_pages_are_kept_apart_by_role(tmp_path: Path) -> None:
    async with at_seat(tmp_path, desk=sample(tmp_path, "D1")) as seat:
        await seat.press("e")
        assert seat.message == "this page is an assessor's own; a director's: a"
        assert isinstance(seat.app.screen, BoardScreen)


async def test_nobody_is_told_where_the_pages_are(tmp_path: Path) -> None:
    async with at_seat(tmp_path, who=None) as seat:
        for key in "ae":
            await seat.press(key)
            assert "this page is" in seat.message and isinstance(seat.app.screen, BoardScreen)
