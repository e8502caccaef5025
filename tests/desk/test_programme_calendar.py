"""The programme as a calendar: whose it is, what it never holds, what was called off, what a zone does to its times."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from assess.desk.demo import sample_course
from assess.desk.programme_calendar import programme_calendar
from assess.records.audience import Audience
from assess.records.errors import InputError, Refusal, UsageError
from assess.records.facts import AllocationChange
from assess.reports.calendar_file import Appointment, Programme, calendar_bytes
from tests.courses import build_course, open_desk

NAMES = ("Ada Quillfeather", "Bo Thistledown")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    root = build_course(tmp_path / "course", candidates=2, names=NAMES)
    change(root, "candidate: C01,", 'candidate: C01, at: "09:00",')
    change(root, "candidate: C02,", 'candidate: C02, at: "09:10",', only="task: T1")
    return root


def change(root: Path, old: str, new: str, *, only: str = "") -> None:
    path = root / "course.yaml"
    lines = path.read_text(encoding="utf-8").split("\n")
    path.write_text("\n".join(line.replace(old, new) if only in line else line for line in lines), encoding="utf-8")


def slots(made: Programme) -> dict[str, Appointment]:
    return {item.key: item for item in made.appointments if not item.key.startswith("day/")}


def test_the_sample_has_its_days_and_a_time_for_every_slot() -> None:
    desk = open_desk(sample_course(), "D1")
    made = programme_calendar(desk)
    days = [item for item in made.appointments if item.key.startswith("day/")]
    assert [item.status for item in days] == ["CONFIRMED"] * 3 + ["TENTATIVE"]
    assert len(slots(made)) == len(desk.course.allocation) == 60 and made.left_out == ()
    for slot in desk.course.allocation:
        item = slots(made)[f"{slot.task}/{slot.candidate}"]
        assert isinstance(item.start, datetime)
        assert f"{item.start:%H:%M}" == slot.at and item.start.date() == desk.course.held_on(slot.task, slot.candidate)


def test_no_name_stands_in_it_and_a_slot_without_a_time_is_named(root: Path) -> None:
    made = programme_calendar(open_desk(root, "A1"))
    text = calendar_bytes(made).decode()
    assert not any(name in text for name in (*NAMES, "Marker", "Director", "red jacket"))
    assert slots(made)["T1/C02"].summary.endswith(": C02, bib 21") and "A1, A2" in slots(made)["T1/C02"].description
    assert made.left_out == ("T4 of C02 has no time yet",)


def test_an_assessors_own_holds_their_slots_and_those_taken_from_them_as_cancelled(root: Path) -> None:
    change(root, "assessors: [A1, A2]}", "assessors: [A2]}", only="task: T4")
    desk = open_desk(root, "D1")
    desk.day_book.append(AllocationChange.model_validate({"task": "T1", "candidate": "C02", "from": "A1"}))
    before, after = (slots(programme_calendar(open_desk(root, "D1"), about=who)) for who in ("A2", "A1"))
    desk.close()
    assert set(before) == {"T1/C01", "T1/C02", "T4/C01"} and set(after) == {"T1/C01", "T1/C02"}
    assert {key: item.status for key, item in after.items()} == {"T1/C01": "CONFIRMED", "T1/C02": "CANCELLED"}
    assert {item.status for item in before.values()} == {"CONFIRMED"}
    assert after["T1/C02"].sequence == after["T1/C01"].sequence + 1


def test_a_candidate_who_has_gone_is_cancelled_and_the_stamp_is_that_of_the_change(root: Path) -> None:
    assert programme_calendar(open_desk(root, "A1")).dated == datetime(2026, 2, 2, tzinfo=UTC)
    desk = open_desk(root, "A1")
    desk.run_sheet("T1").order("C01", "withdrawn")
    desk.close()
    made = programme_calendar(open_desk(root, "A1"))
    assert {key: item.status for key, item in slots(made).items()} == {
        "T1/C01": "CANCELLED", "T4/C01": "CANCELLED", "T1/C02": "CONFIRMED",
    }  # fmt: skip
    assert made.dated > datetime(2026, 2, 2, 9, 45, tzinfo=UTC)


def test_a_candidates_own_holds_nothing_of_others_and_is_made_by_a_director(root: Path) -> None:
    made = programme_calendar(open_desk(root, "D1"), "candidate", "C02")
    text = calendar_bytes(made).decode()
    assert set(slots(made)) == {"T1/C02"} and not any(word in text for word in ("C01", "A1", "A2", "bib"))
    with pytest.raises(Refusal, match="only a director"):
        programme_calendar(open_desk(root, "A1"), "candidate", "C02")


@pytest.mark.parametrize(
    ("audience", "about"),
    [("research", None), ("candidate", None), ("candidate", "A1"), ("panel", "C01"), ("panel", "X")],
)
def test_it_is_asked_for_somebody_of_the_course(root: Path, audience: Audience, about: str | None) -> None:
    with pytest.raises(UsageError):
        programme_calendar(open_desk(root, "D1"), audience, about)


def test_a_zone_keeps_nine_at_nine_when_the_clocks_change_and_an_offset_does_not(root: Path) -> None:
    change(root, 'days: ["2026-02-02", "2026-02-03"]', 'utc_offset: "+01:00"\ndays: ["2027-03-27", "2027-03-28"]')
    change(root, "area: teach, day: 1", "area: teach, day: 2")

    def starts() -> list[tuple[date, int]]:
        found = slots(programme_calendar(open_desk(root, "A1")))
        moments = [found[key].start for key in ("T1/C01", "T4/C01")]
        return [(at.date(), at.astimezone(UTC).hour) for at in moments if isinstance(at, datetime)]

    assert starts() == [(date(2027, 3, 27), 8), (date(2027, 3, 28), 8)]
    change(root, 'utc_offset: "+01:00"', 'utc_offset: "+01:00"\ntimezone: Europe/Zurich')
    assert starts() == [(date(2027, 3, 27), 8), (date(2027, 3, 28), 7)]
    desk = open_desk(root, "A1")
    slot = desk.course.slot("T4", "C01")
    assert slot is not None and desk.course.planned_at(slot) == "2027-03-28T07:00:00.000Z"
    assert b"BEGIN:VTIMEZONE" in calendar_bytes(programme_calendar(desk))


def test_a_zone_nobody_knows_is_refused_with_its_line(root: Path) -> None:
    for zone in ("Europe/Atlantis", "../../etc/passwd", "/etc/localtime"):
        change(root, "revision: 1", f"revision: 1\ntimezone: {zone}")
        with pytest.raises(InputError, match=r"course.yaml:\d+: .*no time zone is called"):
            open_desk(root, "A1")
        change(root, f"timezone: {zone}", "")
