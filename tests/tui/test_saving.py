from __future__ import annotations

import errno
from pathlib import Path
from typing import Any, cast

import pytest

from assess.store.disk import Disk
from assess.store.writer import SaveState
from assess.tui.save_sign import sign_words
from tests.courses import FixedClock, build_course
from tests.tui.rest import rest
from tests.tui.seat import NAMES, at_seat

T1 = ("task", "T1")


class FullDisk(Disk):
    """A disk that takes nothing while it is full."""

    full = False

    def write(self, fd: int, data: bytes) -> int:
        if self.full:
            raise OSError(errno.ENOSPC, "No space left on device")
        return super().write(fd, data)


def open_on(disk: Disk, root: Path) -> Any:
    from assess.desk.session import Desk

    build_course(root, candidates=4, names=NAMES[:4])
    return Desk.open(root, "A1", clock=cast("Any", FixedClock()), device="d7h2k", disk=disk)


@pytest.mark.parametrize(
    ("state", "words"),
    [
        (SaveState("saved", 0, None, ""), "saved"),
        (SaveState("saved", 0, "2026-02-02T10:02:19.000Z", ""), "saved 10:02:19"),
        (SaveState("writing", 1, "2026-02-02T10:02:19.000Z", ""), "writing"),
        (SaveState("not saved", 3, None, "disk full"), "NOT SAVED 3"),
    ],
)
def test_the_sign_is_words(state: SaveState, words: str) -> None:
    assert sign_words(state, lambda at: at[11:19]) == words


async def test_a_full_disk_is_told_and_the_keys_go_on(tmp_path) -> None:
    disk = FullDisk()
    desk = open_on(disk, tmp_path / "course")
    async with at_seat(tmp_path, T1, desk=desk) as seat:
        await seat.press("4")
        assert desk.drain(2)
        disk.full = True
        await seat.press("5 3 4")
        for _ in range(40):
            await rest(seat.pilot)
            if "NOT SAVED 3" in seat.text:
                break
        assert "NOT SAVED 3" in seat.text
        assert "disk full" in seat.text
        assert "5!" in seat.line("20 Aldous")
        assert "4!" in seat.line("20 Aldous")
        await seat.press("q q")
        assert seat.app.return_code is None, "it asks for the key once more"
        assert "not saved: disk full" in seat.message
        disk.full = False
        assert desk.drain(5)
        for _ in range(100):
            await seat.pilot.pause(0.02)
            if "NOT SAVED" not in seat.text:
                break
        assert "NOT SAVED" not in seat.text
        await seat.press("q")
        assert seat.app.return_code == 0


async def test_what_the_disk_says_after_the_window_is_gone_harms_nobody(tmp_path) -> None:
    disk = FullDisk()
    desk = open_on(disk, tmp_path / "course")
    told: list[SaveState] = []
    desk.on_save(told.append)
    async with at_seat(tmp_path, T1, desk=desk) as seat:
        disk.full = True
        await seat.press("5 3")
        seat.app.exit()
        await rest(seat.pilot)
        disk.full = False
    # An error in a listener would have been raised by closing the desk.
    seat.app._saved_in_writers_thread(desk.save_state())
    assert told[-1].word == "saved"


async def test_once_a_day_a_word_says_that_locks_are_not_signed_and_nothing_is_asked(tmp_path) -> None:
    from assess.desk.keys import make_key, unlock_key

    make_key("signing", "four words on a lift")
    shown = []
    for _ in range(2):
        async with at_seat(tmp_path / "k", start=T1) as seat:
            shown.append("your locks today are not signed" in " ".join(seat.text.split()))
    unlock_key(None, "four words on a lift")
    async with at_seat(tmp_path / "k", start=T1) as seat:
        shown.append("not signed" in " ".join(seat.text.split()))
    assert shown == [True, False, False]


async def test_what_is_saved_while_the_window_closes_is_told_to_nobody(tmp_path: Path) -> None:
    async with at_seat(tmp_path) as seat:
        await seat.idle()
    assert not seat.app.screen_stack
    seat.app.on_save_changed()


async def test_why_nothing_is_saved_stays_said_until_it_is(tmp_path) -> None:
    disk = FullDisk()
    desk = open_on(disk, tmp_path / "course")
    async with at_seat(tmp_path, T1, desk=desk) as seat:
        disk.full = True
        await seat.press("5 3 4")
        for _ in range(40):
            await rest(seat.pilot)
            if "NOT SAVED 3" in seat.text:
                break
        await seat.press("4 down")
        assert seat.message.startswith("not saved: disk full"), seat.message
        disk.full = False
        assert desk.drain(5)
        await rest(seat.pilot)
        await seat.press("up")
        assert seat.message == ""
