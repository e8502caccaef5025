"""Did the learner change: worked values, five words in their order, what is comparable (the project's arithmetic)."""

from __future__ import annotations

from math import sqrt
from typing import get_args

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from assess.lesson.change import read_change, verdict_of
from assess.lesson.lesson_json import change_json
from assess.lesson.results import ChangeReading, Verdict
from tests.lesson.measuring import read, side
from tests.lesson.samples import catalogue, lesson, scenario

SETTINGS = catalogue().settings


def of_lesson(name: str) -> ChangeReading:
    place = scenario(name)
    return read_change(place.measure, lesson(name).outcome, place.learner.ability, SETTINGS)


def test_the_good_lesson_of_the_third_learner_improved() -> None:
    reading = of_lesson("S3-good")
    assert reading.means == pytest.approx((68.5, 51.6), abs=0.05)
    assert reading.sds == pytest.approx((2.9, 3.0), abs=0.05)
    assert reading.delta == pytest.approx(16.88, abs=0.005) and reading.net == pytest.approx(16.3, abs=0.05)
    assert reading.limit == pytest.approx(5.4 / sqrt(2)) and reading.limit == pytest.approx(3.8, abs=0.05)
    assert reading.hedges_g == pytest.approx(5.4, abs=0.05)
    assert (reading.cliff_delta, reading.verdict, reading.void) == (1.0, "improved", None)


def test_an_effect_that_looks_large_is_not_shown_when_the_measure_moves_as_far_untaught() -> None:
    reading = of_lesson("S3-mediocre")
    assert (reading.delta, reading.net) == pytest.approx((2.75, 2.15))
    assert reading.hedges_g == pytest.approx(0.99, abs=0.005)
    assert reading.verdict == "not shown"


def test_there_are_five_words_and_no_others() -> None:
    assert get_args(Verdict) == ("too few", "not comparable", "improved", "worse", "not shown")


FIVE, OTHER_PLACE = side([10, 11, 12], [10, 11, 12]), side([20, 21, 22], [20, 21, 22], place="another")
TWENTY = side([20, 21, 22], [20, 21, 22])


def test_the_first_word_that_applies_is_the_one_given() -> None:
    few_elsewhere = side([20, 21, 22, 20], place="another")
    assert read(FIVE, few_elsewhere).verdict == "too few"  # before: not comparable
    assert read(FIVE, OTHER_PLACE, ended=9.0).verdict == "too few"
    assert read(FIVE, TWENTY, ended=9.0).verdict == "too few"
    assert read(FIVE, OTHER_PLACE).verdict == "not comparable"  # before: improved
    assert read(FIVE, TWENTY).verdict == "improved"
    assert read(TWENTY, FIVE).verdict == "worse"
    assert read(FIVE, FIVE).verdict == "not shown"


@pytest.mark.parametrize(("n", "verdict"), [(4, "too few"), (5, "improved")])
def test_five_values_on_a_side_are_enough_and_four_are_not(n: int, verdict: str) -> None:
    many = side([20.0] * 9)
    assert read(side([10.0] * n), many).verdict == verdict
    assert read(side([10.0] * 9), side([20.0] * n)).verdict == verdict


def test_nothing_measured_is_too_few_and_said() -> None:
    reading = read(FIVE, side())
    assert reading.verdict == "too few" and reading.void is not None and "not measured after" in reading.void
    assert (reading.means[1], reading.n_values, reading.n_runs) == (None, (6, 0), (2, 0))


@pytest.mark.parametrize("after", [side([1, 2]), OTHER_PLACE, side()])
def test_with_too_few_and_not_comparable_the_difference_is_not_told(after) -> None:
    told = change_json(read(FIVE, after))
    assert [told[key] for key in ("delta", "net", "limit", "hedges_g", "cliff_delta")] == [None] * 5
    assert told["void"] == told["why"][0] and told["void"].startswith(told["verdict"])


@pytest.mark.parametrize(
    ("pairs", "verdict"), [(9, "not shown"), (10, "improved"), (4, "not shown")],
)  # fmt: skip
def test_below_ten_retest_pairs_no_change_is_called_shown(pairs: int, verdict: str) -> None:
    reading = read(FIVE, TWENTY, pairs=pairs)
    assert reading.verdict == verdict and reading.delta == 10
    assert any(f"{pairs} retest pairs" in line for line in reading.why) is (verdict == "not shown")
    assert read(TWENTY, FIVE, pairs=pairs).verdict == ("worse" if verdict == "improved" else "not shown")


