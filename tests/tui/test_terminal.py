"""The program on a real terminal (a pty): what it writes per mark, and how it ends when the terminal does."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from pathlib import Path

import pytest

from assess.store.ledger_file import read_ledger
from tests.courses import ROOT, build_course

BYTES_PER_MARK = 1000
PATIENCE = 20.0


class Terminal:
    """A pty of 80 by 24 with the program on it."""

    def __init__(self, course: Path, start: str = "T1", *, fault: bool = False) -> None:
        self.master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        environ = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor", "PYTHONPATH": str(ROOT)}
        command = [sys.executable, "-m", "tests.tui.on_terminal", str(course), start, *(["fault"] if fault else [])]
        self.process = subprocess.Popen(
            command, stdin=slave, stdout=slave, stderr=slave, env=environ, cwd=ROOT, start_new_session=True
        )
        os.close(slave)
        self.written = b""

    def read(self, seconds: float) -> bytes:
        """What is written in the next so many seconds, from the first byte until it is quiet."""
        found, until = b"", time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            ready, _, _ = select.select([self.master], [], [], left)
            if not ready:
                break
            try:
                found += os.read(self.master, 65536)
            except OSError:
                break
        self.written += found
        return found

    def wait_for(self, words: bytes) -> None:
        """Wait until these words were written."""
        until = time.monotonic() + PATIENCE
        while words not in self.written:
            assert time.monotonic() < until, self.written[-500:]
            self.read(0.05)
        self.read(0.3)

    def press(self, keys: bytes) -> None:
        os.write(self.master, keys)

    def exit_code(self) -> int:
        return self.process.wait(PATIENCE)

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        try:
            os.close(self.master)
        except OSError:
            assert self.master  # closed by the test itself


@pytest.fixture
def course(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", candidates=10)


@pytest.fixture
def terminal(course: Path):
    found = Terminal(course)
    found.wait_for(b"Person 9")
    yield found
    found.close()


def levels(course: Path) -> int:
    """How many levels are in the ledgers on the disk."""
    ledgers = [read_ledger(path) for path in sorted((course / "sheets").iterdir())]
    return sum(entry.fact.kind == "score" for ledger in ledgers for entry in ledger.ledger.entries)


def test_a_mark_costs_at_most_1000_bytes_at_80_by_24(terminal: Terminal, course: Path) -> None:
    costs = []
    for digit in b"45344534543453":
        terminal.press(bytes([digit]))
        costs.append(len(terminal.read(0.25)))
    assert min(costs) > 0
    assert max(costs) <= BYTES_PER_MARK, costs
    terminal.press(b"q")
    terminal.press(b"q")
    assert levels(course) == len(costs)


@pytest.mark.parametrize("ending", ["SIGHUP", "SIGTERM", "pty closed"])
def test_a_closed_window_ends_it_within_two_seconds_with_everything_saved(
    terminal: Terminal, course: Path, ending: str
) -> None:
    terminal.press(b"5434")
    terminal.read(0.15)
    terminal.press(b"n" + b"half a note")
    terminal.read(0.3)
    started = time.monotonic()
    if ending == "pty closed":
        os.close(terminal.master)  # and no signal comes: the program looks for the end of the line itself
    else:
        terminal.process.send_signal(getattr(signal, ending))
    assert terminal.exit_code() == (143 if ending == "SIGTERM" else 129)
    assert time.monotonic() - started < 2
    assert levels(course) == 4
    sheets = b"".join(path.read_bytes() for path in (course / "sheets").iterdir())
    assert b'"half a note"' in sheets


def test_a_digit_that_may_be_a_repeat_is_written_when_the_window_closes(terminal: Terminal, course: Path) -> None:
    terminal.press(b"4")
    terminal.read(0.3)
    terminal.press(b"4")
    terminal.process.send_signal(signal.SIGTERM)
    assert terminal.exit_code() == 143
    assert levels(course) in (1, 2)


def test_a_kill_loses_nothing_that_was_shown_as_saved(terminal: Terminal, course: Path) -> None:
    terminal.press(b"5434")
    terminal.wait_for(b"saved ")
    terminal.read(0.3)
    terminal.process.kill()
    terminal.process.wait()
    assert levels(course) == 4


def test_leaving_from_the_board_ends_with_0(terminal: Terminal) -> None:
    terminal.press(b"q")
    terminal.read(0.4)
    terminal.press(b"q")
    assert terminal.exit_code() == 0


def test_a_fault_of_the_program_ends_with_70_and_a_report_without_names(course: Path, own_folders: Path) -> None:
    found = Terminal(course, fault=True)
    try:
        found.wait_for(b"Person 9")
        found.press(b"4")
        assert found.exit_code() == 70
        found.read(0.3)
        assert b"A report without names" in found.written
        reports = list((own_folders / "state" / "crashes").iterdir())
        assert len(reports) == 1
        text = reports[0].read_text(encoding="utf-8")
        assert "ValueError" in text
        assert "tests/tui/on_terminal.py" in text or "on_terminal.py" in text
        for secret in ("Aldous", "Prynne", str(course)):
            assert secret not in text
            assert secret.encode() not in found.written[found.written.rindex(b"Person 9") :]
    finally:
        found.close()


FIRST_PAINT = """
import asyncio, sys
from pathlib import Path
from assess.desk.session import Desk
from assess.tui.app import AssessApp

desk = Desk.open(Path(sys.argv[1]), "A1", device="d7h2k")

async def paint() -> None:
    async with AssessApp(desk, "board").run_test(size=(80, 24)) as pilot:
        await pilot.pause()

asyncio.run(paint())
desk.close()
print([name for name in ("numpy", "scipy", "pandas", "jinja2", "matplotlib") if name in sys.modules])
"""


def test_nothing_heavy_is_loaded_for_the_first_picture(course: Path) -> None:
    run = [sys.executable, "-c", FIRST_PAINT, str(course)]
    done = subprocess.run(run, capture_output=True, text=True, cwd=ROOT, check=True)
    assert done.stdout.strip() == "[]"
