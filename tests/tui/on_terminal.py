"""Runs the program on this terminal for a test: `python -m tests.tui.on_terminal COURSE START [fault]`."""

from __future__ import annotations

import sys
from pathlib import Path


def main() -> int:
    from assess.desk.session import Desk
    from assess.tui.app import run

    root, task = Path(sys.argv[1]), sys.argv[2]
    if sys.argv[3:] == ["fault"]:
        from assess.tui.run_screen import RunScreen

        def broken(screen: object, key: str) -> None:
            secret = "Aldous Prynne"  # a value the report must not hold
            raise ValueError(f"{secret} has {key}")

        RunScreen.act_level = broken  # type: ignore[method-assign,assignment]
    return run(Desk.open(root, "A1", device="d7h2k"), ("task", task) if task != "board" else "board")


if __name__ == "__main__":
    sys.exit(main())
