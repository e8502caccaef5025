"""A course in which names, title, places and every note are hostile; all sheets are locked.

Characters that cannot be seen are refused in course.yaml and people.yaml already; notes take everything.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

from tests.courses import build_course, open_desk, release
from tests.reports.hostile import FORMULAS, HOSTILE, PATHS, SCRIPTS
from tests.rounds import build_round, levels_of, mark_all
from tests.sample.story import DAY_9, Story
from tests.seasons import build_season, mark_film

__all__ = ["NAMES", "hostile_course", "hostile_letter", "hostile_round", "hostile_season"]

NAMES = (f"{SCRIPTS[0]} {FORMULAS[0]}", f"{PATHS[0]} {SCRIPTS[1]}")
ODD_TEXT = "\x1b[2J \u202enotes reversed\u202c"
QUALITY = f"""# assess quality 1
courses: all
interval_months: 12
first_due: 2024-10-01
reviews:
- on: 2024-09-28
  by: D1
  found: {json.dumps(SCRIPTS[1])}
  actions: [{{what: {json.dumps(SCRIPTS[2])}, who: D1, due: 2025-01-15}}]
threats:
- {{kind: employer, text: {json.dumps(SCRIPTS[0] + FORMULAS[1])}, found: 2026-01-20, by: D2, review: 2026-12-15}}
law: {json.dumps(SCRIPTS[3])}
"""


def _named(root: Path) -> None:
    """Gives everybody of people.yaml who marks or directs a hostile name."""
    people = root / "people.yaml"
    text = people.read_text(encoding="utf-8")
    who = re.compile(r"name: ((?:Marker|Director|Person) \w+)\}")
    told = who.sub(lambda found: f"name: {json.dumps(' '.join((found[1], *SCRIPTS[:2])))}}}", text)
    assert told != text
    people.write_text(told, encoding="utf-8")


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
    _named(root)
    (root / "quality.yaml").write_text(QUALITY, encoding="utf-8")
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


def hostile_round(root: Path) -> Path:
    """A round whose title, lessons, people, observations and reasons are hostile; everybody has locked."""
    build_round(root, lessons=2)
    path = root / "round.yaml"
    text = path.read_text(encoding="utf-8").replace('title: "A small round"', f"title: {json.dumps(SCRIPTS[0])}")
    path.write_text(text.replace('title: "Lesson 1"', f"title: {json.dumps(SCRIPTS[2])}"), encoding="utf-8")
    _named(root)
    reason = json.dumps(SCRIPTS[4] + FORMULAS[0])
    (root / "reference.yaml").write_text(
        "# assess reference 1\nround: R-TEST\nrevision: 1\nreasons:\n"
        f"- {{lesson: L01, criterion: diagnosis, reason: {reason}}}\n", encoding="utf-8",
    )  # fmt: skip
    for who, level in {"P1": 3, "P2": 4, "P3": 4, "P4": 4}.items():
        mark_all(root, who, levels_of(("L01", "L02"), level), text=SCRIPTS[5])
    for who, level in {"A1": 2, "A2": 6}.items():
        mark_all(root, who, levels_of(("L01", "L02", "L01-2"), level), text=f"{SCRIPTS[6]} {ODD_TEXT}")
    return root


def hostile_season(root: Path) -> Path:
    """A season whose title, films, people, actions and observations are hostile; film 1 is compared."""
    action = {
        "id": "a1", "behaviour": SCRIPTS[1], "how": SCRIPTS[2], "checked_by": "M1", "remeasure_on": "2026-02-01",
    }  # fmt: skip
    build_season(root, films=2, more=("actions:", f"- {json.dumps(action)}"))
    path = root / "season.yaml"
    text = path.read_text(encoding="utf-8").replace('title: "A small season"', f"title: {json.dumps(SCRIPTS[0])}")
    path.write_text(text.replace('title: "Lesson 1"', f"title: {json.dumps(SCRIPTS[2])}"), encoding="utf-8")
    _named(root)
    for who in ("TR", "M1"):
        mark_film(root, who, "F1", (4, 4, 4, 3), text=f"{SCRIPTS[5]} {ODD_TEXT}")
    return root
