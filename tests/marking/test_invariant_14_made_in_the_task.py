"""No score comes from a warm-up, a free run or hearsay: what was not made in the task is no evidence."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from assess.marking.fold import fold_sheet
from assess.marking.holes import holes
from assess.records.facts import Observation, Score
from tests.marking.building import ledger, rubric

RULES = rubric({"T1": ("edging", "line")})


def blocked(*, made: bool, level: int) -> bool:
    facts = [
        Observation(text="at breakfast everybody said so", criteria=("edging", "line"), made_in_task=made),
        Score(criterion="edging", level=level),
        Score(criterion="line", level=level),
    ]
    sheet = fold_sheet([ledger(facts, task="T1")], rubric=RULES)
    return any(hole.blocks and hole.kind == "no-evidence" for hole in holes(sheet, RULES))


@given(level=st.integers(1, 6))
def test_a_level_that_needs_evidence_is_not_lockable_on_what_was_seen_elsewhere(level: int) -> None:
    assert not blocked(made=True, level=level)
    needs = level < RULES.scale.pass_line or level == RULES.scale.max
    assert blocked(made=False, level=level) == needs
