from __future__ import annotations

import hashlib

import pytest

from assess.desk.pinning import pin_rubric
from assess.records.errors import InputError, Refusal
from tests.courses import ROOT, build_course, open_desk

NEXT = ROOT / "rubrics" / "alpine-ski" / "r-2026.2.yaml"


@pytest.fixture
def root(tmp_path):
    return build_course(tmp_path / "course", tasks=("T1", "T4"))


def test_a_new_version_takes_force_for_an_area_without_a_sheet_and_comments_survive(root) -> None:
    course = root / "course.yaml"
    course.write_text(course.read_text().replace("revision: 1", "revision: 1  # counted by hand"))
    name = pin_rubric(open_desk(root, "D1"), NEXT, "teach", 1, "two descriptors were read in two ways", "T4")
    assert (root / "rubrics" / name).read_bytes() == NEXT.read_bytes()
    desk = open_desk(root, "D1")
    assert desk.course.revision == 2 and "# counted by hand" in course.read_text()
    assert desk.rubric_for("T1").id == "r-2026.1"
    pin = desk.course.rubrics[-1]
    assert (pin.area, pin.sha256) == ("teach", hashlib.sha256(NEXT.read_bytes()).hexdigest())
    assert desk.folder.problems == ()


def test_a_change_in_an_area_that_has_sheets_is_refused_and_nothing_is_written(root) -> None:
    desk = open_desk(root, "A1")
    desk.slot("T4", "C01").score("learner-change", 4)
    desk.close()
    before = {path: path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()}
    with pytest.raises(Refusal, match="has sheets already"):
        pin_rubric(open_desk(root, "D1"), NEXT, "teach", 1, "reason")
    assert {path: path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()} == before


def test_only_a_director_with_a_reason_and_a_known_area_puts_a_rubric_in_force(root) -> None:
    for who, area, reason in (("A1", "teach", "x"), ("D1", "teach", " "), ("D1", "swim", "x")):
        with pytest.raises(Refusal):
            pin_rubric(open_desk(root, who), NEXT, area, 1, reason)


def test_a_rubric_in_which_something_is_wrong_takes_no_force_and_nothing_is_written(root, tmp_path) -> None:
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text(NEXT.read_text("utf-8").replace('pass_line: "3.5"', 'pass_line: "4"', 1), "utf-8")
    before = {path: path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()}
    with pytest.raises(InputError, match=r"wrong\.yaml:33: the pass line 4 is a level itself"):
        pin_rubric(open_desk(root, "D1"), wrong, "teach", 1, "reason")
    assert {path: path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()} == before
