from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.eligible import fresh_for, fresh_in_module, may_decide, may_mark
from assess.records.errors import Refusal
from assess.records.facts import BreachFinding, Waiver
from assess.records.ledger import Header
from tests.courses import build_course, open_desk

WHO = ("A1", "A2", "A3", "A4")


def licence(who: str, to: str = "2026-12-31") -> str:
    return f"- {{assessor: {who}, activity: alpine-ski, valid_from: 2025-01-01, valid_to: {to}}}"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A1 and A2 mark C01 in T4 and T5; A1 trained C02; A3's licence has ended."""
    more = [
        "trained:",
        "- {assessor: A1, candidate: C02, ended: 2025-12-10}",
        "- {assessor: D2, candidate: C02}",
        "licences:",
        *(licence(who) for who in ("A1", "A2", "A4")),
        licence("A3", "2026-01-31"),
    ]
    root = build_course(
        tmp_path / "course", candidates=2, assessors=WHO, tasks=("T4", "T5"), more_people=more,
        conflicts=["- {assessor: A4, candidate: C02, why: sister}"],
    )  # fmt: skip
    text = (root / "course.yaml").read_text()
    (root / "course.yaml").write_text(text.replace("assessors: [A1, A2, A3, A4]}", "assessors: [A1, A2]}"))
    return root


def waive(root: Path, **said: str) -> None:
    desk = open_desk(root, "D1", device="d1d1d")
    desk.day_book.append(Waiver.model_validate({"reason": "nobody else is there", **said}))
    assert desk.close()


def test_may_mark_gives_every_reason_against(root: Path) -> None:
    desk = open_desk(root, "D1")
    assert may_mark(desk, "A1", "T4", "C01") == ()
    assert may_mark(desk, "A1", "T4", "C02") == (
        "they trained this candidate until 2025-12-10, and 730 days have to go by",
    )
    assert may_mark(desk, "A3", "T4", "C01") == ("the licence ended on 2026-01-31",)
    assert may_mark(desk, "A4", "T5", "C02") == ("a conflict is declared: sister",)
    assert may_mark(desk, "D2", "T5", "C02") == ("no licence is on record", "they train this candidate")
    assert may_mark(desk, "X9", "T5", "C02") == ("X9 is no assessor of this course",)


def test_a_waiver_takes_its_reason_away_and_no_other(root: Path) -> None:
    waive(root, assessor="A3", about="licence")
    waive(root, assessor="D2", about="trained", candidate="C02", task="T5")
    desk = open_desk(root, "D1")
    assert may_mark(desk, "A3", "T4", "C01") == ()
    assert may_mark(desk, "D2", "T5", "C02") == ("no licence is on record",)
    assert len(may_mark(desk, "D2", "T4", "C02")) == 2


def test_a_decider_neither_trained_nor_marked_nor_found_on_the_breach(root: Path) -> None:
    desk = open_desk(root, "D2", device="d2d2d")
    header = Header(kind="decision", course="K-TEST", candidate="C01", by="D2", device="d2d2d", opened=desk.now())
    finding = {
        "must_not": "beyond-a-closure",
        "state": "confirmed",
        "modules": ["teach"],
        "reports": [],
        "standard": "s",
    }
    desk.append(desk.live(header), BreachFinding.model_validate(finding))
    assert may_decide(desk, "D1", "C01") == may_decide(desk, "D1", "C02") == ()
    assert may_decide(desk, "D2", "C01") == may_decide(desk, "D2", "C01", "teach")
    assert may_decide(desk, "D2", "C01") == ("found on the breach beyond-a-closure",)
    assert may_decide(desk, "D2", "C01", "safety") == ()
    assert may_decide(desk, "D2", "C02") == ("they train this candidate",)
    assert may_decide(desk, "A1", "C01") == ("A1 is no director of this course", "marks C01 in T4, T5")


def test_a_director_who_marked_may_not_decide(root: Path) -> None:
    text = (root / "course.yaml").read_text()
    (root / "course.yaml").write_text(
        text.replace("candidate: C01, assessors: [A1, A2]", "candidate: C01, assessors: [D1]", 1)
    )
    assert may_decide(open_desk(root, "D2"), "D1", "C01") == ("marks C01 in T4",)


def test_fresh_is_who_has_no_part_in_the_slot_and_nothing_against_them(root: Path) -> None:
    desk = open_desk(root, "D1")
    assert fresh_for(desk, "T4", "C01") == fresh_in_module(desk, "C01", "teach") == ("A4",)
    assert fresh_for(desk, "T4", "C02") == fresh_in_module(desk, "C02", "teach") == ()
    with pytest.raises(Refusal, match="no module"):
        fresh_in_module(desk, "C01", "singing")


def test_a_waived_licence_is_fresh_and_a_waived_conflict_is_not(root: Path) -> None:
    waive(root, assessor="A3", about="licence")
    waive(root, assessor="A4", about="conflict")
    desk = open_desk(root, "D1")
    assert may_mark(desk, "A4", "T4", "C02") == ()
    assert fresh_for(desk, "T4", "C02") == ("A3",)


def test_who_was_taken_off_a_slot_or_sits_in_another_of_the_module_is_not_fresh_there(root: Path) -> None:
    director = open_desk(root, "D1", device="d1d1d")
    director.day_book.change_allocation("T4", "C01", "A2", "A4", "ill")
    assert fresh_for(director, "T4", "C01") == ()
    assert fresh_for(director, "T5", "C01") == ("A4",)
    assert fresh_in_module(director, "C01", "teach") == ()
    assert director.close()
