"""Invariant 6: without every criterion and every task seen enough, a module stays open."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hypothesis import given

from assess.marking.outcome import module_result
from assess.marking.results import ModuleResult
from tests.marking.building import case, flat, rubric, seen, sheet, slot
from tests.marking.drawn import Drawn, modules


def result_with(needs: Mapping[str, int], one: Mapping[str, Any], two: Mapping[str, Any]) -> ModuleResult:
    """T1 marked `one` by A1 and `two` by A2, T2 fine."""
    rules = rubric(minimum_evidence=needs)
    fine = flat(rules, "T2", 5)
    return module_result(
        case(rules, slot(rules, "T1", {"A1": one, "A2": two}), slot(rules, "T2", {"A1": fine, "A2": fine}))
    )


def test_a_task_nobody_observed_is_named() -> None:
    rules = rubric()
    result = module_result(case(rules, slot(rules, "T1", {"A1": flat(rules, "T1", 5)})))
    assert (result.outcome, result.open_needs, result.reasons) == ("open", ("T2",), ("not seen: T2",))


def test_a_criterion_seen_by_nobody_holds_the_module_open_although_both_sheets_are_observed() -> None:
    blind_to_d = {"a": 5, "b": 5, "c": 5, "d": "not-observed"}
    result = result_with({"scores": 1}, blind_to_d, blind_to_d)
    assert (result.outcome, result.reasons) == ("open", ("evidence: d, 0 of 1 scores",))
    assert result.open_needs == ()


def test_scores_count_over_all_markers_and_tasks() -> None:
    all_seen = {"a": 5, "b": 5, "c": 5, "d": 5}
    assert result_with({"scores": 2}, all_seen, all_seen).outcome == "passed"
    one_missing = {**all_seen, "d": "not-observed"}
    assert result_with({"scores": 2}, all_seen, one_missing).reasons == ("evidence: d, 1 of 2 scores",)


def test_a_criterion_that_could_exist_for_nobody_is_not_asked_for() -> None:
    nowhere = {"a": 5, "b": 5, "c": 5, "d": "not-applicable"}
    assert result_with({"scores": 1}, nowhere, nowhere).outcome == "passed"


def test_a_criterion_may_have_to_be_seen_in_several_tasks() -> None:
    all_seen = {"a": 5, "b": 5, "c": 5, "d": 5}
    reasons = result_with({"tasks": 2}, all_seen, all_seen).reasons
    assert "evidence: b, 1 of 2 tasks" in reasons
    assert not any(": a," in reason for reason in reasons)


def test_too_few_viewpoints_hold_a_module_open() -> None:
    all_seen = {"a": 5, "b": 5, "c": 5, "d": 5}
    reasons = result_with({"viewpoints": 1}, all_seen, all_seen).reasons
    assert "evidence: d, 0 of 1 viewpoints" in reasons


def test_notes_are_no_scores() -> None:
    rules = rubric(minimum_evidence={"scores": 1})
    assert module_result(case(rules)).outcome == "open"
    noted = sheet(rules, {"a": 5, "b": 5, "c": 5, "d": "not-observed"})
    assert seen("d").criteria == ("d",)
    assert noted.mark("d") is not None and noted.mark("d").value is None  # type: ignore[union-attr]


@given(modules())
def test_whatever_the_numbers_a_module_without_an_observed_task_is_open(drawn: Drawn) -> None:
    result = module_result(drawn.case())
    seen_tasks = {figure.task for figure in result.sheets if figure.value is not None}
    if {"T1", "T2"} - seen_tasks:
        assert result.outcome == "open"
        assert result.open_needs == tuple(sorted({"T1", "T2"} - seen_tasks))
    elif result.outcome != "open":
        assert result.open_needs == ()
