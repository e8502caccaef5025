"""Ledgers fold to a sheet: undo, moves, devices, runs, and what stands beside the marks."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.marking.fold import empty_sheet, fold_sheet, task_of
from assess.marking.holes import holes
from assess.marking.results import EntryRef, Sheet
from assess.records.facts import (
    Breach,
    BreachFacts,
    Drill,
    Ended,
    Fact,
    Interval,
    LessonPlan,
    MovedIn,
    MovedOut,
    NamedFault,
    Question,
    Rerun,
    SafetyItem,
    Score,
    Started,
    Undo,
    View,
)
from assess.records.ledger import Entry, Ledger
from assess.records.times import instant
from tests.marking.building import REF, START, ledger, locked, rubric, scores, seen

RULES = rubric()


def fold(*facts: Fact) -> Sheet:
    return fold_sheet([ledger(facts)], rubric=RULES)


def level(sheet: Sheet, criterion: str) -> int | Fraction | None:
    mark = sheet.mark(criterion)
    return mark.level if mark else None


# --- undo ---------------------------------------------------------------------------------------


def test_a_later_score_replaces_the_earlier_and_both_stay_in_the_history() -> None:
    sheet = fold(Score(criterion="a", level=3), Score(criterion="a", level=4))
    assert level(sheet, "a") == 4
    assert [(mark.level, mark.state) for mark in sheet.history] == [(3, "replaced"), (4, "standing")]


def test_undo_takes_the_entry_back_and_the_one_before_stands_again() -> None:
    sheet = fold(Score(criterion="a", level=3), Score(criterion="a", level=4), Undo(of=2))
    assert level(sheet, "a") == 3
    assert [mark.state for mark in sheet.history] == ["standing", "taken back"]


def test_an_undo_of_an_undo_restores() -> None:
    sheet = fold(Score(criterion="a", level=3), Undo(of=1), Undo(of=2))
    assert level(sheet, "a") == 3
    assert level(fold(Score(criterion="a", level=3), Undo(of=1), Undo(of=2), Undo(of=3)), "a") is None


def test_undo_reaches_only_its_own_ledger() -> None:
    one = ledger([Score(criterion="a", level=3)])
    two = ledger([Score(criterion="b", level=4), Undo(of=1)], device="d2x", start=10)
    sheet = fold_sheet([one, two], rubric=RULES)
    assert (level(sheet, "a"), level(sheet, "b")) == (3, None)


def test_an_undo_of_itself_or_of_something_later_does_nothing() -> None:
    assert level(fold(Undo(of=2), Score(criterion="a", level=3)), "a") == 3
    assert level(fold(Score(criterion="a", level=3), Undo(of=2)), "a") == 3


@given(st.lists(st.integers(1, 6), min_size=1, max_size=8))
def test_undoing_everything_from_the_end_leaves_nothing(levels: list[int]) -> None:
    facts: list[Fact] = [Score(criterion="a", level=given_level) for given_level in levels]
    backwards: list[Fact] = [Undo(of=n) for n in range(len(levels), 0, -1)]
    assert fold(*facts, *backwards).marks == ()
    assert level(fold(*facts, *backwards[:-1]), "a") == levels[0]


# --- moves --------------------------------------------------------------------------------------


def test_moved_marks_leave_one_sheet_and_stand_on_the_other() -> None:
    source = fold(Score(criterion="a", level=3), seen("a"), MovedOut(to="T1.C02.A1.d1x", of=(1, 2)))
    assert source.marks == () and source.observations == ()
    assert [mark.state for mark in source.history] == ["moved away"]
    target = fold(
        MovedIn(source="T1.C02.A1.d1x", of=(1, 2)),
        seen("a", moved_from=2),
        Score(criterion="a", level=3, moved_from=1),
    )
    assert level(target, "a") == 3
    assert target.marks[0].has_evidence


def test_a_move_taken_back_leaves_the_marks_where_they_were() -> None:
    source = fold(Score(criterion="a", level=3), MovedOut(to="T1.C02.A1.d1x", of=(1,)), Undo(of=2))
    assert level(source, "a") == 3
    target = fold(MovedIn(source="T1.C02.A1.d1x", of=(1,)), Score(criterion="a", level=3, moved_from=1), Undo(of=1))
    assert target.marks == ()


def test_a_move_taken_back_leaves_what_another_move_brought() -> None:
    target = fold(
        MovedIn(source="T1.C02.A1.d1x", of=(1,)),
        Score(criterion="a", level=3, moved_from=1),
        MovedIn(source="T1.C03.A1.d1x", of=(1,)),
        Score(criterion="b", level=5, moved_from=1),
        Undo(of=3),
    )
    assert (level(target, "a"), level(target, "b")) == (3, None)


# --- devices ------------------------------------------------------------------------------------


def test_the_devices_of_one_assessor_are_one_row_by_time() -> None:
    one = ledger([(10, Score(criterion="a", level=3)), (30, Score(criterion="a", level=5))])
    two = ledger([(20, Score(criterion="b", level=4))], device="d2x")
    sheet = fold_sheet([two, one], rubric=RULES)
    assert (level(sheet, "a"), level(sheet, "b")) == (5, 4)
    assert sheet.clashes == ()


def test_two_devices_that_differ_are_a_hole_until_one_new_score() -> None:
    one = ledger([(10, Score(criterion="a", level=3))])
    two = ledger([(20, Score(criterion="a", level=5))], device="d2x")
    clashing = fold_sheet([one, two], rubric=RULES)
    assert clashing.clashes == ((1, "a"),)
    assert [h.blocks for h in holes(clashing, RULES) if h.kind == "two-devices"] == [True]
    settled = ledger([(10, Score(criterion="a", level=3)), (40, Score(criterion="a", level=3))])
    sheet = fold_sheet([settled, two], rubric=RULES)
    assert (level(sheet, "a"), sheet.clashes) == (3, ())


def test_two_devices_that_agree_are_no_hole_and_may_be_corrected() -> None:
    one = ledger([(10, Score(criterion="a", level=3)), (40, Score(criterion="a", level=4))])
    two = ledger([(20, Score(criterion="a", level=3))], device="d2x")
    sheet = fold_sheet([one, two], rubric=RULES)
    assert (level(sheet, "a"), sheet.clashes) == (4, ())


def test_an_undo_settles_a_clash_too() -> None:
    one = ledger([(10, Score(criterion="a", level=3)), (40, Undo(of=1))])
    two = ledger([(20, Score(criterion="a", level=5))], device="d2x")
    sheet = fold_sheet([one, two], rubric=RULES)
    assert (level(sheet, "a"), sheet.clashes) == (5, ())


def test_two_versions_of_one_file_count_their_common_beginning_once() -> None:
    whole = ledger([Score(criterion="a", level=3), seen("a"), Score(criterion="b", level=4)])
    shorter = Ledger(whole.name + "~1234abcd", whole.header, whole.entries[:2])
    sheet = fold_sheet([shorter, whole], rubric=RULES)
    assert len(sheet.history) == 2 and len(sheet.observations) == 1


def test_ledgers_of_different_sheets_are_refused() -> None:
    with pytest.raises(ValueError, match="not of one sheet"):
        fold_sheet([ledger([]), ledger([], assessor="A2")], rubric=RULES)
    with pytest.raises(ValueError, match="at least one ledger"):
        fold_sheet([], rubric=RULES)


# --- runs ---------------------------------------------------------------------------------------


def folded(how: str, runs: dict[int, int | str]) -> int | Fraction | None:
    rules = rubric(passes={"T1": how})
    facts = [fact for run, given_level in runs.items() for fact in scores({"a": given_level}, run)]
    return level(fold_sheet([ledger(facts)], rubric=rules), "a")


@pytest.mark.parametrize(
    ("how", "runs", "expected"),
    [
        ("last", {1: 5, 2: 3}, 3),
        ("best", {1: 5, 2: 3, 3: 4}, 5),
        ("median", {1: 5, 2: 3, 3: 4}, 4),
        ("median", {1: 4, 2: 3}, Fraction(7, 2)),
        ("median", {1: 4, 2: 4}, 4),
        ("overall", {1: 5, 2: 3, 0: 4}, 4),
        ("overall", {1: 5}, 5),
        ("overall", {1: 5, 2: 3}, None),
        ("overall", {1: 5, 2: "not-observed"}, 5),
        ("last", {1: 5, 2: "not-observed"}, 5),
        ("median", {1: 5, 2: "not-observed", 3: 3}, 4),
        ("best", {1: "not-observed", 2: "not-observed"}, None),
        ("last", {0: 4}, None),
    ],
)
def test_runs_become_one_mark_as_the_rubric_says(
    how: str, runs: dict[int, int | str], expected: int | Fraction | None
) -> None:
    assert folded(how, runs) == expected


def test_several_runs_without_an_overall_mark_are_a_hole() -> None:
    rules = rubric(passes={"T1": "overall"})
    sheet = fold_sheet([ledger([*scores({"a": 5}), *scores({"a": 4}, 2)])], rubric=rules)
    found = [(hole.kind, hole.criterion, hole.blocks) for hole in holes(sheet, rules) if hole.criterion == "a"]
    assert found == [("no-overall", "a", True)]


def test_marks_keep_the_level_as_given_and_say_which_run_counts() -> None:
    rules = rubric(passes={"T1": "best"})
    sheet = fold_sheet([ledger([*scores({"a": 5}), *scores({"a": 4}, 2)])], rubric=rules)
    mark = sheet.mark("a")
    assert mark is not None and type(mark.level) is int and mark.run == 1
    assert [(m.run, m.level) for m in sheet.runs] == [(1, 5), (2, 4)]
    assert sheet.run_count == 2 and sheet.run_mark(2, "a") is not None


def test_a_second_performance_folds_as_its_task_does() -> None:
    rules = rubric(passes={"T1": "best"})
    facts = [*scores({"a": 5}), *scores({"a": 4}, 2)]
    sheet = fold_sheet([ledger(facts, task="T1-2")], rubric=rules)
    assert level(sheet, "a") == 5
    assert task_of("T1-2", rules) == rules.tasks["T1"]


@pytest.mark.parametrize("bad", [None, 0, 7])
def test_a_level_off_the_scale_is_no_mark_and_stays_in_the_history(bad: int | None) -> None:
    sheet = fold(Score(criterion="a", level=bad))
    assert sheet.mark("a") is None
    assert [mark.state for mark in sheet.history] == ["not usable"]


# --- what stands beside the marks ---------------------------------------------------------------


def test_a_breach_report_is_completed_by_later_facts() -> None:
    sheet = fold(Breach(what="past the rope"), BreachFacts(of=1, must_not="past-a-rope", where="below the hut"))
    assert sheet.breaches[0].must_not == "past-a-rope"
    assert (sheet.breaches[0].what, sheet.breaches[0].where) == ("past the rope", "below the hut")
    assert sheet.breaches[0].lacking == ("who",)
    assert [(h.kind, h.blocks) for h in holes(sheet, RULES) if h.kind == "breach-incomplete"] == [
        ("breach-incomplete", False)
    ]


def test_an_erased_text_of_a_breach_is_not_asked_for_again() -> None:
    facts = Breach(must_not="past-a-rope", what="x", where="y").model_copy(update={"erased": {"who": "0" * 64}})
    assert fold(facts).breaches[0].lacking == ()


def test_drill_details_given_later_join_the_drill() -> None:
    sheet = fold(Drill(text="garlands"), Drill(of=1, slope_deg=9, success="partly"))
    assert len(sheet.drills) == 1
    told = sheet.drills[0].fact
    assert (told.text, told.slope_deg, told.success, told.of) == ("garlands", 9, "partly", None)


def test_drill_details_of_a_drill_taken_back_are_gone_with_it() -> None:
    assert fold(Drill(text="garlands"), Drill(of=1, slope_deg=9), Undo(of=1)).drills == ()


def test_the_latest_state_of_a_safety_item_stands() -> None:
    items = [{"id": "count", "text": "counts the group"}, {"id": "stop", "text": "stops at the side"}]
    rules = rubric(safety_list=items)
    lesson = {**rules.tasks, "T1": rules.tasks["T1"].model_copy(update={"lesson": True})}
    rules = rules.model_copy(update={"tasks": lesson})
    own = ledger([SafetyItem(item="stop", state="missed"), SafetyItem(item="stop", state="done")])
    sheet = fold_sheet([own], rubric=rules)
    assert [(item.fact.item, item.fact.state) for item in sheet.safety] == [("stop", "done")]
    soft = [(hole.text, hole.blocks) for hole in holes(sheet, rules) if hole.kind == "safety-item"]
    assert soft == [("safety list: counts the group", False)]


def test_the_session_keeps_its_times_plan_and_uses_of_time() -> None:
    sheet = fold(
        Started(ago_ms=60_000),
        LessonPlan(goal="link turns", steps="one"),
        LessonPlan(steps="two"),
        Interval(use="practise", on=True),
        NamedFault(text="fear", rank=1, role="root"),
        Question(asked="why there?", answer="full"),
        Rerun(run=2, why="obstructed"),
        Ended(why="unsafe"),
    )
    assert sheet.started_at == instant(START + 1000 - 60_000)
    assert (sheet.ended_at, sheet.ended.why if sheet.ended else None) == (instant(START + 8000), "unsafe")
    assert sheet.plan is not None and (sheet.plan.goal, sheet.plan.steps) == ("link turns", "two")
    counts = [len(x) for x in (sheet.intervals, sheet.named_faults, sheet.questions, sheet.reruns)]
    assert counts == [1, 1, 1, 1]


def test_after_a_session_ended_early_a_missing_mark_does_not_block() -> None:
    assert [h.blocks for h in holes(fold(*scores({"a": 4, "b": 4, "c": 4})), RULES)] == [True]
    assert [h.blocks for h in holes(fold(*scores({"a": 4, "b": 4, "c": 4}), Ended(why="unsafe")), RULES)] == [False]
    assert [h.blocks for h in holes(fold(*scores({"a": 4, "b": 4, "c": 4}), Ended()), RULES)] == [True]


def test_viewpoints_come_from_the_mark_or_from_where_the_assessor_stands() -> None:
    rules = rubric(minimum_evidence={"viewpoints": 2})
    facts = [
        View(viewpoint="front"),
        *scores({"a": 4, "b": 4}),
        View(viewpoint="side"),
        seen("a"),
        seen("b", viewpoint="front"),
    ]
    sheet = fold_sheet([ledger(facts)], rubric=rules)
    assert sheet.viewpoints("a") == ("front", "side")
    assert sheet.viewpoints("b") == ("front",)
    assert sheet.viewpoint == "side"
    few = [(hole.criterion, hole.blocks) for hole in holes(sheet, rules) if hole.kind == "viewpoints"]
    assert few == [("b", False)]


def test_a_lock_is_told_with_its_time_and_origin() -> None:
    sheet = fold_sheet([locked(ledger(scores({"a": 4})))], rubric=RULES)
    assert (sheet.locked, sheet.locked_at, sheet.origin) == (True, instant(START + 3_600_000), "marked")
    assert sheet.missing == () and sheet.usable


def test_an_empty_sheet_lacks_every_mark() -> None:
    sheet = empty_sheet("T1", "C01", "A1", REF)
    assert [hole.criterion for hole in holes(sheet, RULES)] == ["a", "b", "c", "d"]
    assert not sheet.locked


def test_the_evidence_of_a_mark_is_named_by_ledger_and_number() -> None:
    sheet = fold(seen("a"), Score(criterion="a", level=3))
    assert sheet.mark("a").evidence == (EntryRef("T1.C01.A1.d1x", 1),)  # type: ignore[union-attr]
    assert str(EntryRef("T1.C01.A1.d1x", 1)) == "T1.C01.A1.d1x 1"


def test_an_entry_of_one_version_taken_back_in_the_other_does_not_count() -> None:
    whole = ledger([Score(criterion="a", level=3), Undo(of=1)])
    other = ledger([Score(criterion="a", level=3), Score(criterion="b", level=4)])
    fork = replace(other, name=other.name + "~1234abcd")
    assert isinstance(whole.entries[0], Entry)
    for both in ([whole, fork], [fork, whole]):
        sheet = fold_sheet(both, rubric=RULES)
        assert (level(sheet, "a"), level(sheet, "b")) == (None, 4)
