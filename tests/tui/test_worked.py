"""Pages that are worked out in a thread: they can be left, a fault is told, and nobody waits for them."""

from __future__ import annotations

import asyncio
import shutil
import threading
from pathlib import Path

import pytest

from assess.records.errors import Refusal
from assess.tui.board_screen import BoardScreen
from assess.tui.criteria_screen import CriteriaScreen
from tests.courses import ROOT, open_desk
from tests.tui.rest import rest
from tests.tui.seat import at_seat

SAMPLE = ROOT / "sample_sessions" / "course"


@pytest.fixture
def sample(tmp_path: Path):
    shutil.copytree(SAMPLE, tmp_path / "course")
    return open_desk(tmp_path / "course", "D1")


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
@pytest.mark.parametrize(
    ("key", "words"),
    [("c", ("rests on 10 candidates", "same, near", "Rules, place")), ("n", ("rests on 10", "No plan", "1 assessor "))],
)
async def test_a_directors_page_says_first_what_it_rests_on_and_fits(
    sample, tmp_path: Path, key: str, words: tuple[str, ...], size: tuple[int, int]
) -> None:
    async with at_seat(tmp_path, desk=sample, size=size) as seat:
        await seat.press(key)
        await seat.worked()
        text = " ".join(seat.text.split())
        found = [text.index(word) for word in words]
        assert found == sorted(found)
        rows = [line for line in seat.text.splitlines() if "█" in line]
        assert rows and not any("…" in line for line in rows)


async def test_a_page_shows_how_far_it_is_and_its_work_stops_when_it_is_left(
    sample, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[bool] = []
    begun, go_on, ended = threading.Event(), threading.Event(), threading.Event()

    def work(self, progress):
        asked.append(progress(0.25))
        begun.set()
        go_on.wait(5)
        asked.append(progress(0.5))
        ended.set()
        raise RuntimeError("stopped")

    monkeypatch.setattr(CriteriaScreen, "work", work)
    async with at_seat(tmp_path, desk=sample) as seat:
        await seat.press("c")
        await asyncio.to_thread(begun.wait, 5)
        await rest(seat.pilot)
        assert "working it out: 25 % done; Esc stops it" in seat.text
        await seat.press("escape")
        assert isinstance(seat.app.screen, BoardScreen)
        go_on.set()
        await asyncio.to_thread(ended.wait, 5)
        await rest(seat.pilot)
        assert asked == [True, False] and seat.app.bug is None


async def test_a_refusal_is_said_on_the_page(sample, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def work(self, progress):
        raise Refusal("nothing is there yet", todo="look again")

    monkeypatch.setattr(CriteriaScreen, "work", work)
    async with at_seat(tmp_path, desk=sample) as seat:
        await seat.press("c")
        await seat.worked()
        assert "nothing is there yet; look again" in seat.text


async def test_a_fault_while_working_is_a_fault_of_the_program_and_no_page_that_never_comes(
    sample, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def work(self, progress):
        raise ZeroDivisionError("a fault")

    monkeypatch.setattr(CriteriaScreen, "work", work)
    with pytest.raises(ZeroDivisionError):
        async with at_seat(tmp_path, desk=sample) as seat:
            await seat.press("c")
            for _ in range(100):
                await asyncio.sleep(0.02)


async def test_nobody_who_leaves_the_program_waits_for_a_page(
    sample, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go_on = threading.Event(), threading.Event()

    def work(self, progress):
        begun.set()
        go_on.wait(10)

    monkeypatch.setattr(CriteriaScreen, "work", work)
    async with at_seat(tmp_path, desk=sample) as seat:
        await seat.press("c")
        await asyncio.to_thread(begun.wait, 5)
        working = [thread for thread in threading.enumerate() if thread.name == "criteria"]
        assert [thread.daemon for thread in working] == [True]
        seat.app.hang_up(129)
    go_on.set()
    assert seat.app.return_code == 129
