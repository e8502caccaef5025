"""The round on screen: the director's list, one assessor with what each had seen, and what an assessor sees of it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assess.tui.board_screen import BoardScreen
from assess.tui.marker_screen import MarkerScreen
from assess.tui.round_screen import RoundScreen
from tests.courses import ROOT, open_desk
from tests.tui.seat import at_seat

SAMPLE = ROOT / "sample_sessions" / "calibration"
SIZES = [(60, 20), (80, 24), (120, 40)]


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SAMPLE, tmp_path / "round"))


async def whole(seat) -> str:
    """Everything on the page, turned page by page."""
    pages = [seat.text]
    for _ in range(12):
        await seat.press("pagedown")
        pages.append(seat.text)
    return " ".join(" ".join(pages).split())


@pytest.mark.parametrize("size", SIZES)
async def test_a_director_sees_a_line_for_each_with_the_result_and_what_to_look_at(
    sample: Path, tmp_path: Path, size: tuple[int, int]
) -> None:
    async with at_seat(tmp_path, "round", desk=open_desk(sample, "D1"), size=size) as seat:
        await seat.worked()
        assert isinstance(seat.app.screen, RoundScreen)
        rows = [line for line in seat.text.splitlines() if "A2 Fen Marlowe" in line]
        assert len(rows) == 1 and "train" in rows[0] and "0.80" in rows[0] and "12/16" in rows[0]
        assert ("+0.62 to +0.97" in rows[0]) == (size[0] >= 80)
        assert "milder than the panel" in seat.text
        text = await whole(seat)
        assert "Of 100 good markers" in text and "6 of 12 lessons are within 0.5" in text
        assert "…" not in rows[0]


@pytest.mark.parametrize("size", SIZES)
async def test_one_assessor_has_what_each_had_seen_side_by_side_where_there_is_room(
    sample: Path, tmp_path: Path, size: tuple[int, int]
) -> None:
    async with at_seat(tmp_path, "round", desk=open_desk(sample, "D1"), size=size) as seat:
        await seat.worked()
        await seat.press("down down enter")
        await seat.worked()
        assert isinstance(seat.app.screen, MarkerScreen)
        text = await whole(seat)
        assert text.index("mark again") < text.index("Where they parted") < text.index("Lesson by lesson")
        assert "says it begins where the slope" in text and "sitting back is named" in text
        together = [line for line in seat.app.screen.page(seat.app.screen.found, size[0] - 4) if "A3 4" in line.plain]
        assert any("panel 2" in line.plain for line in together) == (size[0] >= 80)
        assert all(line.cell_length <= size[0] - 4 for line in seat.app.screen.page(seat.app.screen.found, size[0] - 4))


async def test_an_assessor_with_an_open_sheet_sees_why_nothing_is_shown(sample: Path, tmp_path: Path) -> None:
    next((sample / "sheets").glob("T5.L09.A1.*")).unlink()
    async with at_seat(tmp_path, desk=open_desk(sample, "A1")) as seat:
        assert isinstance(seat.app.screen, BoardScreen)
        await seat.press("k")
        await seat.worked()
        assert "your own sheets are not all locked yet (15 of 16" in seat.text
        assert "A1 15 of 16" in seat.text and "Fen Marlowe" not in await whole(seat)
        await seat.press("enter")
        assert "there is no result to open yet" in seat.text
        await seat.press("s")
        assert "only a director of the round signs" in seat.text


async def test_an_assessor_who_has_locked_everything_sees_themselves_alone(sample: Path, tmp_path: Path) -> None:
    async with at_seat(tmp_path, desk=open_desk(sample, "A2")) as seat:
        await seat.press("k")
        await seat.worked()
        assert "A2 Fen Marlowe" in seat.text
        assert "Rook Hallam" not in await whole(seat)
        await seat.press("enter")
        await seat.worked()
        assert "train" in seat.text


async def test_a_lesson_of_a_round_is_marked_on_the_screen_everybody_knows(sample: Path, tmp_path: Path) -> None:
    for file in (sample / "sheets").glob("T5.L09.A1.*"):
        file.unlink()
    desk = open_desk(sample, "A1")
    async with at_seat(tmp_path, ("lesson", "T5", "L09"), desk=desk) as seat:
        await seat.press("m 4 4 4 4")
        assert [mark.level for mark in desk.lesson("T5", "L09").sheet.marks] == [4, 4, 4, 4]


async def test_signing_on_screen_asks_for_whom_and_shows_it(sample: Path, tmp_path: Path) -> None:
    async with at_seat(tmp_path, "round", desk=open_desk(sample, "D1")) as seat:
        await seat.worked()
        await seat.press("down s")
        assert "A2 Fen Marlowe: train" in seat.text and "all 5" in seat.text
        await seat.press("2")
        await seat.worked()
        for _ in range(100):
            if "signed: current, licence until 2027-11-13" in " ".join(seat.text.split()):
                break
            await seat.pilot.pause(0.05)
        assert "signed: current, licence until 2027-11-13" in " ".join(seat.text.split())
        assert sorted(file.name.split(".")[0] for file in (sample / "licences").iterdir()) == [
            "A1",
            "A2",
            "A3",
            "A4",
            "A5",
        ]
