"""Two invented courses of twelve on one short safety task, locked by two markers, for quality reports."""

from __future__ import annotations

from pathlib import Path

from tests.courses import build_course, open_desk

__all__ = ["PLAN", "groups_file", "two_courses"]

PLAN = """\
# assess quality 1
interval_months: 12
first_due: 2025-10-01
law: "the equal treatment act of an invented country"
pass_lines:
- rubric: r-2026.1
  line: "3.5"
  method: "contrasting groups on twelve films"
  panel: [D1, four assessors]
  days: [2025-06-01, 2025-06-15]
  rounds: 2
  spread: "0.25"
  approved_by: certification board
  approved_on: 2025-07-01
"""


def two_courses(folder: Path) -> tuple[Path, Path]:
    """K-1 and K-2 under `folder`: of each twelve candidates those with even numbers pass, and C01 in the second too."""
    made = []
    for number in (1, 2):
        root = build_course(folder / f"winter-{number}", candidates=12, tasks=("T6",))
        course = root / "course.yaml"
        text = course.read_text(encoding="utf-8").replace("K-TEST", f"K-{number}")
        course.write_text(text.replace("2026-02", f"2026-0{number}"), encoding="utf-8")
        for who, device in (("A1", "d7h2k"), ("A2", "a2a2a")):
            mark(root, who, device, number)
        made.append(root)
    return made[0], made[1]


def mark(root: Path, who: str, device: str, number: int) -> None:
    """A2 gives one level less on the first criterion of every third candidate."""
    desk = open_desk(root, who, device=device)
    for place, slot in enumerate(desk.mine("T6"), 1):
        passes = place % 2 == 0 or (number == 2 and place == 1)
        sheet = desk.slot("T6", slot.candidate)
        for column, criterion in enumerate(sheet.criteria):
            level = (5 if passes else 2) + (place % 4 == 0) - (who == "A2" and column == 0 and place % 3 == 0)
            sheet.score(criterion, level)
        sheet.note("seen from the side", tuple(sheet.criteria))
        sheet.lock()
    assert desk.close()


def groups_file(folder: Path, *, groups: dict[int, str] | None = None) -> Path:
    """One person for every candidate of both courses but K-2/C12, who is K-1/C01 once more."""
    lines = ["# assess groups 1", 'asked: "by form, after the decision"', "persons:"]
    for course in (1, 2):
        for number in range(1, 13):
            if (course, number) == (2, 12):
                continue
            attempts = [f"K-{course}/C{number:02d}", *(["K-2/C12"] if (course, number) == (1, 1) else [])]
            label = (groups or {}).get(number, "left" if number <= 6 else "right")
            age = "young" if number % 3 else "old"
            told = f"{{side: {label}, age: {age}}}"
            lines.append(f"- {{id: p{course}-{number}, attempts: [{', '.join(attempts)}], groups: {told}}}")
    path = folder / "groups.yaml"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path
