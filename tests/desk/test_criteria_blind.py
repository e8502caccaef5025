"""Nothing of a sheet that is not locked reaches the two pages of the whole course."""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assess.desk.criteria import criteria_of
from assess.desk.next_course import next_course
from assess.records.errors import AssessError
from assess.records.facts import AllocationChange
from tests.courses import FixedClock, build_course, open_desk, release


def lock_all(root: Path, who: str, candidates: tuple[str, ...], task: str = "T1") -> None:
    desk = open_desk(root, who, device=f"{who.lower()}{who.lower()}a", clock=FixedClock())
    pick = random.Random(who)
    for candidate in candidates:
        slot = desk.slot(task, candidate)
        for criterion in slot.criteria:
            slot.score(criterion, pick.randint(3, 5))
        slot.note("seen", slot.criteria)
        slot.lock()
    assert desk.close()


def told(root: Path, who: str = "D1") -> list[str]:
    desk = open_desk(root, who)
    said = []
    for page in (criteria_of, next_course):
        try:
            said.append(repr(page(desk)))
        except AssessError as error:
            said.append(error.sentence)
    desk.close()
    return said


def begun(root: Path, who: str, acts: Callable[[Any], object], candidate: str = "C01") -> None:
    desk = open_desk(root, who, device="zz2zz", clock=FixedClock())
    acts(desk.slot("T1", candidate))
    assert desk.close()


ACTS: dict[str, Callable[[Any], object]] = {
    "a level": lambda slot: slot.score(slot.criteria[0], 6),
    "other levels": lambda slot: [slot.score(criterion, 1) for criterion in slot.criteria],
    "a breach": lambda slot: slot.breach(slot.rubric.must_nots[0].id, what="past a rope"),
    "a note": lambda slot: slot.note("tails wash", slot.criteria[:1]),
}


@pytest.mark.parametrize("assessors", [("A1", "A2"), ("A1", "A2", "A3")], ids=["pair", "three"])
def test_whatever_the_last_marker_of_a_slot_has_not_locked_both_pages_say_the_same(
    tmp_path: Path, assessors: tuple[str, ...]
) -> None:
    root = build_course(tmp_path / "course", candidates=4, tasks=("T1",), assessors=assessors)
    for who in assessors[:-1]:
        lock_all(root, who, ("C01", "C02", "C03", "C04"))
    lock_all(root, assessors[-1], ("C02", "C03", "C04"))
    before = told(root)
    for name, acts in ACTS.items():
        other = tmp_path / "other" / "course"
        shutil.rmtree(other.parent, ignore_errors=True)
        shutil.copytree(root, other)
        begun(other, assessors[-1], acts)
        assert [said.replace(str(other), str(root)) for said in told(other)] == before, name


def test_a_shadow_who_has_not_locked_changes_nothing(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=4, tasks=("T1",), assessors=("A1", "A2", "A3"))
    course = root / "course.yaml"
    course.write_text(
        course.read_text("utf-8").replace("assessors: [A1, A2, A3]}", "assessors: [A1, A2], shadows: [A3]}"), "utf-8"
    )
    for who in ("A1", "A2"):
        lock_all(root, who, ("C01", "C02", "C03", "C04"))
    before = told(root)
    for name, acts in ACTS.items():
        other = tmp_path / "other" / "course"
        shutil.rmtree(other.parent, ignore_errors=True)
        shutil.copytree(root, other)
        begun(other, "A3", acts)
        assert [said.replace(str(other), str(root)) for said in told(other)] == before, name


def test_a_shadows_locked_sheet_is_not_counted(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=4, tasks=("T1",), assessors=("A1", "A2", "A3"))
    course = root / "course.yaml"
    course.write_text(
        course.read_text("utf-8").replace("assessors: [A1, A2, A3]}", "assessors: [A1, A2], shadows: [A3]}"), "utf-8"
    )
    for who in ("A1", "A2"):
        lock_all(root, who, ("C01", "C02", "C03", "C04"))
    before = told(root)
    lock_all(root, "A3", ("C01", "C02"))
    assert told(root) == before


def test_a_marker_who_was_withdrawn_is_not_waited_for_and_not_counted(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=4, tasks=("T1",), assessors=("A1", "A2", "A3"))
    for who in ("A1", "A2"):
        lock_all(root, who, ("C01", "C02", "C03", "C04"))
    begun(root, "A3", ACTS["a breach"])
    assert "no turn of a candidate has all its sheets locked yet" in told(root)[0]
    change = AllocationChange(task="T1", candidate="C01", from_="A3", reason="ill")
    desk = open_desk(root, "D1", clock=FixedClock())
    desk.day_book.append(change)
    found = criteria_of(desk)
    assert found.n_sheets == 2 and found.rows[0].equal.n_candidates == 1
    assert found.told[1].startswith("1 of 4 turns are used")
    assert len(found.silent_must_nots) == len(desk.rubric_for("T1").must_nots)
    assert desk.close()


def test_an_assessor_sees_both_pages_once_all_is_released_and_their_own_sheets_are_locked(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=4, tasks=("T1",))
    for who in ("A1", "A2"):
        lock_all(root, who, ("C01", "C02", "C03", "C04"))
    for_director = told(root)
    assert all("shown to a director" in said for said in told(root, "A1"))
    release(root)
    assert told(root, "A1") == for_director
