"""Invariant 16: a module's result does not depend on other candidates' scores."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from assess.marking.outcome import module_result
from assess.marking.results_json import to_json
from tests.marking.building import even, flat, rubric, sheet
from tests.marking.sample import CANDIDATES, MODULES, first_case

RULES = rubric()


@given(st.integers(1, 6), st.integers(1, 6))
def test_sheets_and_slots_of_others_among_the_inputs_are_not_read(mine: int, theirs: int) -> None:
    alone = even(RULES, mine)
    strange = tuple(sheet(RULES, flat(RULES, "T1", theirs), assessor=who, candidate="C02") for who in ("A1", "A2"))
    mixed = replace(alone.slots[0], sheets=(*strange, *alone.slots[0].sheets), third=strange)
    foreign = replace(alone.slots[1], candidate="C02", sheets=strange)
    crowded = replace(alone, slots=(foreign, mixed, alone.slots[1]))
    assert to_json(module_result(crowded)) == to_json(module_result(alone))


@settings(max_examples=8)
@given(st.permutations(CANDIDATES))
def test_the_order_in_which_candidates_are_judged_changes_nothing(order: list[str]) -> None:
    told = {who: to_json(module_result(first_case(who, "teach"))) for who in order}
    assert told == {who: to_json(module_result(first_case(who, "teach"))) for who in CANDIDATES}


def test_the_band_comes_from_the_rubric_and_not_from_the_marks_of_the_course() -> None:
    widths = {
        (result.module, result.n_sheets): result.band
        for who in CANDIDATES
        for module in MODULES
        if (result := module_result(first_case(who, module))).band
    }
    assert widths == {
        ("demo", 6): "0.188",
        ("demo", 4): "0.230",
        ("teach", 4): "0.275",
        ("teach", 2): "0.389",
        ("safety", 2): "0.332",
    }
