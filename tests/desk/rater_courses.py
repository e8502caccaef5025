"""Small courses marked on disk, with an effect of one assessor built in."""

from __future__ import annotations

import random
from pathlib import Path

from tests.courses import FixedClock, build_course, open_desk

__all__ = ["dated", "lock_sheets", "marked_course", "reopened"]

DEVICES = {"A1": "a1a1a", "A2": "a2a2a", "A3": "a3a3a"}


def lock_sheets(
    root: Path, who: str, task: str = "T1", candidates: range = range(1, 9), *, flat: bool = False, more: int = 0,
    lock: bool = True,
) -> None:  # fmt: skip
    """Marks of one assessor: a candidate's level is known, noise and `more` are the assessor's; flat: one digit."""
    desk = open_desk(root, who, device=DEVICES[who], clock=FixedClock())
    for number in candidates:
        pick = random.Random(f"{who} {task} {number}")
        sheet = desk.slot(task, f"C{number:02d}")
        level = 3 + number % 3
        one = min(6, max(1, level + more + pick.choice((-1, 0, 0, 1))))
        for criterion in sheet.criteria:
            sheet.score(criterion, one if flat else min(6, max(1, level + more + pick.choice((-1, 0, 1)))))
        sheet.note("seen", sheet.criteria)
        if lock:
            sheet.lock()
    assert desk.close()


def marked_course(root: Path, *, tasks: tuple[str, ...] = ("T1", "T2"), flat: str = "", more: int = 0) -> Path:
    """Eight candidates, three assessors who mark everything and have locked it; `flat` gives one digit, A3 `more`."""
    build_course(root, candidates=8, tasks=tasks, assessors=("A1", "A2", "A3"))
    for who in ("A1", "A2", "A3"):
        for task in tasks:
            lock_sheets(root, who, task, flat=who == flat, more=more if who == "A3" else 0)
    return root


def dated(root: Path, course: str, day: str) -> Path:
    """Give a course another id and day; its ledgers name the course, so this is done before anybody marks."""
    path = root / "course.yaml"
    text = path.read_text("utf-8").replace("id: K-TEST", f"id: {course}").replace("2026-02-02", day)
    path.write_text(text.replace("2026-02-03", day[:-2] + "28"), "utf-8")
    return root


def reopened(root: Path, who: str | None):
    """Somebody looks at the course."""
    return open_desk(root, who, device="reading")
