"""The progression of a lesson: the project's worked values, the steps, and each part by itself (own arithmetic)."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from assess.lesson.challenge import challenge, step_worth, steps
from assess.lesson.progression import dose_worth, read_progression
from assess.lesson.results import ProgressionReading
from assess.lesson.technique import technique
from assess.records.practice import GivenDrill
from tests.lesson.samples import catalogue, changed, given, lesson, scenario, split


def read(name: str, **changes: Any) -> ProgressionReading:
    return read_progression(changed(name, **changes), scenario(name).learner.ability, catalogue())


def worths(ability: float, *drills: GivenDrill, managed: bool = False) -> list[float]:
    done = technique(drills, ability, catalogue()).drills
    return [step.worth for step in steps(done, ability, managed, catalogue().settings)]


def test_the_good_lesson_of_the_third_learner() -> None:
    reading = read("S3-good")
    assert [step.challenge for step in reading.steps] == pytest.approx([4, 4.375, 4.375, 6.375])
    assert [step.worth for step in reading.steps] == [0.85, 1, 1, 1]
    assert reading.parts is not None and reading.parts.step == pytest.approx(0.9625)
    assert reading.value == pytest.approx(0.9925)


def test_the_mediocre_and_the_unsafe_lesson_of_the_third_learner() -> None:
    reading = read("S3-mediocre")
    parts = reading.parts
    assert parts is not None
    found = (parts.orderly, parts.step, parts.whole, parts.demo, parts.dose, parts.feedback, parts.check)
    assert found == pytest.approx((0.5, 0.925, 1, 1, 0.875, 0.7, 0))
    assert (parts.remeasure, parts.practice) == (1, 1)
    assert reading.value == pytest.approx(0.8175)
    assert read("S3-unsafe").value == pytest.approx(0.140, abs=0.0005)


def test_eighteen_minutes_of_talk_and_four_of_practice_cap_the_whole_at_a_half() -> None:
    reading = read("S3-good", time=split(18, 4, 1, 2))
    assert reading.parts is not None and reading.parts.practice == pytest.approx(0.16 / 0.5)
    assert (reading.value, reading.capped) == (0.5, True)
    assert any("never above 0.5" in sentence for sentence in reading.why)


def test_the_cap_holds_below_a_quarter_of_practice_and_not_at_it_whatever_the_last_bit_says() -> None:
    for practise, total in ((5.0, 20.0), (1.1, 4.4), (2.9, 11.6), (6.1, 24.4)):
        assert not read("S3-good", time=split(total - practise, practise, 0, 0)).capped
    assert read("S3-good", time=split(15.1, 4.9, 0, 0)).capped


def test_what_is_below_the_cap_already_is_not_lifted_to_it() -> None:
    reading = read("S3-unsafe", time=split(5, 0.5, 0, 0))
    assert reading.value is not None and reading.value < 0.5 and not reading.capped


TRAVERSE = given("track-traverse", 9)
FAILED = given("traverse-lift", 9, success={"ok": 1, "of": 3})
AGAIN = given("traverse-lift", 9)
STEP_BACK = given("run-step", 5)


def test_after_a_failed_check_stepping_back_is_worth_more_than_the_same_again() -> None:
    assert worths(4, TRAVERSE, FAILED, AGAIN) == [0.85, 1, 0.6]
    assert worths(4, TRAVERSE, FAILED, STEP_BACK, AGAIN) == [0.85, 1, 1, 1]


@pytest.mark.parametrize(("ok", "of", "failed"), [(0, 1, True), (1, 2, False), (2, 5, True), (3, 6, False)])
def test_a_check_failed_when_fewer_than_half_of_the_tries_worked(ok: int, of: int, failed: bool) -> None:
    tried = given("traverse-lift", 9, success={"ok": ok, "of": of})
    assert (worths(4, TRAVERSE, tried, AGAIN)[-1] == 0.6) is failed


def test_no_tries_counted_is_no_failed_check() -> None:
    assert worths(4, TRAVERSE, AGAIN, AGAIN) == [0.85, 1, 1]


def test_easier_ground_for_the_same_drill_is_a_step_down_too() -> None:
    steep = given("traverse-lift", 13, success={"ok": 0, "of": 3})
    assert worths(4, steep, given("traverse-lift", 8))[-1] == 1


def test_a_step_up_after_a_failed_check_is_never_worth_more_than_an_ordinary_one() -> None:
    hard = given("pivot-lane", 20, "ice")
    assert worths(4, FAILED, hard)[-1] == 0


def test_the_first_step_down_is_an_ordinary_one_however_far_and_free_where_a_cause_was_managed() -> None:
    assert worths(9, TRAVERSE) == [0.85]
    assert worths(9, TRAVERSE, managed=True) == [1]
    assert worths(9, given("pivot-lane", 16), TRAVERSE)[-1] == 0.6  # further down in the middle of a lesson
    reading = read("S1-good", managed=("X-fear",))
    assert reading.steps[0].worth == 1
    # A fault of technique, or an id nobody knows, is no such cause.
    settings, done = catalogue().settings, technique(lesson("S3-good").drills, 9, catalogue()).drills
    assert steps(done, 9, False, settings)[0].worth == 0.85
    assert read("S3-good", managed=("flat-start", "nobody-knows")).steps[0].worth == 0.85


@pytest.mark.parametrize(
    ("delta", "worth"),
    [(-5, 0.6), (-2.001, 0.6), (-2, 0.85), (-0.001, 0.85), (0, 1), (2, 1), (2.5, 0.75), (3, 0.5), (4, 0), (9, 0)],
)  # fmt: skip
def test_what_a_step_is_worth(delta: float, worth: float) -> None:
    assert step_worth(delta, catalogue().settings) == pytest.approx(worth)


def test_two_points_down_are_two_points_down_whatever_the_last_bit_says() -> None:
    assert 6.3 - 8.3 < -2  # in floats
    assert step_worth(6.3 - 8.3, catalogue().settings) == 0.85


def test_the_same_challenge_reached_another_way_is_no_step_down() -> None:
    # 3 + 1.2/4 and 3.1 + 0.8/4: both 3.3, but for the last bit.
    pattern = catalogue().drill_by_id["track-traverse"]
    first = pattern.model_copy(update={"id": "one", "difficulty": 3.0})
    second = pattern.model_copy(update={"id": "two", "difficulty": 3.1})
    middle = sum(pattern.slope) / 2
    settings = catalogue().settings
    done = [
        technique((given("track-traverse", slope),), 3, catalogue()).drills[0] for slope in (middle + 1.2, middle + 0.8)
    ]
    two = [replace(one, drill=drill) for one, drill in zip(done, (first, second), strict=True)]
    hard = [challenge(one.drill, one.given.slope, "packed", settings) for one in two]
    assert hard[0] == pytest.approx(hard[1], abs=1e-12)
    assert steps(two, 3, False, settings)[1].worth == 1
    assert steps(two[::-1], 3, False, settings)[1].worth == 1


@pytest.mark.parametrize(
    ("drill", "slope", "snow", "wanted"),
    [
        ("track-traverse", 7, "packed", 3), ("track-traverse", 10.5, "packed", 3),
        ("track-traverse", 14.5, "packed", 4),
        ("track-traverse", 7, "ice", 4.5), ("track-traverse", 7, "hard", 4), ("track-traverse", 7, "wet-heavy", 4),
        ("track-traverse", 7, "cut-up", 3.8), ("track-traverse", 7, "crust", 4.5),
        ("track-traverse", 7, "fresh-deep", 3.8),
        ("track-traverse", 7, "sugar", 3), ("pivot-lane", 16, "hard", 6),
    ],
)  # fmt: skip
def test_challenge_is_difficulty_with_ground_and_snow(drill: str, slope: float, snow: str, wanted: float) -> None:
    assert challenge(catalogue().drill_by_id[drill], slope, snow, catalogue().settings) == pytest.approx(wanted)


def test_snow_adds_nothing_to_a_drill_that_is_good_on_any() -> None:
    drill = catalogue().drill_by_id["track-traverse"]
    anywhere = drill.model_copy(update={"snow": drill.snow.model_copy(update={"ok": ("any",)})})
    assert challenge(anywhere, 7, "ice", catalogue().settings) == 3


def dose(drill: str, n: float, **more: Any) -> float:
    pattern = given(drill, 8, **more)
    [done] = technique((pattern.model_copy(update={"n": float(n)}),), 5, catalogue()).drills
    return dose_worth(done, catalogue().settings)


def test_a_dose_counts_from_its_lower_bound_on_and_far_too_much_counts_nothing() -> None:
    # 3 to 4 runs on each side.
    assert [dose("half-release", n) for n in (0, 1.5, 3, 4, 8, 8.1)] == [0, 0.5, 1, 1, 1, 0]


def test_runs_are_cut_to_what_the_minutes_allow_half_of_them_on_each_side() -> None:
    assert dose("half-release", 4, practice_min=1.2) == pytest.approx(0.5)  # 3 runs, 1.5 on each side, of 3
    assert dose("top-early-tip", 6, practice_min=0.8) == pytest.approx(0.5)  # 2 runs of 4
    assert dose("top-early-tip", 100, practice_min=2.4) == 1  # nobody did a hundred in that time
    assert dose("top-early-tip", 100) == 0
    assert dose("top-early-tip", 4, practice_min=0.0) == 0


@pytest.mark.parametrize(("tired", "worth"), [(None, 1), (3.9, 1), (4, 0), (5, 0)])
def test_a_learner_too_tired_gets_nothing_from_a_dose(tired: float | None, worth: float) -> None:
    assert dose("half-release", 3, tired=tired) == worth


def test_without_a_time_split_the_part_is_left_out_the_weights_grow_and_it_is_said() -> None:
    reading, full = read("S3-mediocre", time=None), read("S3-mediocre")
    assert reading.parts is not None and reading.parts.practice is None and full.value is not None
    assert reading.value == pytest.approx((full.value - 0.1) / 0.9)
    assert any(sentence.startswith("time split not recorded") for sentence in reading.why)
    nothing = read("S3-mediocre", time=split(0, 0, 0, 0))
    assert nothing.value == reading.value


@pytest.mark.parametrize("judged", ["rightly", "wrongly", "open"])
def test_a_lesson_ended_for_safety_is_not_judged(judged: str) -> None:
    reading = read("S3-good", ended_for_safety={"minute": 12.0, "why": "frost-nip", "judged": judged})
    assert (reading.value, reading.parts, reading.steps) == (None, None, ())
    assert reading.void is not None and "ended for safety" in reading.void and judged in reading.void


def test_a_lesson_without_drills_is_not_judged() -> None:
    for drills in ((), (given("kit-walk", 0),)):
        reading = read("S3-good", drills=drills)
        assert reading.value is None and reading.void == "not judged: no drill of technique was recorded"


def test_an_unsafe_lesson_may_have_a_good_progression_and_keeps_it() -> None:
    assert read("S4-unsafe").value == pytest.approx(0.890, abs=0.0005)
