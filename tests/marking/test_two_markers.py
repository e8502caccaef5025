"""When a slot is due for moderation, when it is only listed, and in what order slots are taken."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from assess.marking.outcome import module_result
from assess.marking.results import SlotDifference
from assess.marking.two_markers import disputed_range, slot_difference
from tests.marking.building import case, flat, rubric, sheet, slot
from tests.marking.sample import first_case

RULES = rubric()


def between(one: str, two: str) -> SlotDifference | None:
    """The difference of two sheets of T1, a digit per criterion (0 = not observed)."""
    words = [
        {k: int(d) if d != "0" else "not-observed" for k, d in zip("abcd", digits, strict=True)}
        for digits in (one, two)
    ]
    return slot_difference(slot(RULES, "T1", {"A1": words[0], "A2": words[1]}), RULES)


@pytest.mark.parametrize(
    ("one", "two", "because"),
    [
        ("5555", "4445", ()),  # exactly .75 apart: not more
        ("5555", "4444", ("sheet-apart",)),
        ("4444", "4433", ()),  # 3.5 is on the line: counts as above it
        ("4443", "4333", ("other-side",)),
        ("5555", "5553", ("criterion-apart",)),
        ("6444", "4444", ("criterion-apart",)),
        ("5555", "3333", ("criterion-apart", "other-side", "sheet-apart")),
        ("4440", "4330", ("other-side",)),  # 4 and 10/3 over what was seen
        ("4444", "4444", ()),
    ],
)
def test_a_slot_is_due_by_named_rules(one: str, two: str, because: tuple[str, ...]) -> None:
    found = between(one, two)
    assert (found.because if found else ()) == because


def test_marks_on_both_sides_of_the_line_one_apart_are_only_listed() -> None:
    found = between("4444", "4443")
    assert found is not None and not found.due
    assert found.across == ("d",)
    assert between("5555", "5554") is None


def test_a_criterion_one_marker_did_not_see_is_not_compared() -> None:
    found = between("5550", "5551")
    # 5 against 4: the sheets are 1 apart, and no criterion both saw differs
    assert found is not None
    assert (found.because, found.criteria, found.across) == (("sheet-apart",), (), ())


def test_with_one_observed_sheet_nothing_is_due() -> None:
    assert between("5555", "1000") is None
    assert slot_difference(slot(RULES, "T1", {"A1": flat(RULES, "T1", 5)}), RULES) is None


def test_a_moderated_slot_is_due_no_more() -> None:
    both = {"A1": flat(RULES, "T1", 5), "A2": flat(RULES, "T1", 2)}
    assert slot_difference(slot(RULES, "T1", both), RULES) is not None
    assert slot_difference(slot(RULES, "T1", both, kept_both=True), RULES) is None
    assert slot_difference(slot(RULES, "T1", both, moderated={"a": 4}), RULES) is None


def test_a_slot_is_not_compared_before_both_have_locked() -> None:
    whole = slot(RULES, "T1", {"A1": flat(RULES, "T1", 5), "A2": flat(RULES, "T1", 2)})
    unlocked = sheet(RULES, flat(RULES, "T1", 2), assessor="A2", lock=False)
    assert slot_difference(replace(whole, sheets=(whole.sheets[0], unlocked)), RULES) is None


def test_neither_a_shadow_nor_a_withdrawn_nor_a_third_marker_is_compared() -> None:
    whole = slot(RULES, "T1", {"A1": flat(RULES, "T1", 5), "A2": flat(RULES, "T1", 2)})
    assert slot_difference(replace(whole, allocated=("A1",)), RULES) is None
    assert slot_difference(replace(whole, withdrawn=("A2",)), RULES) is None
    agreeing = slot(RULES, "T1", {"A1": flat(RULES, "T1", 5), "A2": flat(RULES, "T1", 5)})
    third = sheet(RULES, flat(RULES, "T1", 1), assessor="A3")
    assert slot_difference(replace(agreeing, third=(third,)), RULES) is None


def test_the_range_an_agreed_value_lies_in_is_that_of_the_marks() -> None:
    sheets = [sheet(RULES, {"a": 5, "b": 4, "c": 3, "d": 2}), sheet(RULES, flat(RULES, "T1", 4), assessor="A2")]
    assert disputed_range(sheets, RULES) == {
        name: (Fraction(low), Fraction(high)) for name, low, high in (("a", 4, 5), ("c", 3, 4), ("d", 2, 4))
    }


def test_slots_that_can_change_the_outcome_come_first() -> None:
    apart = {"A1": {"a": 6, "b": 6, "c": 6, "d": 6}, "A2": {"a": 5, "b": 5, "c": 5, "d": 5}}
    close = {"A1": {"a": 5, "e": 4, "f": 4, "g": 4}, "A2": {"a": 3, "e": 2, "f": 2, "g": 2}}
    result = module_result(case(RULES, slot(RULES, "T1", apart), slot(RULES, "T2", close)))
    assert result.moderation_due == ("T2", "T1")
    assert {item.task: item.effect for item in result.differences} == {"T2": "alone", "T1": "together"}


@pytest.mark.parametrize(("other", "outcome"), [("3333", "not_passed"), ("5544", "passed")])
def test_a_difference_that_only_one_end_can_turn_changes_the_outcome_alone(other: str, outcome: str) -> None:
    # 13/4 does not pass and would with T1 agreed at 6; 7/2 passes and would not with T1 agreed at 1.
    rules = rubric(band=None, below_line={"m": 4}, minimum=None)
    t1 = {"A1": flat(rules, "T1", 6 if outcome == "not_passed" else 4), "A2": flat(rules, "T1", 1)}
    t2 = {"A1": {k: int(d) for k, d in zip(rules.tasks["T2"].criteria, other, strict=True)}}
    result = module_result(case(rules, slot(rules, "T1", t1), slot(rules, "T2", {**t2, "A2": t2["A1"]})))
    assert result.outcome == outcome
    assert {item.effect for item in result.differences if item.due} == {"alone"}


def test_a_difference_that_no_agreed_value_can_turn_changes_nothing() -> None:
    # C03 passes demonstration at 4.83 with both differences, and would with either end of them.
    result = module_result(first_case("C03", "demo"))
    assert result.moderation_due == ("T1", "T3")
    assert {item.effect for item in result.differences} == {"nothing"}
    assert {item.effect for item in module_result(first_case("C09", "teach")).differences} == {"nothing"}
    assert {item.effect for item in module_result(first_case("C09", "demo")).differences} == {"later"}


def test_what_counts_as_nothing_holds_for_every_agreed_value_in_the_range() -> None:
    start = first_case("C03", "demo")
    outcome = module_result(start).outcome
    for end in (min, max):
        slots = []
        for held in start.slots:
            ranges = disputed_range(list(held.sheets), start.rubric)
            slots.append(replace(held, moderated={k: int(end(pair)) for k, pair in ranges.items()}))
        assert module_result(replace(start, slots=tuple(slots))).outcome == outcome
