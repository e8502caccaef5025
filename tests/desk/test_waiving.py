from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.outcomes import results_json
from assess.desk.waiving import waive, waiver_lines, waivers_told
from assess.records.errors import Refusal
from assess.records.facts import OrderChange
from tests.courses import FixedClock, build_course, open_desk

WHO = ("A1", "A2", "A3")


def licence(who: str, to: str = "2026-12-31", more: str = "") -> str:
    return f"- {{assessor: {who}, activity: alpine-ski, valid_from: 2025-01-01, valid_to: {to}{more}}}"


def course(tmp_path: Path, *more: str, seated: str = "A1, A2", assessors: tuple[str, ...] = WHO) -> Path:
    """C01 and C02 in T6; of the assessors only those seated mark it."""
    root = build_course(tmp_path / "course", candidates=2, assessors=assessors, tasks=("T6",), more_people=more)
    text = (root / "course.yaml").read_text()
    (root / "course.yaml").write_text(
        text.replace(f"assessors: [{', '.join(assessors)}]}}", f"assessors: [{seated}]}}")
    )
    return root


def mark(root: Path, who: str, level: int, candidates: tuple[str, ...] = ("C01", "C02")) -> None:
    desk = open_desk(root, who, device=f"{who.lower()}{who.lower()}x")
    for candidate in candidates:
        sheet = desk.slot("T6", candidate)
        for criterion in sheet.criteria:
            sheet.note("seen", (criterion,), direction="for")
            sheet.score(criterion, level)
        sheet.lock()
    assert desk.close()


def director(root: Path, who: str = "D1"):
    """A desk an hour after the others."""
    later = FixedClock(start_ms=1_770_029_100_000)
    return open_desk(root, who, device=f"{who.lower()}{who.lower()}x", clock=later)


def safety(root: Path, candidate: str = "C01"):
    return dict(director(root).outcomes().candidates)[candidate]["safety"]


EXPIRED = ("licences:", licence("A1"), licence("A2", "2026-01-31"), licence("A3"))
TRAINED = ("trained:", "- {assessor: A2, candidate: C01, ended: 2025-12-10}")


def test_a_waiver_brings_the_sheet_back_and_says_that_it_came_after_the_lock(tmp_path: Path) -> None:
    root = course(tmp_path, *EXPIRED)
    mark(root, "A1", 5)
    mark(root, "A2", 5)
    desk = director(root)
    waive(desk, "A2", "T6", "C01", "the renewal is in the post")
    assert desk.close()
    assert (safety(root).n_sheets, safety(root, "C02").n_sheets) == (2, 1)
    said = "A2 may mark C01 in T6 although the licence ended on 2026-01-31 (D1: the renewal is in the post)"
    assert waiver_lines(waivers_told(director(root))) == [
        f"1 waiver: {said}; in T6.C01; given after a sheet was locked"
    ]
    desk = director(root)
    waive(desk, "A2", "T6", "C02", "the renewal is in the post", whole_course=True)
    assert desk.close()
    assert safety(root, "C02").n_sheets == 2
    lines = waiver_lines(waivers_told(director(root)))
    assert lines[0] == "2 waivers:" and "A2 may mark everybody although" in lines[2]
    assert lines[2].endswith("in T6.C01, T6.C02; given after a sheet was locked")


def test_training_without_a_waiver_takes_the_sheet_out_and_with_one_it_decides_nothing_alone(tmp_path: Path) -> None:
    root = course(tmp_path, *TRAINED)
    mark(root, "A1", 5)
    mark(root, "A2", 1)
    assert (safety(root).outcome, safety(root).n_sheets) == ("passed", 1)
    desk = director(root)
    waive(desk, "A2", "T6", "C01", "nobody else speaks the language")
    assert desk.close()
    found = safety(root)
    assert (found.outcome, found.n_sheets) == ("open", 2)
    assert found.reasons == (
        "A2 marks here by a waiver: with these sheets it would be not_passed, without them passed",
    )


def test_a_waived_conflict_that_changes_nothing_is_told_beside_the_outcome(tmp_path: Path) -> None:
    root = course(tmp_path, *TRAINED)
    mark(root, "A1", 5)
    mark(root, "A2", 5)
    desk = director(root)
    waive(desk, "A2", "T6", "C01", "nobody else speaks the language")
    document = results_json(desk.outcomes())
    module = document["candidates"][0]["modules"]["safety"]
    assert (module["outcome"], module["waived"]) == ("passed", {"assessors": ["A2"], "without_them": "passed"})
    assert [(item["assessor"], item["about"], item["slots"]) for item in document["waivers"]] == [
        ("A2", "trained", ["T6.C01"])
    ]
    assert desk.close()


