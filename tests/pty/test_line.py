"""A terminal that goes away without a signal: the program ends by itself, with everything saved."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
import time
from pathlib import Path

from tests.courses import ROOT, build_course, open_desk


def test_a_line_that_dies_without_a_signal_ends_the_program_and_loses_nothing(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=2, assessors=("A1",), tasks=("T1",))
    master, slave = pty.openpty()
    env = {**os.environ, "TERM": "xterm-256color", "PYTHONPATH": str(ROOT)}
    words = [sys.executable, "-m", "assess", "open", str(root), "--as", "A1"]
    # A session of its own without a controlling terminal: closing the other end sends no signal.
    process = subprocess.Popen(words, stdin=slave, stdout=slave, stderr=slave, env=env, start_new_session=True)
    os.close(slave)
    seen, until = b"", time.monotonic() + 30
    while b"Day 1" not in seen and time.monotonic() < until:
        seen += os.read(master, 65536)
    os.write(master, b"1")
    while b"Edging" not in seen and time.monotonic() < until:
        seen += os.read(master, 65536)
    os.write(master, b"4")
    time.sleep(1)
    os.close(master)
    try:
        assert process.wait(15) == 129
    finally:
        process.kill()
        process.wait()
    desk = open_desk(root, "A1")
    assert desk.run_sheet("T1").row("C01").cells[0].text == "4"
