"""A talk is advised after two courses running that show the same, and not before."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assess.agreement.rater_effects import rater_effects
from assess.agreement.rater_history import raters_over
from assess.agreement.results.raters import RaterCourse
from tests.agreement.rater_courses import LEVELS, Made, made_course

FLAT, HARD, MILD, CLEAN = Made(flat=0.95), Made(severity=-1.2), Made(severity=1.2), Made()


def course(made: Made, name: str, date: str, seed: int = 7) -> RaterCourse:
    return rater_effects(made_course(seed, made), LEVELS, course=name, date=date, replicates=100)


def advice(*courses: RaterCourse, same: bool = True) -> dict[tuple[str, str], tuple[str, tuple[str, ...]]]:
    found = raters_over(courses, same_assessors=same)
    return {(one.assessor, one.name): (one.do, one.flagged_in) for one in found.advice}


@pytest.fixture(scope="module")
def flat() -> tuple[RaterCourse, RaterCourse, RaterCourse]:
    one, two, three = (course(FLAT, f"K-{n}", f"2026-0{n}-01", seed=n) for n in (1, 2, 3))
    return one, two, three


def test_one_course_is_a_reason_to_wait_and_two_running_to_talk(flat: tuple[RaterCourse, ...]) -> None:
    wait = advice(flat[0])["A1", "flat"]
    assert wait == ("wait for the next course", ("K-1",))
    assert advice(*flat[:2])["A1", "flat"] == ("talk", ("K-1", "K-2"))
    assert advice(*flat)["A1", "flat"] == ("talk", ("K-1", "K-2", "K-3"))


def test_courses_go_by_their_date_and_not_by_the_order_they_are_named_in(flat: tuple[RaterCourse, ...]) -> None:
    clean = course(CLEAN, "K-1b", "2026-01-15", seed=4)
    first, second = flat[0], flat[1]
    assert raters_over([second, first]).courses == (first, second)
    for order in ([first, clean, second], [second, first, clean], [clean, second, first]):
        assert advice(*order)["A1", "flat"] == ("wait for the next course", ("K-2",))


def test_a_flag_that_the_last_course_does_not_show_is_no_advice(flat: tuple[RaterCourse, ...]) -> None:
    clean = course(CLEAN, "K-9", "2026-09-01", seed=4)
    assert ("A1", "flat") not in advice(flat[0], flat[1], clean)


def test_a_course_the_assessor_did_not_mark_in_does_not_break_the_run(flat: tuple[RaterCourse, ...]) -> None:
    first, second = flat[0], flat[1]
    absent = replace(course(CLEAN, "K-1b", "2026-01-15"), raters=())
    assert advice(first, absent, second)["A1", "flat"] == ("talk", ("K-1", "K-2"))


def test_hard_in_one_course_and_mild_in_the_next_is_not_the_same_effect() -> None:
    hard, mild = course(HARD, "K-1", "2026-01-01"), course(MILD, "K-2", "2026-02-01")
    assert hard.raters[0].effect("severity").verdict == mild.raters[0].effect("severity").verdict == "look"
    assert advice(hard, mild)["A1", "severity"] == ("wait for the next course", ("K-2",))


def test_where_ids_are_not_the_same_people_every_course_stands_alone(flat: tuple[RaterCourse, ...]) -> None:
    found = raters_over(flat[:2], same_assessors=False)
    assert {(one.course, one.do) for one in found.advice if (one.assessor, one.name) == ("A1", "flat")} == {
        ("K-1", "wait for the next course"), ("K-2", "wait for the next course"),
    }  # fmt: skip


def test_what_is_advised_is_said_and_is_never_a_sanction(flat: tuple[RaterCourse, ...]) -> None:
    found = raters_over(flat, same_assessors=True)
    said = {one.name: one.sentence for one in found.advice if one.assessor == "A1"}
    assert said["flat"] == (
        "Shown in K-1, K-2 and K-3 running: a talk is advised, over the sheets and not over the number."
    )
    assert found.never.startswith("Never a sanction")