def test_who_takes_a_slot_over_may_mark_it_or_a_waiver_says_why(tmp_path: Path) -> None:
    root = course(tmp_path, *EXPIRED, *TRAINED, seated="A1")
    desk = director(root)
    why = "A2 may not mark C01: the licence ended on 2026-01-31; A2 may not mark C01: they trained this candidate"
    with pytest.raises(Refusal, match=why):
        desk.day_book.change_allocation("T6", "C01", "A1", "A2", "ill")
    assert desk.markers("T6", "C01") == ("A1",) and waivers_told(desk) == ()
    desk.day_book.change_allocation("T6", "C01", "A1", "A2", "ill", waive="nobody else is there")
    assert desk.markers("T6", "C01") == ("A2",)
    assert [item.about for item in waivers_told(desk)] == ["licence", "trained"]
    assert not any(item.late for item in waivers_told(desk))
    assert desk.close()


def test_a_seat_the_licence_forbids_is_refused_to_who_comes_and_for_who_stays(tmp_path: Path) -> None:
    second = course(
        tmp_path, "licences:", licence("A1"), licence("A2", more=", conditions: [only-second]"), seated="A1"
    )
    with pytest.raises(Refusal, match="for the second marker only"):
        director(second).day_book.change_allocation("T6", "C01", "A1", "A2", "ill")
    more = ("licences:", licence("A1"), licence("A2", more=", conditions: [supervised]"),
            licence("A3", more=", conditions: [supervised]"))  # fmt: skip
    root = course(tmp_path / "b", *more)
    with pytest.raises(Refusal, match="A2 may not mark C01: the licence asks for a marker without conditions"):
        director(root).day_book.change_allocation("T6", "C01", "A1", "A3", "ill")


def test_nobody_is_put_into_two_places_at_once_and_no_waiver_helps(tmp_path: Path) -> None:
    root = course(tmp_path, seated="A1, A2")
    text = (root / "course.yaml").read_text()
    text = text.replace(
        "order: 1, candidate: C01, assessors: [A1, A2]", 'order: 1, at: "09:00", candidate: C01, assessors: [A1, A2]'
    )
    text = text.replace(
        "order: 2, candidate: C02, assessors: [A1, A2]", 'order: 2, at: "09:10", candidate: C02, assessors: [A3]'
    )
    (root / "course.yaml").write_text(text)
    with pytest.raises(Refusal, match=r"A3 marks T6\.C02 at that time"):
        director(root).day_book.change_allocation("T6", "C01", "A2", "A3", "ill", waive="all the same")
    desk = director(root)
    desk.day_book.append(OrderChange(task="T6", candidate="C02", change="absent", why="ill"))
    desk.day_book.change_allocation("T6", "C01", "A2", "A3", "ill")
    assert desk.markers("T6", "C01") == ("A1", "A3") and desk.close()


@pytest.mark.parametrize(
    ("who", "reason", "said"),
    [("A1", "x", "only a director waives"), ("D1", "  ", "a waiver needs a reason")],
)
def test_only_a_director_waives_and_with_a_reason(tmp_path: Path, who: str, reason: str, said: str) -> None:
    root = course(tmp_path, *EXPIRED)
    with pytest.raises(Refusal, match=said):
        waive(open_desk(root, who), "A2", "T6", "C01", reason)


def test_where_nothing_stands_against_it_and_for_oneself_nothing_is_waived(tmp_path: Path) -> None:
    root = course(tmp_path, *EXPIRED, seated="A1, D1")
    desk = director(root)
    with pytest.raises(Refusal, match="nothing stands against A1"):
        waive(desk, "A1", "T6", "C01", "x")
    with pytest.raises(Refusal, match="A3 is not allocated"):
        waive(desk, "A3", "T6", "C01", "x")
    with pytest.raises(Refusal, match="D1 waives nothing for themselves"):
        waive(desk, "D1", "T6", "C01", "x")
    other = director(root, "D2")
    waive(other, "D1", "T6", "C01", "x")
    assert other.markers("T6", "C01") == ("A1", "D1") and other.close()


def test_my_board_says_whom_i_may_not_mark_and_why(tmp_path: Path) -> None:
    conflict = ("conflicts:", "- {assessor: A2, candidate: C02, why: sister}")
    root = course(tmp_path, *EXPIRED, *TRAINED, *conflict)
    assert open_desk(root, "A2").board().barred == (
        "area safety: the licence ended on 2026-01-31",
        "Person 1: you trained this candidate until 2025-12-10, and 730 days have to go by",
        "Person 2: sister",
    )
    assert open_desk(root, "A1").board().barred == open_desk(root, "D1").board().barred == ()
    desk = director(root)
    waive(desk, "A2", "T6", "C02", "nobody else is there")
    assert desk.close()
    assert "Person 2: sister (waived)" in open_desk(root, "A2").board().barred
