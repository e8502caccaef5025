"""Invariant 12: what comes after the lock changes no locked score."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from assess.marking.fold import fold_sheet
from assess.marking.holes import holes
from assess.marking.results import EntryRef
from assess.records.facts import Fact, Observation, Score, Undo
from tests.marking.building import ledger, locked, rubric, scores, seen

RULES = rubric()
OWN = ledger(scores({"a": 4, "b": 4, "c": 4, "d": 4}))
LATE = st.lists(
    st.one_of(
        st.builds(lambda k, level: Score(criterion=k, level=level), st.sampled_from("abcd"), st.integers(1, 6)),
        st.builds(lambda k: seen(k), st.sampled_from("abcd")),
        st.builds(lambda of: Undo(of=of), st.integers(1, 3)),
    ),
    max_size=6,
)


@given(LATE, st.sampled_from([0, 7200]))
def test_entries_of_another_device_beyond_the_heads_are_not_used(late: list[Fact], start: int) -> None:
    # Also with times before the lock: a device whose clock is wrong does not get in either.
    other = ledger(late, device="d2x", start=start)
    alone, together = fold_sheet([locked(OWN)], rubric=RULES), fold_sheet([other, locked(OWN)], rubric=RULES)
    assert together.marks == alone.marks
    assert together.observations == alone.observations
    assert together.left_out == tuple(EntryRef(other.name, n) for n in range(1, len(late) + 1))


def test_what_the_lock_covers_of_another_device_is_used_and_the_rest_is_not() -> None:
    before = ledger([Score(criterion="d", level=5)], device="d2x", start=100)
    after = ledger([Score(criterion="d", level=5), Score(criterion="d", level=1)], device="d2x", start=100)
    sheet = fold_sheet([locked(OWN, before), after], rubric=RULES)
    assert sheet.mark("d").level == 5  # type: ignore[union-attr]
    assert [(mark.level, mark.state) for mark in sheet.history][-1] == (1, "left out")
    assert [hole.kind for hole in holes(sheet, RULES) if hole.kind == "left-out"] == ["left-out"]


def test_an_undo_after_the_lock_takes_nothing_back() -> None:
    before = ledger([Score(criterion="d", level=5)], device="d2x", start=100)
    after = ledger([Score(criterion="d", level=5), Undo(of=1)], device="d2x", start=100)
    assert fold_sheet([locked(OWN, before), after], rubric=RULES).mark("d").level == 5  # type: ignore[union-attr]


def test_the_first_lock_stands() -> None:
    second = locked(ledger([Score(criterion="d", level=1)], device="d2x"), second=4000)
    sheet = fold_sheet([second, locked(OWN, second=3600)], rubric=RULES)
    assert sheet.mark("d").level == 4  # type: ignore[union-attr]
    assert len(sheet.left_out) == 2


def test_late_evidence_fills_no_hole_of_a_locked_sheet() -> None:
    weak = ledger(scores({"a": 4, "b": 4, "c": 4, "d": 2}))
    sheet = fold_sheet([locked(weak), ledger([seen("d")], device="d2x", start=9000)], rubric=RULES)
    assert [hole.kind for hole in holes(sheet, RULES)] == ["no-evidence", "left-out"]


def test_a_sealed_ledger_that_is_not_here_makes_the_sheet_unusable() -> None:
    other = ledger([Score(criterion="d", level=5)], device="d2x", start=100)
    sheet = fold_sheet([locked(OWN, other)], rubric=RULES)
    assert sheet.locked and not sheet.usable
    assert sheet.missing == (other.name,)
    rewritten = ledger([Observation(text="something else")], device="d2x", start=100)
    not_as_sealed = fold_sheet([locked(OWN, other), rewritten], rubric=RULES)
    assert not_as_sealed.missing == (other.name,)
    assert not_as_sealed.observations == ()
    assert not_as_sealed.left_out == (EntryRef(other.name, 1),)
