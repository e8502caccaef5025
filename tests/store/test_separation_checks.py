"""What `check` finds of licences, training, conflicts, seats and waivers, with its line."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from assess.records.errors import InputError
from assess.records.facts import AllocationChange, ExtraSlot, ThirdLook, Undo, Waiver
from assess.store.course_folder import load_course
from tests.store.course_maker import COURSE, PEOPLE, ledger_bytes, make_course, other, put

DAY = other("day", date="2027-02-03")
OTHER = "allocate somebody else, or a director waives it with a reason"
GIVE = "give it to somebody else, or a director waives it with a reason"
SLOT = '- {task: T1, order: 3, at: "09:12", candidate: C03, assessors: [A1, A2]}'
LICENSED = """\
licences:
- {assessor: A1, activity: gliding, valid_from: 2026-11-01, valid_to: 2027-10-31}
- {assessor: A2, activity: gliding, valid_from: 2026-11-01, valid_to: 2027-10-31}
- {assessor: A3, activity: gliding, valid_from: 2026-11-01, valid_to: 2027-10-31}
"""


def told(root: Path) -> list[str]:
    return [f"{problem}{' LOOK' if problem.doubt else ''}" for problem in load_course(root).problems]


def made(tmp_path: Path, people: str = "", course: str = COURSE) -> Path:
    return make_course(tmp_path / "k", course=course, people=PEOPLE + people)


def waive(root: Path, **more: object) -> None:
    fact = Waiver.model_validate({"assessor": "A1", "about": "licence", "reason": "nobody else is there", **more})
    put(root, DAY, ledger_bytes(DAY, [fact]))


def test_a_course_without_licences_and_one_in_which_all_are_good_have_no_finding(tmp_path: Path) -> None:
    assert told(made(tmp_path)) == []
    assert told(made(tmp_path / "b", LICENSED)) == []


@pytest.mark.parametrize(
    ("was", "now", "why"),
    [
        ("A1, activity: gliding", "A2, activity: gliding", "no licence is on record"),
        ("A1, activity: gliding", "A1, activity: rowing", "the licence is not for `gliding`"),
        ("A1, activity: gliding", "A1, activity: gliding, suspended: true", "the licence is suspended"),
        ("valid_to: 2027-10-31", "valid_to: 2027-02-02", "the licence ended on 2027-02-02"),
    ],
)
def test_an_allocation_without_a_licence_is_found_in_every_slot(tmp_path: Path, was, now, why) -> None:
    root = made(tmp_path, LICENSED.replace(was, now, 1))
    found = told(root)
    assert found[0] == f"course.yaml:18: `A1` may not mark `C01`: {why}; {OTHER}"
    assert len(found) == 5
    waive(root)
    assert told(root) == []
    waive(root, task="T1")
    assert [line.split(":")[1] for line in told(root)] == ["21", "22"]


def test_a_licence_for_one_area_is_missed_in_the_other_and_counted_on_the_slots_day(tmp_path: Path) -> None:
    root = made(tmp_path, LICENSED.replace("A3, activity: gliding", "A3, activity: gliding, areas: [demo]"))
    assert told(root)[0] == f"course.yaml:21: `A3` may not mark `C01`: the licence is not for area `teach`; {OTHER}"
    ends = made(tmp_path / "b", LICENSED.replace("valid_to: 2027-10-31", "valid_to: 2027-02-03"))
    assert {line.split(" ends")[0].split(":")[1] for line in told(ends)} == {"21", "22"}, "T4 is on the day after"


@pytest.mark.parametrize(("after", "found"), [(0, 2), (729, 2), (730, 1), (731, 0)])
def test_training_is_counted_from_its_end_to_the_slots_day(tmp_path: Path, after: int, found: int) -> None:
    """C01 is marked by A1 on day 1 in T1 and on day 2 in T4."""
    ended = (date(2027, 2, 3) - timedelta(days=after)).isoformat()
    root = made(tmp_path, f"trained:\n- {{assessor: A1, candidate: C01, ended: {ended}}}\n")
    why = f"`A1` may not mark `C01`: they trained this candidate until {ended}, and 730 days have to go by"
    assert told(root) == [f"course.yaml:{line}: {why}; {OTHER}" for line in (18, 21)][:found]
    waive(root, about="trained", candidate="C01")
    assert told(root) == []


def test_the_window_is_the_courses(tmp_path: Path) -> None:
    trained = "trained:\n- {assessor: A1, candidate: C01, ended: 2026-02-03}\n"
    assert told(made(tmp_path, trained)) != []
    shorter = COURSE.replace("directors: [D1]", "directors: [D1]\nseparation_days: 364")
    assert told(made(tmp_path / "b", trained, shorter)) == []


def test_a_conflict_is_lifted_by_a_waiver_of_it_and_by_nothing_else(tmp_path: Path) -> None:
    root = made(tmp_path, course=COURSE.replace(SLOT, SLOT.replace("A2", "A3")))
    fault = [f"course.yaml:20: `A3` has declared a conflict with `C03`; {OTHER}"]
    assert told(root) == fault
    for more in ({"about": "trained"}, {"about": "conflict", "candidate": "C01"}, {"about": "conflict", "task": "T4"}):
        waive(root, assessor="A3", **more)
        assert told(root) == fault
    waive(root, assessor="A3", about="conflict", candidate="C03", task="T1")
    assert told(root) == []


def test_a_waiver_without_a_director_or_a_reason_counts_for_nothing_and_is_told(tmp_path: Path) -> None:
    root = made(tmp_path, course=COURSE.replace(SLOT, SLOT.replace("A2", "A3")))
    by = other("day", date="2027-02-03", by="A2")
    good = Waiver(assessor="A3", about="conflict", reason="nobody else is there")
    put(root, by, ledger_bytes(by, [good]))
    assert f"days/{by.name}.yaml:4: is an act of the director by somebody who is none" in told(root)[1]
    root = made(tmp_path / "b", course=COURSE.replace(SLOT, SLOT.replace("A2", "A3")))
    put(root, DAY, ledger_bytes(DAY, [Waiver(assessor="A3", about="conflict")]))
    assert "is a waiver without a reason; it counts for nothing" in told(root)[1]
    put(root, DAY, ledger_bytes(DAY, [good, Undo(of=1)]))
    assert len(told(root)) == 1


def test_what_a_waiver_names_must_be_there(tmp_path: Path) -> None:
    root = made(tmp_path)
    waive(root, assessor="A9", candidate="C09", task="T9")
    assert [line.split(" names ")[1].split(",")[0] for line in told(root)] == [
        "assessor `A9`", "candidate `C09`", "task `T9`",
    ]  # fmt: skip


def test_seats_the_licence_does_not_allow(tmp_path: Path) -> None:
    second = LICENSED.replace("2027-10-31}", "2027-10-31, conditions: [only-second]}", 1)
    found = told(made(tmp_path, second))
    assert len(found) == 5
    assert found[0] == f"course.yaml:18: `A1` may not sit here: the licence is for the second marker only; {OTHER}"
    both = LICENSED.replace("2027-10-31}", "2027-10-31, conditions: [supervised]}", 2)
    root = made(tmp_path / "b", both)
    assert len(told(root)) == 6, "A1 and A2 in the three slots of T1; beside A3 it is fine"
    waive(root)
    assert len(told(root)) == 3


def test_one_person_in_two_pairs_of_a_round_and_in_two_slots_at_one_time(tmp_path: Path) -> None:
    rounds = COURSE.replace('order: 1, at: "09:00", candidate: C01', "order: 1, pair: 1, candidate: C01")
    rounds = rounds.replace('order: 2, at: "09:06"', "order: 2, pair: 2")
    what = "sits in two pairs at once, the other in line 18; seat somebody else, or give the two their times"
    assert told(made(tmp_path, course=rounds))[:2] == [f"course.yaml:19: `A1` {what}", f"course.yaml:19: `A2` {what}"]
    apart = rounds.replace("pair: 2", "pair: 2, round: 2")
    assert told(made(tmp_path / "b", course=apart)) == []
    timed = COURSE.replace('"09:06"', '"09:00"')
    assert "`A1` is in two slots at the same time" in told(made(tmp_path / "c", course=timed))[0]


@pytest.mark.parametrize(
    "fact",
    [
        AllocationChange.model_validate({"task": "T1", "candidate": "C03", "from": "A1", "to": "A3", "reason": "ill"}),
        ExtraSlot(task="T1-2", candidate="C03", assessors=("A2", "A3"), why="repeat"),
    ],
)
def test_an_act_that_seats_somebody_who_may_not_mark_is_told_with_its_line(tmp_path: Path, fact) -> None:
    root = made(tmp_path)
    put(root, DAY, ledger_bytes(DAY, [fact]))
    assert told(root) == [f"days/{DAY.name}.yaml:4: `A3` has declared a conflict with `C03`; {GIVE}"]
    put(root, DAY, ledger_bytes(DAY, [Waiver(assessor="A3", about="conflict", reason="nobody else"), fact]))
    assert told(root) == []


def test_a_third_marker_is_asked_too(tmp_path: Path) -> None:
    root = made(tmp_path)
    decision = other("decision", candidate="C03")
    fact = ThirdLook(
        module="demo", slots=("T1",), marker="A3", source="film", reach=("3", "4"), outcomes=("passed",), reason="x"
    )
    put(root, decision, ledger_bytes(decision, [fact]))
    assert told(root) == [f"decisions/{decision.name}.yaml:4: `A3` has declared a conflict with `C03`; {GIVE}"]


def test_licences_and_training_name_people_and_days_there_are(tmp_path: Path) -> None:
    wrong = """\
trained:
- {assessor: A9, candidate: C09}
licences:
- {assessor: A8, activity: gliding, valid_from: 2027-01-01, valid_to: 2027-01-01}
"""
    found = [line for line in told(made(tmp_path, wrong)) if line.startswith("people")]
    assert found == [
        "people.yaml:18: there is nobody `A9` in this course; name an id of the course",
        "people.yaml:18: there is nobody `C09` in this course; name an id of the course",
        "people.yaml:20: there is nobody `A8` in this course; name an id of the course",
    ]
    backwards = LICENSED.replace("valid_from: 2026-11-01", "valid_from: 2027-11-01", 1)
    assert (
        "people.yaml:18: the licence ends before it begins; correct one of the two days"
        in told(made(tmp_path / "b", backwards))[-1]
    )


def test_a_day_no_calendar_has_makes_the_file_unusable_with_its_line(tmp_path: Path) -> None:
    root = made(tmp_path, LICENSED.replace("2027-10-31", "2027-02-30", 1))
    with pytest.raises(InputError, match=r"people.yaml:18: .*the calendar has no day `2027-02-30`"):
        load_course(root)
