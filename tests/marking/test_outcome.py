"""The table of outcomes: kinds of rule, edges, one single value, third looks, repeats, moderation, blindness."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given

from assess.marking.case import ModuleCase
from assess.marking.outcome import module_result
from assess.marking.reach import reach
from assess.marking.results import ModuleResult
from assess.marking.results_json import to_json
from assess.marking.rule import module_rule
from assess.marking.values import counted_sheets
from assess.records.rubric import Rubric
from tests.marking.building import case, even, flat, rubric, sheet, sheet_error, slot
from tests.marking.drawn import Drawn, modules

NO_BAND: dict[str, Any] = {"band": None}


def banded(error: str, z: str = "1") -> dict[str, Any]:
    return {"band": {"z": z, "sheet_error": {"m": sheet_error(error)}}}


def digits(task: str, text: str, rules: Rubric) -> dict[str, int | str]:
    """`"4430"`: a digit per criterion, 0 for not observed."""
    levels = [int(digit) if digit != "0" else "not-observed" for digit in text]
    return dict(zip(rules.tasks[task].criteria, levels, strict=True))


def one_marker(t1: str, t2: str, **rules: Any) -> ModuleResult:
    """T1 and T2 marked by A1 alone, so a digit is a task-criterion value."""
    made = rubric(**rules)
    slots = (slot(made, "T1", {"A1": digits("T1", t1, made)}), slot(made, "T2", {"A1": digits("T2", t2, made)}))
    return module_result(case(made, *slots))


# --- first line that applies --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("t1", "t2", "outcome", "reasons"),
    [
        ("5555", "5555", "passed", ()),
        ("5555", "5533", "passed", ()),  # two below the line where two are allowed
        ("5555", "5333", "third_look", ("one value: 3 of 8 below the line, 2 allowed",)),
        ("6666", "3333", "not_passed", ("count: 4 of 8 below the line, 2 allowed",)),
        ("5555", "5552", "third_look", ("one value: T2 g",)),
        ("5555", "5522", "not_passed", ("minimum: T2 f 2.00, T2 g 2.00; 2.50 needed",)),
        ("6666", "6332", "third_look", ("one value: T2 g",)),  # one under the minimum, which is also the third below
        ("4444", "3344", "third_look", ("in the band",)),
        ("3333", "4444", "not_passed", ("count: 4 of 8 below the line, 2 allowed",)),
    ],
)
def test_the_first_line_that_applies_gives_the_outcome(
    t1: str, t2: str, outcome: str, reasons: tuple[str, ...]
) -> None:
    # n = 2, sheet error 0.5: h = .354, so 3.75 is in the band and 4.125 is not
    result = one_marker(t1, t2)
    assert (result.outcome, result.reasons) == (outcome, reasons)


def test_the_minimum_itself_is_enough_unless_the_rubric_says_otherwise() -> None:
    made = rubric()
    twice = {"A1": digits("T1", "5552", made), "A2": digits("T1", "5553", made)}
    fine = {"A1": flat(made, "T2", 5), "A2": flat(made, "T2", 5)}
    assert module_result(case(made, slot(made, "T1", twice), slot(made, "T2", fine))).outcome == "passed"
    strict = rubric(minimum={"value": "2.5", "inclusive": False})
    result = module_result(case(strict, slot(strict, "T1", twice), slot(strict, "T2", fine)))
    assert (result.outcome, result.reasons) == ("third_look", ("one value: T1 d",))


def test_one_markers_digit_alone_fails_nobody() -> None:
    # 2 from one marker, 5 from the other: the value is 3.5, on the line.
    made = rubric()
    t1 = {"A1": digits("T1", "5552", made), "A2": digits("T1", "5555", made)}
    t2 = {"A1": flat(made, "T2", 5), "A2": flat(made, "T2", 5)}
    result = module_result(case(made, slot(made, "T1", t1), slot(made, "T2", t2)))
    assert result.outcome == "passed"
    assert result.below_line == ()


# --- edges --------------------------------------------------------------------------------------


def test_a_mean_on_the_line_passes_where_no_band_is_read() -> None:
    assert one_marker("3344", "4433", **NO_BAND, below_line={"m": 4}).outcome == "passed"
    result = one_marker("3344", "4333", **NO_BAND, below_line={"m": 5})
    assert (result.outcome, result.reasons) == ("not_passed", ("mean 3.38 below the line",))


@pytest.mark.parametrize(
    ("error", "outcome"),
    [("0.353554", "third_look"), ("0.353553", "passed")],  # mean - line = 1/4 = h when error = .25 * root 2
)
def test_the_band_is_compared_in_fractions_on_either_side_of_its_edge(error: str, outcome: str) -> None:
    assert one_marker("4444", "4433", **banded(error)).outcome == outcome


def test_a_mean_exactly_on_the_edge_of_the_band_is_in_it() -> None:
    # (15/4 - 7/2)^2 * 4 = 1/4 = (0.5)^2 with two markers in two tasks
    made = rubric(**banded("0.5"))
    t1 = {"A1": flat(made, "T1", 4), "A2": flat(made, "T1", 4)}
    t2 = {"A1": digits("T2", "4433", made), "A2": digits("T2", "4433", made)}
    edge = case(made, slot(made, "T1", t1), slot(made, "T2", t2))
    result = module_result(edge)
    assert (result.mean, result.outcome, result.reasons) == (Fraction(15, 4), "third_look", ("in the band",))
    narrower = replace(edge, rubric=rubric(**banded("0.499999")))
    assert module_result(narrower).outcome == "passed"


def test_z_widens_the_band() -> None:
    assert one_marker("4444", "4444", **banded("0.5", "1")).outcome == "passed"
    assert one_marker("4444", "4444", **banded("0.5", "1.64")).outcome == "third_look"


def test_weights_move_a_sheet_value() -> None:
    made = rubric(weights={"a": "3", "b": "1", "c": "1", "d": "1"})
    value = module_result(case(made, slot(made, "T1", {"A1": digits("T1", "5333", made)}))).sheets[0].value
    assert value == Fraction(3 * 5 + 9, 6)


# --- kinds of rule ------------------------------------------------------------------------------


def test_compensatory_reads_the_mean_alone() -> None:
    assert one_marker("6666", "6111", rule="compensatory").outcome == "passed"
    assert one_marker("6666", "6111").outcome == "not_passed"


def test_conjunctive_wants_no_value_below_the_line() -> None:
    assert one_marker("6666", "6644", rule="conjunctive").outcome == "passed"
    assert one_marker("6666", "6663", rule="conjunctive").outcome == "third_look"
    assert one_marker("6666", "6633", rule="conjunctive").outcome == "not_passed"


# --- moderation, third look, repeat -------------------------------------------------------------


def test_an_agreed_value_stands_in_every_sheet_of_its_slot_and_n_stays() -> None:
    made = rubric()
    t1 = {"A1": digits("T1", "5555", made), "A2": digits("T1", "5552", made)}
    t2 = {"A1": flat(made, "T2", 5), "A2": flat(made, "T2", 5)}
    result = module_result(case(made, slot(made, "T1", t1, moderated={"d": 3}), slot(made, "T2", t2)))
    assert result.mean == Fraction(18 * 2 + 40, 4 * 4)
    assert result.n_sheets == 4
    assert {(v.task, v.criterion): v.value for v in result.values}["T1", "d"] == 3
    assert result.moderation_due == ()


def borderline(**more: Any) -> ModuleCase:
    """Two markers, all values 3.5: in the band."""
    made = rubric(below_line={"m": 8})
    both = {task: {"A1": flat(made, task, 3), "A2": flat(made, task, 4)} for task in ("T1", "T2")}
    return case(made, *(slot(made, task, sheets, kept_both=True) for task, sheets in both.items()), **more)


def with_third(start: ModuleCase, level: int, assessor: str = "A3") -> ModuleCase:
    slots = tuple(
        replace(s, third=(sheet(start.rubric, flat(start.rubric, s.task, level), task=s.task, assessor=assessor),))
        for s in start.slots
    )
    return replace(start, slots=slots)


def test_until_a_third_look_is_closed_its_sheets_are_not_read() -> None:
    ordered = replace(with_third(borderline(), 1), third_look="ordered")
    result = module_result(ordered)
    assert (result.outcome, result.n_sheets, result.mean) == ("third_look", 4, Fraction(7, 2))


@pytest.mark.parametrize(("level", "outcome"), [(4, "passed"), (3, "not_passed")])
def test_after_a_closed_third_look_the_band_is_not_read(level: int, outcome: str) -> None:
    result = module_result(replace(with_third(borderline(), level), third_look="closed"))
    assert (result.outcome, result.n_sheets, result.mean) == (outcome, 6, Fraction(7 * 2 + level * 2, 6))
    assert result.reach is None
    assert result.band is not None


def test_minimum_and_count_are_read_once_more_after_the_third_look() -> None:
    made = rubric()
    t1 = {"A1": digits("T1", "5552", made), "A2": digits("T1", "5552", made)}
    t2 = {"A1": flat(made, "T2", 5), "A2": flat(made, "T2", 5)}
    start = case(made, slot(made, "T1", t1), slot(made, "T2", t2))
    assert module_result(start).reasons == ("one value: T1 d",)
    # (2 + 2 + 3) / 3 = 2.33 stays under 2.5; (2 + 2 + 4) / 3 = 2.67 does not
    still = module_result(replace(with_third(start, 3), third_look="closed"))
    assert (still.outcome, still.reasons) == ("not_passed", ("minimum: T1 d 2.33; 2.50 needed",))
    assert module_result(replace(with_third(start, 4), third_look="closed")).outcome == "passed"


def test_a_marker_of_the_slot_is_never_its_third() -> None:
    result = module_result(replace(with_third(borderline(), 6, assessor="A1"), third_look="closed"))
    assert result.n_sheets == 4


def test_a_look_that_cannot_change_the_outcome_is_not_offered_and_the_band_not_read() -> None:
    result = module_result(borderline(third_tasks=()))
    assert (result.outcome, result.reach) == ("passed", None)
    assert result.reasons == ("third look not offered: from 3.50 to 3.50 it cannot change the outcome",)
    # one value of four markers at 1, 1: even a 6 leaves it under the minimum
    made = rubric()
    t1 = {who: digits("T1", "6661", made) for who in ("A1", "A2", "A3", "A4")}
    t2 = {who: flat(made, "T2", 6) for who in ("A1", "A2")}
    hopeless = module_result(case(made, slot(made, "T1", t1), slot(made, "T2", t2)))
    assert hopeless.outcome == "not_passed"
    assert hopeless.reasons[0] == "minimum: T1 d 1.00; 2.50 needed"
    assert hopeless.reasons[1].startswith("third look not offered")


def test_the_reach_names_both_ends_and_what_it_covers() -> None:
    result = module_result(borderline())
    assert result.reach is not None
    assert (result.reach.lowest, result.reach.highest) == (Fraction(16, 6), Fraction(26, 6))
    assert result.reach.tasks == ("T1", "T2")
    assert set(result.reach.outcomes) == {"passed", "not_passed"}


def test_a_rubric_may_take_the_median_where_two_sheets_are_far_apart() -> None:
    start = with_third(borderline(), 6)
    closed = replace(start, third_look="closed")
    assert module_result(closed).mean == Fraction(3 + 4 + 6, 3)
    by_median = replace(closed, rubric=rubric(below_line={"m": 8}, third_look={"median_if_apart": "1"}))
    result = module_result(by_median)
    assert (result.mean, result.n_sheets) == (Fraction(4), 6)
    assert {value.value for value in result.values} == {Fraction(4)}
    close = replace(closed, rubric=rubric(below_line={"m": 8}, third_look={"median_if_apart": "3"}))
    assert module_result(close).mean == Fraction(13, 3)


def test_with_medians_the_reach_finds_ends_that_lie_between_the_levels() -> None:
    # Two 4s and a limit of 1: a third sheet of 1 is far apart, the median stays 4; one of 3 is not and gives 11/3.
    made = rubric(third_look={"median_if_apart": "1"}, **banded("1"))
    start = even(made, 4)
    assert reach(counted_sheets(start), start, module_rule(made, "m")).lowest == Fraction(11, 3)


def test_a_repeat_is_one_more_occasion_of_its_task() -> None:
    start = borderline()
    again = slot(
        start.rubric, "T1-2", {"A1": digits("T1", "4444", start.rubric), "A3": digits("T1", "3444", start.rubric)}
    )
    result = module_result(replace(start, slots=(*start.slots, again)))
    assert result.n_sheets == 6
    values = {(v.task, v.criterion): (v.value, v.n) for v in result.values}
    assert values["T1", "a"] == (Fraction(3 + 4 + 4 + 3, 4), 4)
    assert ("T1-2", "a") not in values


def test_a_task_nobody_could_observe_is_completed_by_a_second_performance() -> None:
    made = rubric()
    wind = {who: digits("T1", "5500", made) for who in ("A1", "A2")}
    fine = {who: flat(made, "T2", 5) for who in ("A1", "A2")}
    start = case(made, slot(made, "T1", wind), slot(made, "T2", fine))
    assert module_result(start).open_needs == ("T1",)
    done = replace(start, slots=(*start.slots, slot(made, "T1-2", {who: flat(made, "T1", 5) for who in ("A1", "A3")})))
    result = module_result(done)
    assert (result.outcome, result.n_sheets, result.mean) == ("passed", 4, Fraction(5))


# --- who counts ---------------------------------------------------------------------------------


def test_a_withdrawn_sheet_counts_as_locked_without_use() -> None:
    made = rubric()
    waiting = replace(slot(made, "T1", {"A1": flat(made, "T1", 5)}), allocated=("A1", "A2"))
    fine = slot(made, "T2", {"A1": flat(made, "T2", 5)})
    assert module_result(case(made, waiting, fine)).reasons == ("not locked",)
    freed = module_result(case(made, replace(waiting, withdrawn=("A2",)), fine))
    assert (freed.outcome, freed.n_sheets) == ("passed", 2)
    given_then_withdrawn = slot(made, "T1", {"A1": flat(made, "T1", 5), "A2": flat(made, "T1", 1)}, withdrawn=("A2",))
    assert module_result(case(made, given_then_withdrawn, fine)).mean == 5


def test_a_shadow_sheet_is_in_no_number() -> None:
    start = even(rubric(), 4)
    shadow = sheet(start.rubric, flat(start.rubric, "T1", 1), assessor="A9")
    with_shadow = replace(start.slots[0], sheets=(*start.slots[0].sheets, shadow))
    assert module_result(replace(start, slots=(with_shadow, start.slots[1]))) == module_result(start)


def test_a_void_performance_does_not_count() -> None:
    start = even(rubric(), 5)
    result = module_result(replace(start, slots=(replace(start.slots[0], void=True), start.slots[1])))
    assert (result.outcome, result.open_needs, result.n_sheets) == ("open", ("T1",), 2)


# --- before all locks ---------------------------------------------------------------------------


@given(modules(breaches=False), modules(breaches=False))
def test_before_every_lock_the_result_is_the_same_whatever_the_marks(one: Drawn, other: Drawn) -> None:
    waiting = frozenset({("T2", "A2")})
    told = [
        to_json(
            module_result(replace(drawn, rules=one.rules, third_look="none", third_tasks=None).case(unlocked=waiting))
        )
        for drawn in (one, other)
    ]
    assert told[0] == told[1]
    assert told[0]["outcome"] == "open"
    assert (told[0]["mean"], told[0]["mean_exact"], told[0]["band"], told[0]["n_sheets"]) == (None, None, None, 0)
    assert (told[0]["reasons"], told[0]["not_locked"]) == (["not locked"], ["T2"])
    empty: Mapping[str, Any] = {"moderation_due": [], "open_needs": [], "reach": None, "flips_with": None, "sheets": []}
    assert {key: told[0][key] for key in empty} == empty


def test_the_json_has_the_keys_other_programs_rely_on() -> None:
    told = to_json(module_result(borderline()))
    wanted = [
        "outcome", "mean", "mean_exact", "line", "band", "n_sheets", "reasons", "open_needs", "breach",
        "moderation_due", "reach", "flips_with",
    ]  # fmt: skip
    assert list(told)[: len(wanted)] == wanted
    assert (told["mean"], told["mean_exact"], told["line"], told["band"]) == ("3.50", "7/2", "7/2", "0.250")
    assert told["reach"] == ["2.67", "4.33"]