SLOPES = [
    (4, 13, 14, True), (4, 13, 14.01, False), (4.1, 13, 15, True), (4.1, 13, 15.01, False), (4, 14, 13, True),
    # One and two degrees apart, though the floats are a hair further.
    (4, 7.3, 8.3, True), (4, 8.3, 7.3, True), (5, 6.3, 8.3, True), (5, 2.4, 4.4, True),
]  # fmt: skip


@pytest.mark.parametrize(("ability", "before", "after", "same"), SLOPES)
def test_slopes_may_differ_by_one_degree_for_weak_skiers_and_two_for_others(
    ability: float, before: float, after: float, same: bool
) -> None:
    reading = read(side([10, 11, 12, 10, 9], slope=before), side([20, 21, 22, 20, 9], slope=after), ability)
    assert (reading.verdict != "not comparable") is same
    assert (reading.void is None) is same


def test_another_place_or_another_snow_is_not_comparable_and_the_reason_names_it() -> None:
    for other, words in (({"place": "elsewhere"}, "place"), ({"snow": "packed"}, "snow"), ({"slope": 20}, "slope")):
        reading = read(FIVE, side([20] * 6, **other))
        assert reading.verdict == "not comparable" and reading.void is not None and f"same {words}" in reading.void


def test_exactly_the_limit_is_not_beyond_it_whatever_the_last_bit_says() -> None:
    assert 0.1 + 0.2 > 0.3  # in floats
    assert verdict_of(0.1 + 0.2, 0.3, 12, SETTINGS) == "not shown"
    assert verdict_of(-0.1 - 0.2, 0.3, 12, SETTINGS) == "not shown"
    assert verdict_of(0.3001, 0.3, 12, SETTINGS) == "improved"


def test_the_limit_shrinks_with_the_smaller_number_of_runs() -> None:
    three, two, one = side(*[[10, 11, 12]] * 3), side(*[[20, 21, 22]] * 2), side([20, 21, 22, 20, 21])
    assert read(three, two).limit == pytest.approx(5.4 / sqrt(2))
    assert read(three, one).limit == pytest.approx(5.4)
    assert read(three, three).limit == pytest.approx(5.4 / sqrt(3))


def test_the_mean_is_of_run_means_so_that_a_long_run_weighs_no_more() -> None:
    reading = read(side([10, 10, 10, 10, 10, 10], [16]), side([20, 20, 20], [20, 20, 20]))
    assert reading.means[0] == 13 and reading.delta == 7


VALUES = st.lists(
    st.lists(st.integers(0, 200).map(lambda value: value / 10), min_size=3, max_size=4), min_size=2, max_size=3
)


@drawn(VALUES, VALUES, st.integers(-50, 50))
@settings(deadline=None, max_examples=80)
def test_which_way_is_better_mirrors_everything_and_a_shift_of_all_values_changes_nothing(before, after, by) -> None:
    first = read(side(*before), side(*after))
    mirrored = read(
        side(*[[-v for v in run] for run in before]), side(*[[-v for v in run] for run in after]), better="lower"
    )
    moved = read(side(*[[v + by for v in run] for run in before]), side(*[[v + by for v in run] for run in after]))
    for other in (mirrored, moved):
        for name in ("delta", "net", "hedges_g", "cliff_delta"):
            assert getattr(other, name) == pytest.approx(getattr(first, name), abs=1e-9), name
        assert other.p_one_sided == pytest.approx(first.p_one_sided)


def test_a_number_that_cannot_be_right_is_told_and_nothing_is_made_of_it() -> None:
    for wild in (1e10, -1e30, 1.7e308):
        reading = read(side([10, 11, 12, 10, wild]), side([20, 21, 22, 20, 21]))
        assert reading.verdict == "not comparable" and reading.void is not None and "cannot be right" in reading.void
        assert reading.means[0] is None and reading.delta is None


def test_two_runs_each_never_speak_of_significance_and_tell_the_smallest_chance_there_is() -> None:
    reading = read(FIVE, TWENTY)
    assert reading.p_smallest == pytest.approx(1 / 6) and reading.p_one_sided == pytest.approx(1 / 6)
    assert not any("signific" in line for line in reading.why)
    assert any("never less than 17 times in 100" in line for line in reading.why)


def test_the_cautions_that_apply_are_told() -> None:
    single = read(side([10, 11, 12, 10, 9]), side([20, 21, 22, 20, 9]))
    assert any(line.startswith("a single run before") for line in single.why)
    short = read(side([10, 11, 12], [9, 10]), side([20, 21, 22], [20, 9]))
    assert any("one here has 2" in line for line in short.why)
