"""Reading a course from disk, against reading the same lines with the standard library's json alone."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.bench.measuring import Measured, in_turn, timed
from tests.courses import FixedClock, build_course, open_desk

__all__ = ["rows"]


def rows() -> Iterator[Measured]:
    """Open a course of 480 scores and 3,000 observations."""
    from assess.desk.session import Desk

    with tempfile.TemporaryDirectory() as place:
        root = _course(Path(place) / "course")
        ledgers = sorted((root / "sheets").glob("*.yaml"))

        def bare() -> float:
            return timed(lambda: [_plain(path) for path in ledgers])

        def ours() -> float:
            return timed(lambda: Desk.open(root, "A1", device="reads").close())

        a, b = in_turn(ours, bare, 9)
    yield Measured("open a course", "480 scores, 3,000 notes", a, b, "json line by line", "at most 150 ms", a <= 0.150)


def _plain(path: Path) -> list[object]:
    return [json.loads(line[2:]) for line in path.read_bytes().split(b"\n") if line.startswith(b"- {")]


def _course(root: Path) -> Path:
    build_course(root, candidates=10, tasks=("T1", "T2", "T3", "T4", "T5", "T6"))
    for who in ("A1", "A2"):
        desk = open_desk(root, who, device=f"{who.lower()}x9", clock=FixedClock(step_ms=40))
        for slot in desk.course.allocation:
            sheet = desk.slot(slot.task, slot.candidate)
            for place, criterion in enumerate(sheet.criteria):
                sheet.score(criterion, 4 + place % 2)
                for number in range(6 if place % 2 else 7):
                    sheet.note(f"seen {number}, tails wash in the last third on the left", (criterion,))
        desk.close(60)
    return root
