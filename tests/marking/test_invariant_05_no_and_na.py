"""Invariant 5: not observed and not applicable are no numbers; no mean, minimum or sum reads them as 0."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from assess.marking.outcome import module_result
from assess.marking.values import sheet_value
from tests.marking.building import case, flat, rubric, sheet, slot

LEVELS = st.integers(1, 6)
UNSEEN = st.sampled_from(["not-observed", "not-applicable"])


@given(LEVELS, LEVELS, LEVELS, UNSEEN)
def test_a_sheet_value_lies_between_its_levels_whatever_was_not_seen(a: int, b: int, c: int, d: str) -> None:
    value = sheet_value(sheet(rubric(), {"a": a, "b": b, "c": c, "d": d}), rubric())
    assert value == Fraction(a + b + c, 3)


@given(st.lists(st.one_of(LEVELS, UNSEEN), min_size=4, max_size=4))
def test_a_value_exists_only_from_numbers(given_marks: list[int | str]) -> None:
    rules = rubric(coverage="0")
    numbers = [mark for mark in given_marks if isinstance(mark, int)]
    value = sheet_value(sheet(rules, dict(zip("abcd", given_marks, strict=True))), rules)
    assert value == (Fraction(sum(numbers), len(numbers)) if numbers else None)


@given(st.lists(st.one_of(LEVELS, UNSEEN), min_size=8, max_size=8))
def test_no_value_of_a_module_is_lower_than_the_lowest_level_given(given_marks: list[int | str]) -> None:
    rules = rubric(coverage="0.25")
    slots = [
        slot(rules, task, {"A1": dict(zip(rules.tasks[task].criteria, given_marks[i : i + 4], strict=True))})
        for task, i in (("T1", 0), ("T2", 4))
    ]
    result = module_result(case(rules, *slots))
    numbers = [mark for mark in given_marks if isinstance(mark, int)]
    for value in (*(item.value for item in result.values), *([result.mean] if result.mean is not None else [])):
        assert min(numbers) <= value <= max(numbers)


def test_not_applicable_leaves_both_sums_and_not_observed_only_the_upper_one() -> None:
    rules = rubric(coverage="1")
    assert sheet_value(sheet(rules, {"a": 4, "b": 4, "c": 4, "d": "not-applicable"}), rules) == 4
    assert sheet_value(sheet(rules, {"a": 4, "b": 4, "c": 4, "d": "not-observed"}), rules) is None


def test_coverage_is_enough_at_exactly_three_quarters() -> None:
    rules = rubric()
    assert sheet_value(sheet(rules, {"a": 4, "b": 4, "c": 4, "d": "not-observed"}), rules) == 4
    assert sheet_value(sheet(rules, {"a": 4, "b": 4, "c": "not-observed", "d": "not-observed"}), rules) is None
    just_under = rubric(weights={"a": "1", "b": "1", "c": "0.999999", "d": "1"})
    assert sheet_value(sheet(just_under, {"a": 4, "b": 4, "c": 4, "d": "not-observed"}), just_under) is None


def test_a_mark_that_was_never_given_counts_as_not_observed() -> None:
    rules = rubric()
    assert sheet_value(sheet(rules, {"a": 4, "b": 4}), rules) is None


def test_nothing_applicable_is_not_observed_and_never_divides_by_nothing() -> None:
    rules = rubric()
    slots = [slot(rules, t, {"A1": flat(rules, t, "not-applicable")}) for t in rules.tasks]
    result = module_result(case(rules, *slots))
    assert (result.outcome, result.mean, result.open_needs) == ("open", None, ("T1", "T2"))


def test_a_criterion_seen_by_one_marker_only_has_that_markers_value() -> None:
    rules = rubric()
    one = slot(rules, "T1", {"A1": flat(rules, "T1", 5), "A2": {"a": 3, "b": 3, "c": 3, "d": "not-observed"}})
    two = slot(rules, "T2", {"A1": flat(rules, "T2", 4)})
    values = {item.criterion: item for item in module_result(case(rules, one, two)).values if item.task == "T1"}
    assert (values["a"].value, values["a"].n) == (Fraction(4), 2)
    assert (values["d"].value, values["d"].n) == (Fraction(5), 1)
