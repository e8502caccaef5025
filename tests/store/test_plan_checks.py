"""What the section `plan` of `course.yaml` may get wrong: one sentence each, with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.records.errors import InputError
from assess.store.course_folder import load_course
from tests.store.course_maker import COURSE, make_course

LINES = COURSE.count("\n")
KNOWN = "name an id of the course"


def told(tmp_path: Path, plan: str) -> list[str]:
    root = make_course(tmp_path / "k", course=f"{COURSE}plan:\n{plan}")
    return [str(problem).removeprefix("course.yaml:") for problem in load_course(root).problems]


def test_a_whole_plan_is_read_and_nothing_is_wrong_with_it(tmp_path: Path) -> None:
    plan = """\
  seed: 4711
  light: ["08:30-11:30", "12:30-15:00"]
  days:
  - {day: 2, light: ["09:00-15:00"]}
  most_minutes: 240
  between: 10
  lift_minutes: 4
  pairs: 1
  fresh: 0
  tasks:
  - {task: T4, starts: "13:00", every: 40, at_once: 1, pairs: 1, candidates: [C01, C02], learners: [L1]}
  keep:
  - {task: T1, candidate: C01, assessors: [A1, A2]}
  - {task: T4, assessors: [A1, A3]}
"""
    assert told(tmp_path, plan) == []
    course = load_course(tmp_path / "k").course
    assert course.plan.light_of(1) == ((510, 690), (750, 900)) and course.plan.light_of(2) == ((540, 900),)
    assert course.plan.task("T4").every == 40 and course.plan.task("T1").every is None


def test_a_course_without_a_plan_has_the_usual_light(tmp_path: Path) -> None:
    course = load_course(make_course(tmp_path / "k")).course
    assert course.plan.light_of(1) == ((540, 720), (780, 930)) and course.plan.seed is None


@pytest.mark.parametrize(
    ("plan", "sentences"),
    [
        ('  light: ["12:00-09:00"]\n', ["2: `12:00-09:00` ends before it begins; write from-to: 09:00-12:00"]),
        (
            '  light: ["09:00-12:00", "11:00-15:00"]\n',
            ["2: `11:00-15:00` begins before the half-day before it has ended; put the half-days in order"],
        ),
        ('  days: [{day: 3, light: ["09:00-12:00"]}]\n', ["2: the course has no day 3; its last day is 2"]),
        (
            '  days:\n  - {day: 1, light: ["09:00-12:00"]}\n  - {day: 1, light: ["09:00-12:00"]}\n',
            ["4: day 1 stands twice; keep one of the two"],
        ),
        ("  tasks: [{task: T9}]\n", ["2: there is no task `T9`; name a task of the course"]),
        ("  tasks:\n  - {task: T1}\n  - {task: T1}\n", ["4: task `T1` stands twice; keep one of the two"]),
        ("  tasks: [{task: T1, candidates: [C09]}]\n", [f"2: there is no candidate `C09`; {KNOWN}"]),
        ("  tasks: [{task: T4, learners: [L9]}]\n", [f"2: there is no learner `L9`; {KNOWN}"]),
        (
            "  tasks: [{task: T4, every: 20}]\n",
            ["2: `T4` takes 25 minutes, the next turn begins after 20; write 25 or more"],
        ),
        (
            "  tasks: [{task: T4, at_once: 3, pairs: 2}]\n",
            ["2: 3 turns at once need as many pairs, there are 2; lower `at_once` or raise `pairs`"],
        ),
        ("  keep: [{task: T9, assessors: [A1, A2]}]\n", ["2: there is no task `T9`; name a task of the course"]),
        (
            "  keep: [{task: T1, candidate: C09, assessors: [A1, A9]}]\n",
            [f"2: there is no assessor `A9`; {KNOWN}", f"2: there is no candidate `C09`; {KNOWN}"],
        ),
        ("  keep: [{task: T1, assessors: [A1, A1]}]\n", ["2: `A1` is named twice; name two assessors"]),
        (
            "  keep: [{task: T1, candidate: C03, assessors: [A1, A3]}]\n",
            ["2: `A3` has declared a conflict with `C03`; name somebody else"],
        ),
        (
            "  keep:\n  - {task: T1, assessors: [A1, A2]}\n  - {task: T1, assessors: [A2, A1]}\n",
            ["4: this seating stands twice; keep one of the two"],
        ),
    ],
)
def test_what_is_wrong_is_told_with_its_line(tmp_path: Path, plan: str, sentences: list[str]) -> None:
    expected = []
    for sentence in sentences:
        line, _, words = sentence.partition(":")
        expected.append(f"{LINES + int(line)}:{words}")
    assert told(tmp_path, plan) == expected


def test_a_half_day_that_is_none_is_told_in_words(tmp_path: Path) -> None:
    with pytest.raises(InputError) as told_so:
        told(tmp_path, '  light: ["morning"]\n')
    assert str(told_so.value) == (
        f"course.yaml:{LINES + 2}: number 1 of `light` of `plan` must be a half-day like 09:00-12:00; change it"
    )
