"""Invariant 13: a fall of a candidate or a learner has no automatic effect on any score."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from assess.marking.fold import fold_sheet
from assess.marking.outcome import module_result
from assess.marking.results_json import to_json
from assess.records.facts import Fact, Observation
from tests.marking.building import even, flat, ledger, locked, rubric, scores

RULES = rubric()


@given(st.integers(1, 6), st.integers(1, 4), st.sampled_from([None, "L1"]))
def test_falls_change_neither_marks_nor_outcome(level: int, falls: int, learner: str | None) -> None:
    marks = scores(flat(RULES, "T1", level))
    fall: list[Fact] = [Observation(category="fall", text="falls", learner=learner, criteria=("a",))] * falls
    without = fold_sheet([locked(ledger(marks))], rubric=RULES)
    with_falls = fold_sheet([locked(ledger([*marks, *fall]))], rubric=RULES)
    assert [(m.criterion, m.level) for m in with_falls.marks] == [(m.criterion, m.level) for m in without.marks]
    assert len(with_falls.observations) == falls
    case = even(RULES, level)
    told = []
    for sheet in (without, with_falls):
        slot = replace(case.slots[0], sheets=(sheet, case.slots[0].sheets[1]))
        told.append(to_json(module_result(replace(case, slots=(slot, case.slots[1])))))
    assert told[0] == told[1]
