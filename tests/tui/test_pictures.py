"""Text pictures of every screen at three sizes; times are blanked, everything else must stay as it is."""

from __future__ import annotations

import asyncio
import re
import shutil

import pytest

from tests.courses import ROOT, open_desk
from tests.tui.rest import rest
from tests.tui.seat import Seat, at_seat

SIZES = ((60, 20), (80, 24), (120, 40))
RUN, LESSON = ("task", "T1"), ("lesson", "T4", "C01")
PICTURES = {
    "board": ("board", "1 4 2 q"),
    "morning": ("board", "m"),
    "outcomes": ("board", "r"),
    "run sheet": (RUN, "4 3 5 4 3 6"),
    "numbered list": (RUN, "plus"),
    "order": (RUN, "o"),
    "breach": (RUN, "g"),
    "all levels": (RUN, "h"),
    "before the lock": (RUN, "4 2 k"),
    "help": (RUN, "f1"),
    "thin": (LESSON, "s 1 plus 2 minus space d"),
    "full": (LESSON, "s 1 plus 2 minus d l 1 1 2 2 escape f"),
    "levels": (LESSON, "m 4 2"),
}

DIRECTORS = {"criteria": "c", "next course": "n"}


@pytest.mark.parametrize("name", sorted(PICTURES))
async def test_the_picture_of_every_screen_at_three_sizes(name: str, tmp_path, snapshot) -> None:
    start, keys = PICTURES[name]
    async with at_seat(tmp_path, start) as seat:
        await seat.press(keys)
        await pictures(seat, snapshot)


@pytest.mark.parametrize("name", sorted(DIRECTORS))
async def test_the_picture_of_a_directors_page_of_the_sample_course_at_three_sizes(
    name: str, tmp_path, snapshot
) -> None:
    shutil.copytree(ROOT / "sample_sessions" / "course", tmp_path / "course")
    async with at_seat(tmp_path, desk=open_desk(tmp_path / "course", "D1")) as seat:
        await seat.press(DIRECTORS[name])
        await seat.worked()
        await pictures(seat, snapshot)


async def pictures(seat: Seat, snapshot) -> None:
    for size in SIZES:
        await seat.pilot.resize_terminal(*size)
        await seat.idle()
        # A page that is still being drawn at the old size is no picture yet.
        for _ in range(200):
            lines = seat.text.splitlines()
            if len(lines) == size[1] and all(len(line) <= size[0] for line in lines):
                break
            await asyncio.sleep(0.02)
            await rest(seat.pilot)
        picture = re.sub(r"\d{1,2}:\d\d(:\d\d)?", lambda found: re.sub(r"\d", "0", found[0]), seat.text)
        assert len(picture.splitlines()) == size[1]
        assert all(len(line) <= size[0] for line in picture.splitlines())
        assert picture == snapshot(name=f"{size[0]}x{size[1]}")
