"""On the outcome board a waiver stands beside the candidate it touches, and all of them are counted."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from assess.desk.deciding import sign
from assess.desk.waiving import waive
from assess.tui.outcomes_screen import OutcomesScreen
from tests.courses import build_course, open_desk
from tests.sample.story import DAY_9, DEVICES, Story
from tests.tui.seat import at_seat, screen_text

TRAINED = (
    "trained:",
    "- {assessor: A2, candidate: C01, ended: 2025-12-10}",
    "- {assessor: A1, candidate: C02, ended: 2025-12-10}",
)


def waived(root: Path, *slots: tuple[str, str]) -> None:
    """A course of three in which the director let these people mark these candidates in T6."""
    build_course(root, candidates=3, tasks=("T6",), more_people=TRAINED)
    desk = open_desk(root, "D1", device="d1x9z")
    for who, candidate in slots:
        waive(desk, who, "T6", candidate, "nobody else is there")
    assert desk.close()


async def shown(folder: Path, size: tuple[int, int], down: int = 0) -> tuple[list[str], str]:
    """The candidates' rows, and the words of the whole screen, with the cursor moved down so often."""
    async with at_seat(folder, size=size, who="D1") as seat:
        await seat.press(["r", *["down"] * down])
        assert isinstance(seat.app.screen, OutcomesScreen)
        text = screen_text(seat.app)
        above = text.splitlines()[: next(n for n, line in enumerate(text.splitlines()) if line.startswith("──"))]
        return [line for line in above if " Person " in line], " ".join(text.split())


@pytest.mark.parametrize("size", [(120, 40), (80, 24), (60, 20)])
async def test_a_waiver_stands_beside_the_candidate_it_touches(tmp_path: Path, size: tuple[int, int]) -> None:
    waived(tmp_path / "course", ("A2", "C01"))
    rows, words = await shown(tmp_path, size)
    assert [" w " in row for row in rows] == [True, False, False]
    assert "waiver: A2 may mark C01 in T6 although they trained this candidate" in words
    assert "1 waiver in this course, 1 for this candidate" in words


async def test_of_another_candidate_all_are_counted_and_told(tmp_path: Path) -> None:
    waived(tmp_path / "course", ("A2", "C01"), ("A1", "C02"))
    rows, words = await shown(tmp_path, (120, 40), down=2)
    assert [" w " in row for row in rows] == [True, True, False]
    assert "w waiver:" not in words
    assert "2 waivers in this course, 0 for this candidate A2 may mark C01" in words
    assert "A1 may mark C02" in words
    _, words = await shown(tmp_path, (120, 40), down=1)
    assert "w waiver: A1 may mark C02" in words and "2 waivers in this course, 1 for this candidate" in words
    assert words.count("A1 may mark C02") == 1


async def test_without_a_waiver_none_is_spoken_of(tmp_path: Path) -> None:
    waived(tmp_path / "course")
    rows, words = await shown(tmp_path, (80, 24))
    assert len(rows) == 3 and "waiver" not in words
    assert not any(" w " in row for row in rows)


async def test_who_signs_is_told_of_the_waivers_once_more(tmp_path: Path) -> None:
    waived(tmp_path / "course", ("A2", "C01"))
    for who in ("A1", "A2"):
        desk = open_desk(tmp_path / "course", who, device=f"{who.lower()}x9z")
        sheet = desk.slot("T6", "C01")
        for criterion in sheet.criteria:
            sheet.score(criterion, 4)
        sheet.lock()
        assert desk.close()
    async with at_seat(tmp_path, size=(80, 24), who="D1") as seat:
        await seat.press("r s enter")
        await seat.press("enter")
        words = " ".join(screen_text(seat.app).split())
    assert "sign grant" in words and "1 waiver for this candidate" in words


@pytest.mark.parametrize("size", [(120, 40), (80, 24), (60, 20)])
async def test_no_outcome_loses_the_end_of_its_figures_and_what_is_signed_is_told(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    story = Story(tmp_path)
    story.reserve_morning()
    story.clock.ms = DAY_9
    with story.desk("D1") as desk:
        sign(desk, "C01", "demo")
    desk = open_desk(story.root, "D1", device=DEVICES["D1"], clock=story.clock)
    async with at_seat(tmp_path, desk=desk, size=size) as seat:
        await seat.press("r")
        text = screen_text(seat.app)
        rows = [line for line in text.splitlines() if re.match(r" [> ] +2\d ", line)]
        assert len(rows) == 10 and "passed" in rows[0] and not any("…" in row for row in rows)
        assert (" n6" in text) == (size[0] > 60)
        assert "1 of 30 signed" in text
        assert "signed: grant by Maren Holt on 2026-02-1" in " ".join(text.split())
