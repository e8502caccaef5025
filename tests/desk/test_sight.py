from __future__ import annotations

import pytest

from assess.desk.outcomes import HiddenModule
from assess.records.errors import Refusal
from tests.courses import build_course, open_desk, release


def mark_all(desk, task: str, level: int = 4) -> None:
    for slot in desk.mine(task):
        sheet = desk.slot(task, slot.candidate)
        for criterion in sheet.criteria:
            sheet.score(criterion, level)
        sheet.lock()


@pytest.fixture
def root(tmp_path):
    return build_course(tmp_path / "course", tasks=("T1", "T2", "T3"), candidates=1)


def by(root, who, tasks, device):
    desk = open_desk(root, who, device=device)
    for task in tasks:
        mark_all(desk, task)
    desk.close()


def test_a_partners_sheet_is_read_only_once_both_are_locked(root) -> None:
    by(root, "A2", ["T1"], "a2a2a")
    desk = open_desk(root, "A1")
    assert not desk.sight.sheet("T1", "C01", "A2")
    assert desk.slot("T1", "C01").partners() == {"A2": "locked"}
    mark_all(desk, "T1")
    assert desk.sight.sheet("T1", "C01", "A2")


def test_no_module_word_before_the_release_and_none_before_ones_own_last_lock(root) -> None:
    by(root, "A2", ["T1", "T2", "T3"], "a2a2a")
    by(root, "A1", ["T1", "T2"], "d7h2k")
    release(root)
    found = open_desk(root, "A1").outcomes().candidates[0][1]["demo"]
    assert isinstance(found, HiddenModule) and "not all locked" in found.why
    by(root, "A1", ["T3"], "d7h2k")
    assert open_desk(root, "A1").outcomes().candidates[0][1]["demo"].outcome == "passed"


def test_without_the_release_an_assessor_sees_no_word_and_the_director_does(root) -> None:
    by(root, "A1", ["T1", "T2", "T3"], "d7h2k")
    by(root, "A2", ["T1", "T2", "T3"], "a2a2a")
    assert isinstance(open_desk(root, "A1").outcomes().candidates[0][1]["demo"], HiddenModule)
    assert isinstance(open_desk(root, None).outcomes().candidates[0][1]["demo"], HiddenModule)
    assert open_desk(root, "A1").board().candidates[0].words == {}
    assert open_desk(root, "D1").outcomes().candidates[0][1]["demo"].outcome == "passed"


def test_an_allocation_change_frees_a_slot_whose_marker_cannot_lock(root) -> None:
    by(root, "A1", ["T1"], "d7h2k")
    partner = open_desk(root, "A2", device="a2a2a")
    partner.slot("T1", "C01").score("edging", 2)
    partner.close()
    director = open_desk(root, "D1", device="d1d1d")
    assert not director.sight.slot_open("T1", "C01")
    with pytest.raises(Refusal, match="needs a reason"):
        director.day_book.change_allocation("T1", "C01", "A2", None, " ")
    director.day_book.change_allocation("T1", "C01", "A2", None, "went home ill")
    assert director.sight.slot_open("T1", "C01")
    assert director.markers("T1", "C01") == ("A1",)
    director.close()


def test_only_a_director_changes_an_allocation_and_never_that_of_a_locked_sheet(root) -> None:
    by(root, "A1", ["T1"], "d7h2k")
    desk = open_desk(root, "A1")
    with pytest.raises(Refusal, match="only a director"):
        desk.day_book.change_allocation("T1", "C01", "A2", None, "x")
    with pytest.raises(Refusal, match="has locked"):
        open_desk(root, "D1").day_book.change_allocation("T1", "C01", "A1", None, "x")


def test_somebody_in_conflict_takes_no_slot_over(tmp_path) -> None:
    conflict = "- {assessor: A3, candidate: C01, why: trained this candidate}"
    root = build_course(tmp_path / "c", candidates=1, assessors=("A1", "A2", "A3"), conflicts=[])
    text = (root / "course.yaml").read_text().replace("assessors: [A1, A2, A3]}", "assessors: [A1, A2]}")
    (root / "course.yaml").write_text(text)
    people = root / "people.yaml"
    people.write_text(people.read_text() + f"conflicts:\n{conflict}\n")
    with pytest.raises(Refusal, match="trained this candidate"):
        open_desk(root, "D1").day_book.change_allocation("T1", "C01", "A2", "A3", "ill")


def test_a_lock_that_was_cut_while_it_was_written_opens_no_slot(root) -> None:
    """The power went while A2 locked: half the line stands there, and nobody has said that it is saved."""
    from assess.desk.tellable import Teller

    by(root, "A2", ["T1"], "a2a2a")
    by(root, "A1", ["T1"], "d7h2k")
    path = root / "sheets" / "T1.C01.A2.a2a2a.yaml"
    whole = path.read_bytes()
    assert Teller(open_desk(root, "A1")).may_tell("sheets/T1.C01.A2.a2a2a.yaml")
    for left in (40, 2, 1):
        path.write_bytes(whole[: -left - 1])
        assert b'"kind": "lock"' in path.read_bytes()
        desk = open_desk(root, "A1")
        assert not Teller(desk).may_tell("sheets/T1.C01.A2.a2a2a.yaml") and not desk.sight.slot_open("T1", "C01")
    # Somebody who went on after the lock has locked all the same.
    path.write_bytes(whole + whole.split(b"\n")[-2] + b"\n")
    assert Teller(open_desk(root, "A1")).may_tell("sheets/T1.C01.A2.a2a2a.yaml")
