"""Invariant 11: scores given in a version are judged by that version; within one area all sheets have one version."""

from __future__ import annotations

from dataclasses import replace

from assess.marking.outcome import module_result
from tests.marking.building import REF, even, flat, rubric, sheet

OTHER = "sha256:" + "b" * 64


def test_a_sheet_of_another_version_holds_the_module_open() -> None:
    rules = rubric()
    case = even(rules, 5, rubric_ref=REF)
    assert module_result(case).outcome == "passed"
    stray = sheet(rules, flat(rules, "T1", 5), assessor="A2", ref=OTHER)
    first = replace(case.slots[0], sheets=(case.slots[0].sheets[0], stray))
    result = module_result(replace(case, slots=(first, case.slots[1])))
    assert (result.outcome, result.reasons) == ("open", ("sheets of more than one rubric version",))


def test_sheets_are_not_judged_by_a_version_they_were_not_marked_on() -> None:
    result = module_result(even(rubric(), 5, rubric_ref=OTHER))
    assert (result.outcome, result.reasons) == ("open", ("sheets of more than one rubric version",))


def test_a_later_version_with_another_line_leaves_the_old_result_as_it_was() -> None:
    old, new = rubric(), rubric(scale={**rubric().scale.model_dump(), "pass_line": "4.5"})
    before = module_result(even(old, 4, rubric_ref=REF))
    assert before.outcome == "passed"
    assert module_result(even(new, 4)).outcome == "not_passed"
    assert module_result(even(old, 4, rubric_ref=REF)) == before
