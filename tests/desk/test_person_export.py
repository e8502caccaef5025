"""A copy of what is kept about one person: all of theirs, nobody else's name, the same bytes every time."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest

from assess.desk.demo import sample_course
from assess.desk.person_export import export_person
from assess.records.errors import Refusal, UsageError
from tests.cli.commands import assess
from tests.courses import build_course, open_desk

NAMES = ("Aldous Prynne", "Beric Stannow", "Calla Wendt")


def marked(root: Path, who: str, device: str, candidate: str, text: str, *, lock: bool = True) -> None:
    desk = open_desk(root, who, device=device)
    sheet = desk.slot("T1", candidate)
    for criterion in sheet.criteria:
        sheet.score(criterion, 4)
    sheet.note(text, sheet.criteria)
    if lock:
        sheet.lock()
    assert desk.close()


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", names=NAMES)


def inside(archive: bytes) -> dict[str, str]:
    with zipfile.ZipFile(io.BytesIO(archive)) as found:
        assert found.testzip() is None
        return {name: found.read(name).decode("utf-8") for name in found.namelist()}


def exported(root: Path, person: str = "C01") -> dict[str, Any]:
    desk = open_desk(root, "D1")
    try:
        return inside(export_person(desk, person).archive())
    finally:
        desk.close()


def test_all_of_a_candidates_record_is_in_it_and_nobody_elses_name(root: Path) -> None:
    marked(root, "A1", "d7h2k", "C01", "cut across STANNOW, then Wendt; Prynne stood; Marker A2 saw it")
    marked(root, "A2", "a2a2a", "C01", "late everywhere")
    marked(root, "A1", "d7h2k", "C02", "nothing of C01's business")
    found = exported(root)
    document = json.loads(found["person.json"])
    assert (document["audience"], document["about"], document["role"]) == ("person", "C01", "candidate")
    assert document["entry"]["name"] == "Aldous Prynne"
    rows = list(csv.DictReader(io.StringIO(found["texts.csv"], newline="")))
    assert [(row["by"], row["text"]) for row in rows] == [
        ("A1", "cut across C02, then C03; Prynne stood; A2 saw it"),
        ("A2", "late everywhere"),
    ]
    marks = list(csv.DictReader(io.StringIO(found["marks.csv"], newline="")))
    assert {row["assessor"] for row in marks} == {"A1", "A2"} and {row["level"] for row in marks} == {"4"}
    everything = "\n".join(found.values())
    for name in ("Stannow", "STANNOW", "Wendt", "Beric", "Marker A2", "business", "Director One"):
        assert name not in everything, name
    # Scores, observation and lock of both sheets, with their times; nothing of the chain or its salts.
    assert sum(len(each["entries"]) for each in document["records"]) == 12
    assert '"salt"' not in everything and '"chain"' not in everything


def test_sheets_that_not_everybody_has_locked_stay_out_and_are_named(root: Path) -> None:
    marked(root, "A1", "d7h2k", "C01", "mine is locked")
    marked(root, "A2", "a2a2a", "C01", "mine is not", lock=False)
    found = exported(root)
    document = json.loads(found["person.json"])
    assert document["records"] == [] and {"task": "T1", "candidate": "C01"} in document["left_out"]
    assert "mine is" not in "\n".join(found.values())
    assert "not everybody has locked: T1 C01" in found["READ-ME.txt"]


def test_marks_given_by_mistake_are_in_the_copy_of_the_one_they_were_about(root: Path) -> None:
    desk = open_desk(root, "A1")
    rows = desk.run_sheet("T1")
    slot = desk.slot("T1", "C01")
    slot.score("edging", 2)
    slot.note("skids all the way", ("edging",))
    rows.give_to("C01", 21)
    for candidate in ("C01", "C02"):
        sheet = desk.slot("T1", candidate)
        for criterion in sheet.criteria:
            sheet.score(criterion, 5)
        sheet.note("of their own", sheet.criteria)
        sheet.lock()
    assert desk.close()
    for candidate in ("C01", "C02"):
        marked(root, "A2", "a2a2a", candidate, "by the other")
    one, two = exported(root, "C01"), exported(root, "C02")
    assert "skids" not in "\n".join(one.values()) and "skids all the way" in two["texts.csv"]
    assert "2" not in {row["level"] for row in csv.DictReader(io.StringIO(one["marks.csv"], newline=""))}


def test_the_same_record_gives_the_same_bytes(root: Path) -> None:
    marked(root, "A1", "d7h2k", "C01", "late")
    marked(root, "A2", "a2a2a", "C01", "late")
    first = export_person(open_desk(root, "D1"), "C01").archive()
    assert export_person(open_desk(root, "D2"), "C01").archive() == first


@pytest.mark.parametrize("who", ["A1", None])
def test_nobody_but_a_director_hands_it_out(root: Path, who: str | None) -> None:
    with pytest.raises(Refusal, match="only a director"):
        export_person(open_desk(root, who), "C01")


def test_an_id_nobody_has_is_told(root: Path) -> None:
    with pytest.raises(UsageError, match="C99 is nobody of this course"):
        export_person(open_desk(root, "D1"), "C99")


def test_everybody_of_the_sample_course_can_have_a_copy_without_the_others_names(tmp_path: Path) -> None:
    desk = open_desk(sample_course(), "D1")
    people = desk.people
    named = [(each.id, each.name) for each in (*people.candidates, *people.assessors, *people.directors)]
    for person in (*(who for who, _ in named), "L1", "L26"):
        found = export_person(desk, person)
        everything = "\n".join(inside(found.archive()).values())
        for who, name in named:
            assert (name in everything) == (who == person), (person, name)
            assert who == person or name.split()[-1] not in everything
        assert found.left_out == ()
    learner = json.loads(inside(export_person(desk, "L26").archive())["person.json"])
    assert learner["role"] == "learner" and learner["entry"] == {"id": "L26", "alias": "Kestrel"}
    assert [slot["candidate"] for slot in learner["slots"]] == ["C05", "C09"]


def test_the_command_writes_a_new_file_for_the_director_alone(root: Path, tmp_path: Path) -> None:
    to = tmp_path / "C01.zip"
    ran = assess("person", "export", root, "C01", "--to", to, "--as", "D1", "--json")
    assert ran.code == 0 and ran.json["audience"] == "person" and ran.json["files"][0] == "READ-ME.txt"
    assert (to.stat().st_mode & 0o777) == 0o600
    before = to.read_bytes()
    assert assess("person", "export", root, "C01", "--to", to, "--as", "D1").code == 1
    assert assess("person", "export", root, "C01", "--to", tmp_path / "n.zip", "--as", "A1").code == 1
    assert assess("person", "export", root, "C77", "--to", tmp_path / "n.zip", "--as", "D1").code == 2
    assert to.read_bytes() == before and sorted(p.name for p in tmp_path.glob("*.zip")) == ["C01.zip"]
