"""The order of honesty: own view and plan, then scores with film times, then the lock, then the mentor's sheet."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.deciding import proposals
from assess.desk.exporting import export_scores
from assess.desk.importing import import_scores
from assess.desk.moderating import differences, moderate
from assess.desk.score_sources import read_source
from assess.desk.slot_sheet import SlotSheet
from assess.records.errors import Refusal
from tests.seasons import CRITERIA, build_season, film_desk, mark_film


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_season(tmp_path / "season")


def test_no_score_before_the_fault_and_the_plan_are_written(root: Path) -> None:
    desk = film_desk(root, "TR")
    sheet = desk.film("T5", "F1")
    with pytest.raises(Refusal, match="fault as you see it"):
        sheet.score("diagnosis", 3)
    assert "first: the learner's fault" in sheet.asked()
    sheet.name_fault("late pressure", whose="assessor")
    with pytest.raises(Refusal, match="your plan is not written"):
        sheet.score("diagnosis", 3)
    sheet.plan(goal="earlier", steps="one turn, then linked")
    assert sheet.asked() == "score your two weakest criteria before the others"
    sheet.score("build-up", 2)
    assert "the other of your two weakest" in sheet.asked()
    desk.close()


def test_a_mentor_needs_no_view_first_and_is_only_reminded(root: Path) -> None:
    desk = film_desk(root, "M1")
    sheet = desk.film("T5", "F1")
    for criterion in CRITERIA:
        sheet.score(criterion, 4)
    assert [hole for hole in sheet.holes() if hole.blocks] == []
    sheet.lock()
    desk.close()


def test_every_own_score_needs_an_observation_with_a_film_time(root: Path) -> None:
    desk = film_desk(root, "TR")
    sheet = desk.film("T5", "F1")
    sheet.name_fault("late pressure", whose="assessor")
    sheet.plan(goal="earlier")
    assert [h.kind for h in sheet.holes() if h.blocks][:1] == ["no-score"]
    for criterion in CRITERIA:
        sheet.score(criterion, 4)
    assert {h.criterion for h in sheet.holes() if h.kind == "no-film-time"} == set(CRITERIA)
    SlotSheet.note(sheet, "seen somewhere", CRITERIA)
    assert {h.criterion for h in sheet.holes() if h.kind == "no-film-time"} == set(CRITERIA)
    with pytest.raises(Refusal, match="no observation with a film time"):
        sheet.lock()
    sheet.at_ms = 754_000
    sheet.note("asks before telling")
    assert [h for h in sheet.holes() if h.blocks] == []
    assert sheet.film_times("diagnosis") == (754_000,)
    sheet.lock()
    assert sheet.locked
    desk.close()


def test_whoever_scored_others_first_is_told_and_not_stopped(root: Path) -> None:
    mark_film(root, "TR", "F1", (5, 5, 2, 4), lock=False)
    desk = film_desk(root, "TR")
    sheet = desk.film("T5", "F1")
    found = [hole for hole in sheet.holes() if hole.kind == "not-weakest-first"]
    assert [(hole.criterion, hole.blocks) for hole in found] == [("build-up", False), ("learner-change", False)]
    sheet.lock()
    desk.close()


def test_the_run_sheet_gives_no_way_round_the_lock(root: Path) -> None:
    desk = film_desk(root, "TR")
    slot = desk.run_sheet("T5").slots[0]
    for criterion in CRITERIA:
        slot.not_observed(criterion)
    with pytest.raises(Refusal, match="fault as you see it"):
        slot.lock()
    desk.close()


def test_a_range_that_ends_before_it_begins_is_refused(root: Path) -> None:
    desk = film_desk(root, "TR")
    with pytest.raises(Refusal, match="ends before it begins"):
        desk.film("T5", "F1").note("x", (), film_ms=5000, film_end_ms=4999)
    desk.close()


@pytest.mark.parametrize("locked", [(), ("TR",), ("M1",), ("TR", "M1")])
def test_each_sees_the_other_once_both_are_locked_and_nobody_without_a_name(
    root: Path, locked: tuple[str, ...]
) -> None:
    for who in ("TR", "M1"):
        mark_film(root, who, "F1", (3, 3, 4, 4), lock=who in locked)
    both = set(locked) == {"TR", "M1"}
    for me, other in (("TR", "M1"), ("M1", "TR")):
        sight = film_desk(root, me).sight
        assert sight.sheet("T5", "F1", me)
        assert sight.sheet("T5", "F1", other) is both
        assert not sight.sheet("T5", "F2", other)
    assert not any(film_desk(root, None).sight.sheet("T5", "F1", who) for who in ("TR", "M1"))


def test_one_mentor_who_never_looks_keeps_the_other_ones_sheet_from_nobody(tmp_path: Path) -> None:
    root = build_season(tmp_path / "s", mentors=("M1", "M2"))
    for who in ("TR", "M1"):
        mark_film(root, who, "F1", (3, 3, 4, 4))
    desk = film_desk(root, "TR")
    assert desk.sight.sheet("T5", "F1", "M1") and not desk.sight.sheet("T5", "F1", "M2")
    assert not desk.sight.slot_open("T5", "F1")


def test_nothing_of_a_season_is_ever_a_result(root: Path, tmp_path: Path) -> None:
    table = tmp_path / "t.csv"
    table.write_text("day,task,order,candidate,assessor,criterion,score,status,rubric\n")
    for who in ("TR", "M1"):
        mark_film(root, who, "F1", (3, 3, 4, 4))
    for person in ("TR", "M1", None):
        desk = film_desk(root, person)
        acts = (
            desk.outcomes, lambda d=desk: proposals(d), lambda d=desk: differences(d), lambda d=desk: export_scores(d),
            lambda d=desk: moderate(d, "T5.F1", "keep-both", present=(), reason="x"),
            lambda d=desk: import_scores(d, table),
        )  # fmt: skip
        for act in acts:
            with pytest.raises(Refusal, match="nothing in it decides anything"):
                act()
    with pytest.raises(Refusal, match="nothing in it decides anything"):
        read_source([root])
    assert not (root / "decisions").exists() and not (root / "moderation").exists()
