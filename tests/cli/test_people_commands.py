"""person due, person same, and for whom an export is: what they say, to whom, and how they end."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from assess.desk.retention_due import course_due
from tests.cli.commands import assess
from tests.courses import FixedClock, build_course, open_desk, release

IN_2029 = 1_870_000_000_000


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", names=("Aldous Prynne", "Beric Stannow"), candidates=2)


def mark_all(root: Path, who: str, device: str) -> None:
    desk = open_desk(root, who, device=device)
    for task in ("T1", "T4"):
        for slot in desk.mine(task):
            sheet = desk.slot(task, slot.candidate)
            for criterion in sheet.criteria:
                sheet.score(criterion, 4)
            sheet.lock()
    assert desk.close()


def put(root: Path, file: str, text: str) -> None:
    (root / file).write_text((root / file).read_text() + text)


# --- what is due -----------------------------------------------------------------------------------------


def test_what_is_kept_is_told_with_its_day_and_who_it_is_held_for(root: Path) -> None:
    hold = "holds: [{who: C02, why: a claim is in court}]"
    put(root, "course.yaml", f"retention: {{season_ends: 2026-04-30, years: 1, contacts_days: 90, {hold}}}\n")
    people = root / "people.yaml"
    people.write_text(people.read_text().replace("bib: 20,", "bib: 20, contact: c01@example.org,"))
    put(root, "people.yaml", "consents:\n- {who: C01, film: true, clip: t1.mp4, until: 2027-12-31}\n")
    early = course_due(open_desk(root, "D1"))
    assert [(each.what, str(each.until), each.due) for each in early.kept] == [
        ("contacts", "2026-05-04", False), ("names and free text", "2027-04-30", False), ("films", "2027-12-31", False),
    ]  # fmt: skip
    late = course_due(open_desk(root, "D1", clock=FixedClock(start_ms=IN_2029)))
    assert late.due and all(each.due for each in late.kept)
    assert late.kept[1].held == (("C02", "a claim is in court"),) and late.kept[2].who == ("C01 t1.mp4",)


def test_the_command_ends_with_1_when_something_is_due(root: Path, tmp_path: Path) -> None:
    put(root, "course.yaml", "retention: {season_ends: 2026-02-03, years: 0}\n")
    kept = build_course(tmp_path / "kept")
    put(kept, "course.yaml", "retention: {season_ends: 2999-02-03}\n")
    ran = assess("person", "due", root, kept)
    assert ran.code == 1
    assert "  DUE, kept until 2026-02-03, " in ran.out and "    assess person erase COURSE ID" in ran.out
    assert "  kept until 3000-02-03, " in ran.out
    told = assess("person", "due", root, kept, "--json").json["courses"]
    assert [each["due"] for each in told] == [True, False]
    assert assess("person", "due", kept).code == 0
    assert assess("person", "due", tmp_path / "nowhere").code == 3


# --- entered twice ---------------------------------------------------------------------------------------


def test_a_candidate_entered_twice_goes_on_under_one_id(root: Path) -> None:
    mark_all(root, "A1", "d7h2k")
    mark_all(root, "A2", "a2a2a")
    words: list[str | Path] = ["person", "same", root, "C02", "C01"]
    assert assess(*words, "--reason", "x", "--as", "A1").code == 1
    assert assess(*words, "--as", "D1").code == 1
    assert assess("person", "same", root, "C02", "C02", "--reason", "x", "--as", "D1").code == 1
    ran = assess(*words, "--reason", "one licence number", "--as", "D1", "--json")
    assert ran.code == 0 and ran.json == {"candidate": "C02", "same_as": "C01", "both_marked": ["T1", "T4"]}
    assert assess("person", "same", root, "C01", "C02", "--reason", "x", "--as", "D1").code == 1
    first, second = assess("results", root, "--as", "D1", "--json").json["candidates"]
    assert {module["outcome"] for module in second["modules"].values()} == {None}
    assert second["modules"]["demo"]["reasons"] == ["the same person as C01, under whose id they go on"]
    assert first["modules"]["demo"]["outcome"] == "open"
    assert assess("decide", root, "C02", "demo", "--as", "D1").code != 0
    assert assess("check", root, "--as", "D1").code == 0


# --- for whom --------------------------------------------------------------------------------------------


def table(out: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(out, newline="")))


def test_every_row_says_for_whom_it_is(root: Path) -> None:
    mark_all(root, "A1", "d7h2k")
    mark_all(root, "A2", "a2a2a")
    for audience in ("panel", "research"):
        ran = assess("export", root, "--to", "csv", "--for", audience, "--as", "D1")
        assert ran.code == 0 and {row["audience"] for row in table(ran.out)} == {audience}
        assert assess("export", root, "--to", "json", "--for", audience, "--as", "D1").json["audience"] == audience
        assert "Prynne" not in ran.out
    assert {row["audience"] for row in table(assess("export", root, "--to", "csv", "--as", "A1").out)} == {"panel"}
    assert assess("export", root, "--to", "csv", "--for", "research", "--as", "A1").code == 1


def test_a_candidate_gets_their_own_rows_once_released_with_markers_by_number(root: Path) -> None:
    mark_all(root, "A1", "d7h2k")
    mark_all(root, "A2", "a2a2a")
    words: list[str | Path] = ["export", root, "--to", "csv", "--for", "candidate"]
    assert assess(*words, "--as", "D1").code == 2
    assert assess(*words, "--about", "C77", "--as", "D1").code == 2
    assert assess(*words, "--about", "C01", "--as", "A1").code == 1
    assert assess("export", root, "--to", "csv", "--about", "C01", "--as", "D1").code == 2
    assert table(assess(*words, "--about", "C01", "--as", "D1").out) == []
    release(root)
    assert table(assess(*words, "--about", "C01", "--as", "D1").out) == []
    put(root, "course.yaml", '- {day: 1, at: "16:00", kind: release, by: D1, to: candidates, modules: [demo]}\n')
    ran = assess(*words, "--about", "C01", "--as", "D1")
    rows = table(ran.out)
    assert len(rows) == 8 and {row["candidate"] for row in rows} == {"C01"} and {row["task"] for row in rows} == {"T1"}
    assert {row["assessor"] for row in rows} == {"marker-1", "marker-2"} and {row["audience"] for row in rows} == {
        "candidate"
    }
    assert "1 slots are left out" in ran.err
