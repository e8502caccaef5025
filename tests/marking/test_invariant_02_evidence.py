"""Invariant 2: a score at or below the evidence line is not locked without evidence made in that task."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from assess.marking.fold import fold_sheet
from assess.marking.holes import blocking, holes, level_needs_evidence
from assess.records.facts import Fact, Observation, Score, Undo
from tests.marking.building import ledger, locked, rubric, scores, seen

RULES = rubric()
FINE = {"a": 4, "b": 4, "c": 4}


def lacking(*facts: Fact) -> set[str | None]:
    """The criteria of a sheet T1 that may not be locked for want of evidence."""
    sheet = fold_sheet([ledger([*scores(FINE), *facts])], rubric=RULES)
    return {hole.criterion for hole in blocking(sheet, RULES) if hole.kind == "no-evidence"}


@given(st.integers(1, 6))
def test_levels_below_the_pass_line_and_the_top_level_need_evidence(level: int) -> None:
    needs = level in (1, 2, 3, 6)
    assert lacking(Score(criterion="d", level=level)) == ({"d"} if needs else set())
    assert lacking(Score(criterion="d", level=level), seen("d")) == set()


def test_an_observation_of_another_criterion_is_no_evidence() -> None:
    assert lacking(Score(criterion="d", level=3), seen("a", "b")) == {"d"}


def test_an_observation_not_made_in_the_task_is_no_evidence() -> None:
    assert lacking(Score(criterion="d", level=3), seen("d", made_in_task=False)) == {"d"}


def test_a_score_may_name_a_note_that_names_no_criterion() -> None:
    assert lacking(Observation(text="tails wash"), Score(criterion="d", level=3, evidence=(4,))) == set()
    assert lacking(Observation(text="at lunch", made_in_task=False), Score(criterion="d", level=3, evidence=(4,))) == {
        "d"
    }


def test_evidence_taken_back_is_no_evidence() -> None:
    assert lacking(Score(criterion="d", level=3), seen("d"), Undo(of=5)) == {"d"}


def test_not_observed_needs_no_evidence_and_is_a_mark() -> None:
    sheet = fold_sheet([ledger(scores({**FINE, "d": "not-observed"}))], rubric=RULES)
    assert blocking(sheet, RULES) == ()


def test_a_criterion_without_a_mark_blocks_the_lock() -> None:
    sheet = fold_sheet([ledger(scores(FINE))], rubric=RULES)
    assert [(hole.kind, hole.criterion) for hole in blocking(sheet, RULES)] == [("no-mark", "d")]


def test_every_run_needs_its_evidence_not_only_the_one_that_counts() -> None:
    rules = rubric(passes={"T1": "best"})
    facts = [*scores({**FINE, "d": 2}), *scores({**FINE, "d": 5}, run=2)]
    sheet = fold_sheet([ledger(facts)], rubric=rules)
    assert [(hole.kind, hole.criterion, hole.run) for hole in blocking(sheet, rules)] == [("no-evidence", "d", 1)]


def test_a_corrected_level_needs_no_evidence_any_more() -> None:
    assert lacking(Score(criterion="d", level=2), Score(criterion="d", level=4)) == set()


def test_an_imported_sheet_is_locked_and_its_hole_told() -> None:
    sheet = fold_sheet([locked(ledger(scores({**FINE, "d": 2})))], rubric=RULES)
    assert sheet.locked
    assert [hole.kind for hole in holes(sheet, RULES)] == ["no-evidence"]


def test_a_median_between_levels_below_the_line_needs_evidence() -> None:
    assert level_needs_evidence(Fraction(5, 2), RULES)
    assert not level_needs_evidence(Fraction(9, 2), RULES)


def test_no_text_of_a_hole_tells_a_level() -> None:
    sheet = fold_sheet([ledger(scores({"a": 1, "b": 2, "c": 3, "d": 6}))], rubric=RULES)
    assert len(holes(sheet, RULES)) == 4
    assert not any(char.isdigit() for hole in holes(sheet, RULES) for char in hole.text)
