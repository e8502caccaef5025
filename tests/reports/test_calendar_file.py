"""The calendar: two parsers agree on it, across a change of the clocks; folded at 75 octets; the same bytes."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest

from assess.records.text import pictured
from assess.reports.calendar_file import Appointment, Programme, calendar_bytes, event_id
from tests.reports.hostile import DATED, HOSTILE

ZURICH = ZoneInfo("Europe/Zurich")
READ = """
const ICAL = require('ical.js');
const root = new ICAL.Component(ICAL.parse(require('fs').readFileSync(0, 'utf8')));
for (const zone of root.getAllSubcomponents('vtimezone')) ICAL.TimezoneService.register(zone);
console.log(JSON.stringify(root.getAllSubcomponents('vevent').map(one => {
  const event = new ICAL.Event(one);
  return [event.uid, event.startDate.isDate ? event.startDate.toString() : event.startDate.toUnixTime(),
          event.duration.toSeconds(), event.summary, event.location, event.description,
          one.getFirstPropertyValue('status'), event.sequence];
})));
"""


def node_reads() -> bool:
    folders = os.environ.get("NODE_PATH", "").split(os.pathsep)
    return shutil.which("node") is not None and any((Path(f) / "ical.js").is_dir() for f in folders if f)


needs_reader = pytest.mark.skipif(not node_reads(), reason="node with ical.js is not on NODE_PATH")


def programme(*appointments: Appointment) -> Programme:
    return Programme("K-TEST", "Course, the; \\ title", "panel", "for the panel", DATED, appointments)


def across_the_change() -> Programme:
    """Two days before the clocks go forward (2027-03-28 02:00) and two after, at nine by the clocks."""
    slots = [
        Appointment(
            f"T1/C{day}", datetime(2027, 3, day, 9, 0, tzinfo=ZURICH), 90, f"T1: C{day}", "Lift 4, top; left",
            "first line\nsecond, with \\ and ;", sequence=day,
        )
        for day in (26, 27, 28, 29)
    ]  # fmt: skip
    return programme(Appointment("day/2027-03-26", date(2027, 3, 26), 0, "Course, day 1", status="TENTATIVE"), *slots)


def hostile_programme() -> Programme:
    return programme(
        *(
            Appointment(f"T1/{number}", DATED + timedelta(hours=number), 10, text, text, text)
            for number, text in enumerate(HOSTILE)
        )
    )


def events(raw: bytes) -> list[Any]:
    found = icalendar.Calendar.from_ical(raw)
    assert not found.errors
    assert not [error for event in found.walk() for error in event.errors]
    return list(found.walk("VEVENT"))


@pytest.mark.parametrize("made", [across_the_change(), hostile_programme()], ids=["clocks", "hostile"])
def test_lines_are_at_most_75_octets_and_end_with_cr_lf(made: Programme) -> None:
    raw = calendar_bytes(made)
    assert raw.endswith(b"END:VCALENDAR\r\n") and raw.count(b"\n") == raw.count(b"\r\n")
    lines = raw.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert [line for line in lines if b"\r" in line] == []


def test_nine_by_the_clocks_stays_nine_when_they_change() -> None:
    found = events(calendar_bytes(across_the_change()))
    starts = [event["dtstart"].dt for event in found if isinstance(event["dtstart"].dt, datetime)]
    assert [at.astimezone(UTC).hour for at in starts] == [8, 8, 7, 7]
    assert {(at.hour, str(at.tzinfo)) for at in starts} == {(9, "Europe/Zurich")}
    assert {event["duration"].dt for event in found if "duration" in event} == {timedelta(minutes=90)}
    zones = icalendar.Calendar.from_ical(calendar_bytes(across_the_change())).walk("VTIMEZONE")
    assert [zone["tzid"] for zone in zones] == ["Europe/Zurich"]


@pytest.mark.needs_node
@needs_reader
@pytest.mark.parametrize("made", [across_the_change(), hostile_programme()], ids=["clocks", "hostile"])
def test_a_second_parser_reads_the_same(made: Programme) -> None:
    ran = subprocess.run(["node", "-e", READ], input=calendar_bytes(made), capture_output=True, check=True)
    told = [
        [
            event_id("K-TEST", item.key),
            int(item.start.timestamp()) if isinstance(item.start, datetime) else item.start.isoformat(),
            item.minutes * 60 if isinstance(item.start, datetime) else 86_400,
            pictured(item.summary),
            pictured(item.place) or None,
            "\n".join(map(pictured, item.description.split("\n"))) or None,
            item.status,
            item.sequence,
        ]
        for item in made.appointments
    ]
    assert json.loads(ran.stdout) == told


def test_hostile_texts_come_back_as_text_and_make_no_event_and_no_property() -> None:
    found = events(calendar_bytes(hostile_programme()))
    assert [str(event["summary"]) for event in found] == [pictured(text) for text in HOSTILE]
    allowed = {
        "UID",
        "DTSTAMP",
        "SEQUENCE",
        "DTSTART",
        "DURATION",
        "SUMMARY",
        "LOCATION",
        "DESCRIPTION",
        "STATUS",
        "CLASS",
    }
    assert {key for event in found for key in event} == allowed


def test_an_appointment_keeps_its_identity_when_it_is_moved_and_no_two_share_one() -> None:
    one = Appointment("T1/C04", DATED, 30, "T1: C04")
    moved = replace(one, start=DATED + timedelta(days=1), sequence=1, status="CANCELLED")
    (before,), (after,) = events(calendar_bytes(programme(one))), events(calendar_bytes(programme(moved)))
    assert before["uid"] == after["uid"] and (before["sequence"], after["sequence"]) == (0, 1)
    assert (before["status"], after["status"]) == ("CONFIRMED", "CANCELLED")
    assert before["dtstamp"].dt == DATED and str(before["class"]) == "PRIVATE"
    assert event_id("K-TEST", "T1/C04") != event_id("K-OTHER", "T1/C04") != event_id("K-OTHER", "T1/C05")


def test_the_same_programme_gives_the_same_bytes() -> None:
    assert calendar_bytes(across_the_change()) == calendar_bytes(across_the_change())
    assert calendar_bytes(hostile_programme()) == calendar_bytes(hostile_programme())
