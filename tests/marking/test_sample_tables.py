"""The worked course: both tables of outcomes, row by row."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

import pytest

from assess.marking.outcome import module_result
from assess.marking.results_json import to_json
from tests.marking.sample import CANDIDATES, MODULES, case_after_reserve, first_case, rows

FIRST = rows("first_outcomes.csv")
AFTER = rows("after_reserve.csv")


def name(row: dict[str, str]) -> str:
    return f"{row['candidate']} {row['module']}"


def test_both_tables_tell_every_candidate_and_module() -> None:
    everything = [(who, module) for who in CANDIDATES for module in MODULES]
    assert [(row["candidate"], row["module"]) for row in FIRST] == everything
    assert [(row["candidate"], row["module"]) for row in AFTER] == everything


@pytest.mark.parametrize("row", FIRST, ids=name)
def test_first_outcomes_are_those_of_the_table(row: dict[str, str]) -> None:
    told = to_json(module_result(first_case(row["candidate"], row["module"])))
    assert told["outcome"] == row["outcome"]
    assert told["mean"] == (row["mean"] or None)
    assert told["mean_exact"] == (row["exact"] or None)
    assert told["n_sheets"] == int(row["n"])
    assert told["band"] == (f"0{row['band']}" if row["band"] else None)
    assert told["moderation_due"] == row["due"].split()
    assert told["min_value"] == (f"{Decimal(row['least']):.2f}" if row["least"] else None)
    assert told["below_line"] == (row["below"] or None)
    # The table leaves out how many may be below the line; it stands in the rubric.
    assert re.sub(", [0-9]+ allowed", "", "; ".join(told["reasons"])) == row["because"]
    assert told["line"] == "7/2"


def test_seventeen_slots_are_due_and_sixteen_listed() -> None:
    results = [module_result(first_case(who, module)) for who in CANDIDATES for module in MODULES]
    assert sum(len(result.moderation_due) for result in results) == 17
    assert sum(len(result.listed) for result in results) == 16


@pytest.mark.parametrize("row", AFTER, ids=name)
def test_outcomes_after_the_reserve_morning_are_those_of_the_table(row: dict[str, str]) -> None:
    told = to_json(module_result(case_after_reserve(row["candidate"], row["module"])))
    assert told["outcome"] == row["outcome"]
    assert told["mean"] == (row["mean"] or None)
    assert told["mean_exact"] == (row["exact"] or None)
    assert told["n_sheets"] == int(row["n"])
    assert told["moderation_due"] == []


def test_open_needs_name_the_task_the_wind_stopped() -> None:
    assert module_result(first_case("C10", "demo")).open_needs == ("T3",)
    assert module_result(first_case("C05", "safety")).open_needs == ("T6",)
    assert module_result(first_case("C01", "demo")).open_needs == ()


@pytest.mark.parametrize(
    ("candidate", "module", "seen", "reach"),
    [
        ("C02", "demo", ("T1", "T3"), ["2.97", "4.22"]),
        ("C10", "teach", ("T5",), ["3.00", "4.00"]),
        ("C02", "teach", None, ["2.58", "4.25"]),
    ],
)
def test_the_reach_is_told_over_what_a_third_person_can_see(
    candidate: str, module: str, seen: tuple[str, ...] | None, reach: list[str]
) -> None:
    assert to_json(module_result(first_case(candidate, module, third_tasks=seen)))["reach"] == reach


def test_the_repeat_gives_c02_a_lowest_value_of_3_33_and_three_below_the_line() -> None:
    told = to_json(module_result(case_after_reserve("C02", "demo")))
    assert (told["min_value"], told["below_line"]) == ("3.33", "3 of 12")


def test_the_count_fails_c10_although_the_mean_is_above_the_line() -> None:
    told = to_json(module_result(case_after_reserve("C10", "teach")))
    assert told["reasons"] == ["count: 3 of 8 below the line, 2 allowed"]


def test_the_third_marker_lifts_the_one_value_of_c06() -> None:
    result = module_result(case_after_reserve("C06", "teach"))
    assert {(v.task, v.criterion): v.value for v in result.values}["T5", "drill-choice"] == Fraction(8, 3)


def test_without_one_marker_c08_would_still_not_pass_in_teaching() -> None:
    # The appeal of C08: T4 without A2 leaves three sheets, mean 35/12.
    case = first_case("C08", "teach")
    slots = tuple(
        type(slot)(slot.task, slot.candidate, slot.allocated, ("A2",), slot.sheets, kept_both=True)
        for slot in case.slots
    )
    result = module_result(type(case)(case.rubric, case.module, case.candidate, slots))
    assert (result.outcome, result.mean, result.n_sheets) == ("not_passed", Fraction(35, 12), 3)
