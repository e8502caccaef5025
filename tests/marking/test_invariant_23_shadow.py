"""Invariants 9 and 23: the sheet of somebody who may not mark is kept and is in no mean, no moderation, no outcome."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from assess.marking.outcome import module_result
from assess.marking.results_json import to_json
from tests.marking.building import case, flat, rubric, sheet, slot
from tests.marking.drawn import Drawn, modules
from tests.marking.shadowed import shadow_sheets, with_shadows


@given(modules(), st.data())
def test_with_a_shadow_sheet_or_without_it_the_result_is_the_same(drawn: Drawn, data: st.DataObject) -> None:
    sheets = data.draw(shadow_sheets(drawn))
    told = module_result(with_shadows(drawn.case(), sheets))
    reasons = tuple(reason for reason in told.reasons if "shadow" not in reason)
    assert replace(told, shadows=(), reasons=reasons) == module_result(drawn.case())
    assert [(item.task, item.assessor) for item in told.shadows] == [(task, "A9") for task in sorted(sheets)]


def test_a_slot_waits_for_no_shadow_and_one_with_shadow_sheets_alone_is_not_observed() -> None:
    rules = rubric()
    fine = flat(rules, "T1", 5)
    waiting = replace(slot(rules, "T1", {"A1": fine, "A2": fine}), allocated=("A1", "A2", "A9"), shadows={"A9": "x"})
    other = slot(rules, "T2", {"A1": flat(rules, "T2", 5)})
    assert module_result(case(rules, waiting, other)).outcome == "passed"
    alone = replace(other, shadows={"A1": "the licence ended on 2026-01-31"})
    result = module_result(case(rules, waiting, alone))
    assert (result.outcome, result.open_needs, result.not_locked) == ("open", ("T2",), ())
    assert result.reasons == ("not seen: T2", "A1 in T2 counts as a shadow: the licence ended on 2026-01-31")


def test_a_shadow_far_off_makes_no_moderation_due() -> None:
    rules = rubric()
    high, low = flat(rules, "T1", 5), flat(rules, "T1", 1)
    both = slot(rules, "T1", {"A1": high, "A2": high, "A9": low})
    other = slot(rules, "T2", {"A1": flat(rules, "T2", 5), "A2": flat(rules, "T2", 5)})
    assert module_result(case(rules, both, other)).moderation_due == ("T1",)
    assert module_result(case(rules, replace(both, shadows={"A9": "x"}), other)).moderation_due == ()


def test_a_shadow_is_no_third_marker() -> None:
    rules = rubric()
    third = sheet(rules, flat(rules, "T1", 1), assessor="A9")
    seen = slot(rules, "T1", {"A1": flat(rules, "T1", 5)}, third=(third,))
    other = slot(rules, "T2", {"A1": flat(rules, "T2", 5)})
    assert module_result(case(rules, seen, other, third_look="closed")).n_sheets == 3
    barred = replace(seen, shadows={"A9": "x"})
    assert module_result(case(rules, barred, other, third_look="closed")).n_sheets == 2


def test_shadows_are_named_in_the_json_without_their_marks() -> None:
    rules = rubric()
    both = slot(rules, "T1", {"A1": flat(rules, "T1", 5), "A9": flat(rules, "T1", 1)}, shadows={"A9": "no licence"})
    told = to_json(module_result(case(rules, both, slot(rules, "T2", {"A1": flat(rules, "T2", 5)}))))
    assert told["shadows"] == [{"task": "T1", "assessor": "A9", "why": "no licence"}]
    assert [item["assessor"] for item in told["sheets"]] == ["A1", "A1"]
