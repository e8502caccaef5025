"""A director is told on the board what is late; nobody else is, and never by another clock than the course's."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.checking import check_paths
from assess.desk.session import Desk
from assess.records.errors import Refusal
from assess.tui.board_lines import remark_lines
from tests.cli.commands import assess
from tests.courses import FixedClock, build_course, open_desk

PLAN = """\
# assess quality 1
interval_months: 12
first_due: 2024-10-01
reviews:
- on: 2025-02-01
  by: D1
  found: "pairs differ on the lesson"
  actions:
  - {what: "second round for pair 2", who: D2, due: 2026-01-15}
threats:
- {kind: employer, text: "A1 and C02 work for one school", found: 2025-12-01}
"""
LATE = "corrective action overdue since 2026-01-15: second round for pair 2 (D2)"
REPORT = "quality report overdue since 2026-02-01"
THREAT = "open threat to impartiality: employer, A1 and C02 work for one school"
DAY_MS = 86_400_000


def told(root: Path, who: str | None, days: int = 0) -> tuple[str, ...]:
    """The clock starts on 2026-02-02."""
    desk: Desk = open_desk(root, who, clock=FixedClock(1_770_025_500_000 + days * DAY_MS))
    return desk.board().duties


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course")


def test_what_is_late_by_the_clock_of_the_course_is_told_to_its_director_alone(root: Path) -> None:
    (root / "quality.yaml").write_text(PLAN, encoding="utf-8")
    assert told(root, "D1") == (LATE, REPORT, THREAT)
    assert told(root, "D1", days=-1) == (LATE, THREAT)
    assert told(root, "D1", days=-30) == (THREAT,)
    assert told(root, "A1") == told(root, None) == ()


def test_the_file_may_stand_beside_the_course_and_may_be_of_other_courses(root: Path) -> None:
    assert told(root, "D1") == ()
    beside = root.parent / "quality.yaml"
    beside.write_text(PLAN, encoding="utf-8")
    assert told(root, "D2") == (LATE, REPORT, THREAT)
    beside.write_text(PLAN + "courses: [another]\n", encoding="utf-8")
    assert told(root, "D1") == ()


def test_somebody_who_directs_and_marks_sees_what_a_marker_sees(root: Path) -> None:
    course = root / "course.yaml"
    course.write_text(
        course.read_text(encoding="utf-8").replace("directors: [D1, D2]", "directors: [D1, A1]"), encoding="utf-8"
    )
    (root / "quality.yaml").write_text(PLAN, encoding="utf-8")
    assert told(root, "A1") == ()


def test_a_file_that_cannot_be_used_is_said_to_be_so_and_stops_nothing(root: Path) -> None:
    (root / "quality.yaml").write_text(PLAN.replace("months: 12", "months: twelve"), encoding="utf-8")
    [line] = told(root, "D1")
    assert line.startswith("quality.yaml cannot be used")
    findings = check_paths([root], "A1").findings
    assert [(Path(found.file).name, found.line) for found in findings] == [("quality.yaml", 2)]


def test_the_board_shows_it_as_text_and_on_screen(root: Path) -> None:
    (root / "quality.yaml").write_text(PLAN.replace("first_due: 2024", "first_due: 2023"), encoding="utf-8")
    out = assess("open", root, "--plain", "--as", "D1").out
    assert out.split("\n")[2:4] == ["For the director", f"  {LATE}"]
    lines = [line.plain for line in remark_lines(open_desk(root, "D1").board(), 120)]
    assert lines[:3] == ["For the director", f"  {LATE}", f"  {REPORT}"]


def test_a_groups_file_is_checked_for_a_director_and_no_assessor_hears_of_it(root: Path) -> None:
    (root / "groups.yaml").write_text(
        '# assess groups 1\nasked: "by form"\npersons:\n- {id: p1, attempts: [C01], groups: {sex: f}}\n',
        encoding="utf-8",
    )
    assert check_paths([root], "A1").findings == ()
    [found] = check_paths([root], "D1").findings
    assert (found.line, Path(found.file).name) == (4, "groups.yaml")
    assert check_paths([root / "groups.yaml"], "D1").findings == (found,)
    with pytest.raises(Refusal, match="director"):
        check_paths([root / "groups.yaml"], "A1")
    alone = root.parent / "groups.yaml"
    (root / "groups.yaml").rename(alone)
    assert [problem.line for problem in check_paths([alone]).findings] == [4]
