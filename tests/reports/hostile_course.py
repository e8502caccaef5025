"""A course in which names, title, places and every note are hostile; all sheets are locked.

Characters that cannot be seen are refused in course.yaml and people.yaml already; notes take everything.
"""

from __future__ import annotations

import json
from pathlib import Path

from tests.courses import build_course, open_desk, release
from tests.reports.hostile import FORMULAS, HOSTILE, PATHS, SCRIPTS

__all__ = ["NAMES", "hostile_course"]

NAMES = (f"{SCRIPTS[0]} {FORMULAS[0]}", f"{PATHS[0]} {SCRIPTS[1]}")


def hostile_course(root: Path) -> Path:
    """Two candidates with hostile names; T1 and T4 marked and locked by A1 and A2, A1 with all the notes."""
    build_course(root, candidates=2, names=NAMES)
    course = root / "course.yaml"
    text = course.read_text(encoding="utf-8")
    text = text.replace('title: "A small course"', f"title: {json.dumps(SCRIPTS[0] + FORMULAS[0])}")
    text = text.replace("title:", f"place: {json.dumps(SCRIPTS[1] + PATHS[0])}\ntitle:", 1)
    text = text.replace("area: demo, day: 1", f"area: demo, day: 1, place: {json.dumps(SCRIPTS[2])}")
    text = text.replace("order: 1, candidate: C01", 'order: 1, at: "09:00", candidate: C01')
    course.write_text(text, encoding="utf-8")
    release(root)
    for who, device in (("A1", "d7h2k"), ("A2", "a2a2a")):
        desk = open_desk(root, who, device=device)
        for task in ("T1", "T4"):
            for slot in desk.mine(task):
                sheet = desk.slot(task, slot.candidate)
                for criterion in sheet.criteria:
                    sheet.score(criterion, 4)
                for note in HOSTILE if (who, slot.candidate) == ("A1", "C01") else ():
                    sheet.note(note[:8000], (sheet.criteria[0],), direction="for")
                sheet.lock()
        assert desk.close()
    return root
