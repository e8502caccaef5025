"""Invariant 8: what a marker with a waived conflict says decides nothing that the others alone do not say."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assess.marking.conflict import without_conflicted
from assess.marking.outcome import module_result
from assess.marking.results_json import to_json
from tests.marking.building import case, flat, rubric, slot
from tests.marking.drawn import TASKS, Drawn, Marks, modules
from tests.marking.shadowed import conflicted_at
from tests.marking.test_invariant_17_never_lower import ORDER, raised

SIGNED = ("passed", "not_passed")
where = st.lists(st.sampled_from(sorted(TASKS)), min_size=1, unique=True)


@given(modules(), where)
def test_no_pass_and_no_failure_stands_that_the_others_alone_do_not_give(drawn: Drawn, tasks: list[str]) -> None:
    both = conflicted_at(drawn.case(), ["A1"], tasks)
    result, alone = module_result(both), module_result(without_conflicted(both))
    if result.outcome in SIGNED:
        assert alone.outcome == result.outcome
    if alone.outcome == module_result(drawn.case()).outcome:
        assert result.outcome == alone.outcome
    assert result.waived is None or result.waived.alone == alone.outcome


@given(modules(), where)
def test_the_figures_are_those_of_all_who_count(drawn: Drawn, tasks: list[str]) -> None:
    result, plain = module_result(conflicted_at(drawn.case(), ["A1"], tasks)), module_result(drawn.case())
    assert (result.mean, result.n_sheets, result.values) == (plain.mean, plain.n_sheets, plain.values)
    assert sorted(result.moderation_due) == sorted(plain.moderation_due)


@given(modules())
def test_nobody_in_conflict_changes_nothing(drawn: Drawn) -> None:
    assert module_result(conflicted_at(drawn.case(), ["A7"])) == module_result(drawn.case())


@settings(max_examples=250, suppress_health_check=[HealthCheck.too_slow])
@given(modules(), where, st.data())
def test_raising_one_score_never_lowers_the_outcome_then_either(
    drawn: Drawn, tasks: list[str], data: st.DataObject
) -> None:  # fmt: skip
    before = module_result(conflicted_at(drawn.case(), ["A1"], tasks))
    after = module_result(conflicted_at(raised(drawn, data).case(), ["A1"], tasks))
    assert ORDER.index(after.outcome) >= ORDER.index(before.outcome)


@given(modules(), st.data())
def test_the_marks_of_the_one_in_conflict_alone_move_no_outcome_to_a_signed_one(
    drawn: Drawn, data: st.DataObject
) -> None:  # fmt: skip
    """Whatever A1 writes in place of these marks: of the two results that can be signed only one can come of it."""
    other: Marks = {key: data.draw(st.integers(1, 6)) for key in drawn.sheets["T1", "A1"]}
    changed = replace(drawn, sheets={**drawn.sheets, ("T1", "A1"): other})
    found = {module_result(conflicted_at(d.case(), ["A1"])).outcome for d in (drawn, changed)}
    assert not set(SIGNED) <= found


def two_tasks(first: int, second: int, **more: object):
    """A1, in conflict, gives `first` everywhere; A2 gives `second`."""
    rules = rubric(two_markers={"sheet_apart": "9", "criterion_apart": 9, "other_side_of_line": False})
    slots = [slot(rules, t, {"A1": flat(rules, t, first), "A2": flat(rules, t, second)}) for t in TASKS_HERE]
    return conflicted_at(case(rules, *slots, **more), ["A1"])


TASKS_HERE = ("T1", "T2")


@pytest.mark.parametrize(
    ("first", "second", "with_all", "alone", "outcome"),
    [
        (5, 5, "passed", "passed", "passed"),
        (2, 2, "not_passed", "not_passed", "not_passed"),
        (6, 3, "passed", "not_passed", "open"),
        (1, 5, "not_passed", "passed", "open"),
    ],
)
def test_the_outcome_stands_only_where_both_ways_agree(first, second, with_all, alone, outcome) -> None:
    both = two_tasks(first, second)
    assert module_result(conflicted_at(both, [])).outcome == with_all
    assert module_result(without_conflicted(both)).outcome == alone
    result = module_result(both)
    assert result.outcome == outcome
    said = f"A1 marks here by a waiver: with these sheets it would be {with_all}, without them {alone}"
    assert result.reasons == ((said,) if outcome == "open" else module_result(conflicted_at(both, [])).reasons)
    assert result.flips_with is None
    assert to_json(result)["waived"] == {"assessors": ["A1"], "without_them": alone}


def test_the_one_in_conflict_as_the_only_marker_of_a_task_leaves_it_to_be_seen() -> None:
    rules = rubric()
    slots = (
        slot(rules, "T1", {"A1": flat(rules, "T1", 5)}),
        slot(rules, "T2", {"A1": flat(rules, "T2", 5), "A2": flat(rules, "T2", 5)}),
    )
    result = module_result(conflicted_at(case(rules, *slots), ["A1"], ["T1"]))
    assert (result.outcome, result.open_needs) == ("open", ("T1",))


def test_between_a_pass_and_a_third_look_the_third_look_is_offered() -> None:
    rules = rubric(
        two_markers={"sheet_apart": "9", "criterion_apart": 9, "other_side_of_line": False}, minimum=None, below_line={}
    )
    near = {"T1": {"a": 3, "b": 4, "c": 4, "d": 4}, "T2": {"a": 3, "e": 4, "f": 4, "g": 3}}
    slots = [slot(rules, t, {"A1": flat(rules, t, 6), "A2": near[t]}) for t in TASKS_HERE]
    both = conflicted_at(case(rules, *slots), ["A1"])
    assert module_result(conflicted_at(both, [])).outcome == "passed"
    result = module_result(both)
    assert (result.outcome, result.waived.alone) == ("third_look", "third_look")  # type: ignore[union-attr]
    assert result.reach is not None
    assert result.reasons == ("in the band without the sheets of A1, who marks here by a waiver",)


def test_an_agreed_value_that_the_one_in_conflict_took_part_in_does_not_stand_for_the_other_alone() -> None:
    rules = rubric()
    agreed = dict.fromkeys("abcd", 5)
    slots = (
        slot(rules, "T1", {"A1": flat(rules, "T1", 5), "A2": flat(rules, "T1", 2)}, moderated=agreed),
        slot(rules, "T2", {"A1": flat(rules, "T2", 5), "A2": flat(rules, "T2", 5)}),
    )
    result = module_result(conflicted_at(case(rules, *slots), ["A1"], ["T1"]))
    assert result.waived is not None and result.waived.alone == "not_passed"
    assert result.outcome == "open"


def test_before_the_locks_nothing_is_worked_out_and_a_confirmed_breach_closes_all_the_same() -> None:
    rules = rubric()
    held = slot(rules, "T1", {"A2": flat(rules, "T1", 2)})
    waiting = replace(held, allocated=("A1", "A2"))
    result = module_result(conflicted_at(case(rules, waiting), ["A1"]))
    assert (result.outcome, result.reasons, result.waived) == ("open", ("not locked",), None)
