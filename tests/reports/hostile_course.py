"""A course in which names, title, places and every note are hostile; all sheets are locked.

Characters that cannot be seen are refused in course.yaml and people.yaml already; notes take everything.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

from tests.courses import build_course, open_desk, release
from tests.reports.hostile import FORMULAS, HOSTILE, PATHS, SCRIPTS
from tests.sample.story import DAY_9, Story

__all__ = ["NAMES", "hostile_course", "hostile_letter"]

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


def hostile_letter(folder: Path) -> bytes:
    """The letter to a candidate with a hostile name, who is told hostile things to train."""
    from assess.desk.deciding import proposals, sign
    from assess.desk.feedback import observations_of, plan_action, release
    from assess.desk.letters import letter_files

    story = Story(folder)
    people = story.root / "people.yaml"
    text, name = people.read_text(encoding="utf-8"), json.dumps(NAMES[0])
    people.write_text(re.sub('(id: C01, name: )"[^"]+"', lambda found: found[1] + name, text), encoding="utf-8")
    story.keep_all()
    story.clock.ms = DAY_9
    with story.desk("D1") as desk:
        for item in proposals(desk):
            if item.candidate == "C01":
                sign(desk, "C01", item.module, valid_to="2027-02-05" if item.follows == "grant" else None)
        plan_action(
            desk, "C01", "demo", behaviour=SCRIPTS[1] + FORMULAS[0], criterion="over-feet",
            evidence=[next(iter(observations_of(desk, "C01")))], drills=[], practice=SCRIPTS[0],
            checked_by=SCRIPTS[2], by_when="2026-12-01",
        )  # fmt: skip
        release(desk, "candidates", candidates=["C01"])
        (found,), _ = letter_files(desk, ["C01"])
    return found.content
