"""A card half typed in when the program is killed: every key that was shown as saved is there on reopening."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from assess.desk.card_numbers import cards_of
from tests.courses import build_course, open_desk
from tests.pty.terminal import Terminal


@pytest.mark.parametrize("end", ["SIGKILL", "SIGTERM", "pty closed"])
def test_a_card_half_typed_in_loses_no_mark(tmp_path: Path, end: str) -> None:
    import signal

    root = build_course(tmp_path / "course", candidates=3, assessors=("A1",), tasks=("T6",))
    desk = open_desk(root, "A1", device="reads")
    plan = next(plan for plan in cards_of(desk, "A1") if plan.kind == "run")
    desk.close()
    terminal = Terminal(["open", str(root), "--as", "A1"])
    try:
        terminal.wait(lambda text: "T6" in text)
        for key in ("t", *plan.number, "\r", *"0946"):
            terminal.type(key)
            terminal.feed(0.05)
        terminal.wait(lambda text: f"card {plan.number}, on the hill" in text)
        for key in "4353":
            terminal.type(key)
            terminal.quiet(0.1, 0.5)
        terminal.type("45")
        terminal.wait(lambda text: re.search(r"4\s+3\*?\s+5\s+3\*?[^\n]*\n[^\n]*4\s+5", text) is not None)
        terminal.wait(lambda text: re.search(r"saved \d\d:\d\d:\d\d", text.splitlines()[0]) is not None)
        if end == "pty closed":
            terminal.hang_up()
        else:
            terminal.signal(getattr(signal, end))
        terminal.ended(5)
    finally:
        terminal.close()
    desk = open_desk(root, "A1", device="reads")
    rows = [[cell.text for cell in row.cells] for row in desk.run_sheet("T6").rows()]
    cards = [item.fact.on_the_hill for who in plan.candidates[:2] for item in desk.slot("T6", who).sheet.from_cards]
    desk.close()
    assert rows[:2] == [list("4353"), ["4", "5", "·", "·"]]
    assert cards == ["09:46", "09:46"]
