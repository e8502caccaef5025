"""The real program, killed at random while keys are typed: what was shown as saved is there on reopening.

The number of kills is taken from ASSESS_KILLS (default 16).
"""

from __future__ import annotations

import os
import random
import re
import signal
import time
from pathlib import Path

import pytest

from tests.courses import build_course, open_desk
from tests.pty.terminal import Terminal

KILLS = int(os.environ.get("ASSESS_KILLS", "16"))
ENDS = ("SIGKILL", "SIGTERM", "SIGHUP", "pty closed")
ROW = re.compile(r"^[ >\u203a\u25b8]*(\d\d)\b")
CELL = re.compile(r"\[\s*([1-6\u00b7 ])\s*\]|(?<= )([1-6\u00b7])(!?)(?=[ *]|$)")
Grid = dict[tuple[int, int], str]


def grid_of(terminal: Terminal) -> Grid:
    """The marks on the screen: (bib, place of the criterion) -> what stands there."""
    found: Grid = {}
    for line in terminal.lines:
        row = ROW.match(line)
        if row and 20 <= int(row[1]) < 30:
            # A mark with `!` behind it says itself that it is not saved: it holds its place and promises nothing.
            cells = CELL.findall(line[row.end() :])
            for place, (chosen, plain, unsaved) in enumerate(cells[:4]):
                found[(int(row[1]), place)] = "" if unsaved else (chosen or plain).strip()
    return found


def recorded(root: Path) -> Grid:
    """The marks in the record, read afresh."""
    desk = open_desk(root, "A1", device="reads")
    found: Grid = {}
    for row in desk.run_sheet("T1").rows():
        for place, cell in enumerate(row.cells):
            found[(row.bib, place)] = cell.text
    desk.close()
    assert [problem for problem in desk.folder.problems if not problem.doubt] == []
    return found


def one_kill(root: Path, chance: random.Random, end: str) -> tuple[Grid, int]:
    """Open, type, end; the marks last shown while the sign said `saved`, and how many keys were typed."""
    terminal = Terminal(["open", str(root), "--as", "A1"])
    promised: Grid = {}
    try:
        terminal.wait(lambda text: "T1" in text)
        terminal.type("1")
        terminal.wait(lambda text: len(grid_of(terminal)) >= 40)
        stop = time.monotonic() + chance.uniform(0.02, 0.5)
        typed, last = 0, ""
        while time.monotonic() < stop:
            key = chance.choice([k for k in "456" if k != last])
            terminal.type(key)
            typed, last = typed + 1, key
            until = time.monotonic() + chance.uniform(0.004, 0.09)
            while time.monotonic() < until:
                terminal.feed(0.003)
                promised = shown_as_saved(terminal, promised)
        if end == "pty closed":
            terminal.hang_up()
        else:
            terminal.signal(getattr(signal, end))
            while terminal.feed(0.2):
                promised = shown_as_saved(terminal, promised) if "saved" in terminal.text else promised
                if terminal.code is None:
                    pid, status = os.waitpid(terminal.pid, os.WNOHANG)
                    if pid:
                        terminal.code = os.waitstatus_to_exitcode(status)
        terminal.ended(5)
    finally:
        terminal.close()
    return promised, typed


def shown_as_saved(terminal: Terminal, before: Grid) -> Grid:
    """What stands on the screen now if the sign says it is saved, else what did before."""
    top = terminal.lines[0]
    if re.search(r"saved \d\d:\d\d:\d\d", top) and "NOT SAVED" not in top:
        return {**before, **{place: cell for place, cell in grid_of(terminal).items() if cell in "123456" and cell}}
    return before


@pytest.mark.parametrize("seed", range(KILLS // 4 or 1))
def test_whatever_was_shown_as_saved_is_there_after_the_program_was_killed(tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    names = [f"Person {letter}" for letter in "abcdefghij"]  # a digit in a name would look like a mark
    root = build_course(tmp_path / "course", candidates=10, names=names, assessors=("A1",), tasks=("T1",))
    promised_ever, typed_ever = 0, 0
    for end in chance.sample(ENDS, 4):
        promised, typed = one_kill(root, chance, end)
        there = recorded(root)
        lost = {place: cell for place, cell in promised.items() if there.get(place) != cell}
        assert lost == {}, f"{end}: shown as saved and not there: {lost}"
        promised_ever, typed_ever = promised_ever + len(promised), typed_ever + typed
    # A harness that reads nothing off the screen would pass for ever.
    assert promised_ever > 0 and typed_ever > 0
