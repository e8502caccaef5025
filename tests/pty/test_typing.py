"""Text that arrives faster than it can be shown, Enter behind it: nothing of it is lost."""

from __future__ import annotations

from pathlib import Path

from tests.pty.terminal import Terminal
from tests.seasons import build_season, film_desk

WORDS = "good: I go below her and look at all her feet"


def test_a_line_sent_at_once_with_its_enter_is_recorded_whole(tmp_path: Path) -> None:
    root = build_season(tmp_path / "season")
    terminal = Terminal(["film", str(root), "F1", "--as", "TR"])
    try:
        terminal.wait(lambda text: "Nothing noted yet" in text)
        for place in range(5):
            terminal.type("n")
            terminal.wait(lambda text: "what do you see?" in text)
            terminal.type(f"{place} {WORDS}\r")
            terminal.wait(lambda text: "which criterion" in text)
            terminal.type("1")
            terminal.wait(lambda text: "which criterion" not in text)
        terminal.wait(lambda text: "saved " in text.splitlines()[0])
    finally:
        terminal.close()
    desk = film_desk(root, "TR")
    assert sorted(item.text for item in desk.film("T5", "F1").noted()) == [f"{place} {WORDS}" for place in range(5)]
    desk.close()
