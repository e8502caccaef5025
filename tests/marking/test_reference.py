"""The reference of a round: the middle of at least four blind levels, spread kept, near the line or not."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.marking.reference import built, median
from tests.round_sheets import RUBRIC, sheet

PANEL = ("P1", "P2", "P3", "P4", "P5")


def panel_sheets(levels: Mapping[str, tuple[int | None, ...]], lesson: str = "L01"):
    return [sheet(who, lesson, given) for who, given in levels.items()]


def test_the_middle_of_five_and_of_four_levels() -> None:
    levels = {"P1": (3, 3, 2, 4), "P2": (4, 3, 3, 4), "P3": (3, 4, 3, 4), "P4": (4, 4, 6, None)}
    found = built({("T5", "L01"): panel_sheets(levels)}, PANEL, RUBRIC, Fraction(1, 2)).lesson("L01")
    by_criterion = {item.criterion: item for item in found.levels}
    assert by_criterion["diagnosis"].level == Fraction(7, 2)
    assert by_criterion["build-up"].level == 3
    assert (by_criterion["build-up"].lowest, by_criterion["build-up"].highest) == (Fraction(2), Fraction(6))
    assert by_criterion["build-up"].levels == {"P1": 2, "P2": 3, "P3": 3, "P4": 6}
    assert found.missing == ("learner-change",)
    assert found.value == Fraction(10, 3)
    assert found.near


@pytest.mark.parametrize(("near_line", "near"), [("1/2", True), ("1/4", True), ("6/25", False)])
def test_near_the_line_counts_its_edge(near_line: str, near: bool) -> None:
    same = dict.fromkeys(PANEL, (4, 4, 4, 3))
    reference = built({("T5", "L01"): panel_sheets(same)}, PANEL, RUBRIC, Fraction(near_line))
    assert reference.lesson("L01").value == Fraction(15, 4)
    assert reference.lesson("L01").near is near
    assert reference.near == int(near)


def test_a_lesson_nobody_saw_has_no_value_and_is_not_near() -> None:
    found = built({("T5", "L01"): panel_sheets(dict.fromkeys(PANEL, (None,) * 4))}, PANEL, RUBRIC, Fraction(9))
    assert found.lesson("L01").value is None
    assert not found.lesson("L01").near
    assert len(found.lesson("L01").missing) == 4


def test_a_lesson_the_panel_was_taken_off_has_no_reference() -> None:
    found = built({("T5", "L01"): []}, PANEL, RUBRIC, Fraction(1)).lesson("L01")
    assert (found.levels, found.value, len(found.missing)) == ((), None, 4)


def test_a_lesson_of_another_round_is_not_there() -> None:
    with pytest.raises(KeyError):
        built({}, PANEL, RUBRIC, Fraction(1)).lesson("L01")


@given(st.lists(st.integers(1, 6).map(Fraction), min_size=1, max_size=9))
def test_at_most_half_lie_on_either_side_of_the_middle(levels: list[Fraction]) -> None:
    middle = median(levels)
    assert median(reversed(levels)) == middle
    assert sum(level < middle for level in levels) * 2 <= len(levels)
    assert sum(level > middle for level in levels) * 2 <= len(levels)
    assert min(levels) <= middle <= max(levels)


def test_there_is_no_middle_of_nothing() -> None:
    with pytest.raises(ValueError, match="no middle"):
        median([])
