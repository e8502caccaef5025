"""The sample course: made again to the same bytes, whole, and telling the story it is for."""

from __future__ import annotations

import csv
import os
import shutil
import subprocess
import sys
from collections import Counter, defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

import pytest

from assess.marking.fold import fold_sheet
from assess.marking.holes import holes
from assess.marking.results import Sheet
from assess.records.facts import (
    Breach,
    BreachAccount,
    BreachFinding,
    Clock,
    Ended,
    Fact,
    Lock,
    Morning,
    MovedIn,
    MovedOut,
    Observation,
    OrderChange,
    Rerun,
    RubricAct,
    Score,
    Undo,
)  # fmt: skip
from assess.records.times import milliseconds
from assess.store.course_folder import CourseFolder, load_course
from assess.store.ledger_file import LedgerFile
from assess.store.seals import head_problems

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_sessions"
COURSE = SAMPLES / "course"

Key = tuple[str, str, str]
F = TypeVar("F", bound=Fact)


def make(*arguments: str, cache: Path) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "ASSESS_CACHE_DIR": str(cache)}
    command = [sys.executable, str(SAMPLES / "make_course.py"), *arguments]
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=False)


def bytes_of(root: Path) -> dict[str, bytes]:
    return {str(path.relative_to(root)): path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()}


@pytest.fixture(scope="module")
def course() -> CourseFolder:
    return load_course(COURSE)


@pytest.fixture(scope="module")
def sheets(course: CourseFolder) -> dict[Key, Sheet]:
    folded = {}
    for file in course.ledgers:
        header = file.ledger.header
        if header.kind == "sheet":
            key = (str(header.task), str(header.candidate), str(header.assessor))
            folded[key] = fold_sheet([file.ledger], rubric=course.rubrics[str(header.rubric)])
    return folded


def table() -> list[dict[str, str]]:
    with (SAMPLES / "source" / "course_scores.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@dataclass(frozen=True)
class Written(Generic[F]):
    file: LedgerFile
    at: str
    n: int
    fact: F


def written(course: CourseFolder, kind: type[F]) -> list[Written[F]]:
    found: list[Written[F]] = [
        Written(file, entry.at, entry.n, entry.fact)
        for file in course.ledgers
        for entry in file.ledger.entries
        if isinstance(entry.fact, kind)
    ]
    return sorted(found, key=lambda item: item.at)


# --- bytes -------------------------------------------------------------------------------------


def test_made_again_it_has_the_same_bytes(tmp_path: Path) -> None:
    done = make("--out", str(tmp_path / "again"), cache=tmp_path / "cache")
    assert done.returncode == 0, done.stderr
    made, kept = bytes_of(tmp_path / "again"), bytes_of(COURSE)
    assert sorted(made) == sorted(kept)
    assert [name for name in made if made[name] != kept[name]] == []


def test_a_folder_that_is_no_course_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "kept.txt").write_text("mine", encoding="utf-8")
    done = make("--out", str(tmp_path / "letters"), cache=tmp_path / "cache")
    assert done.returncode == 1
    assert "no course" in done.stderr
    assert bytes_of(tmp_path / "letters") == {"kept.txt": b"mine"}


def test_the_pinned_rubrics_are_the_ones_in_rubrics_byte_for_byte(course: CourseFolder) -> None:
    originals = {path.read_bytes() for path in (ROOT / "rubrics" / "alpine-ski").glob("r-*.yaml")}
    copies = sorted((COURSE / "rubrics").glob("*.yaml"))
    assert len(copies) == 2
    for copy in copies:
        assert copy.read_bytes() in originals
    assert {pin.reference for pin in course.course.rubrics} == set(course.rubrics)


# --- a whole course ----------------------------------------------------------------------------


def test_every_file_reads_without_a_problem_and_every_chain_fits(course: CourseFolder) -> None:
    assert [str(problem) for problem in (*course.problems, *course.notes)] == []
    assert [file.name for file in course.ledgers if file.problems or file.torn or file.bad] == []


def test_a_changed_word_is_found(tmp_path: Path) -> None:
    # Guards the test above: the same reading does find damage.
    shutil.copytree(COURSE, tmp_path / "copy")
    hit = next((tmp_path / "copy" / "sheets").glob("T1.C04.A1.*.yaml"))
    hit.write_bytes(hit.read_bytes().replace(b"tails wash last third", b"tails hold last third"))
    assert any("T1.C04.A1" in problem.file for problem in load_course(tmp_path / "copy").problems)


def test_every_entry_is_anchored_by_a_lock_or_a_seal_of_another_day(course: CourseFolder) -> None:
    assert [str(problem) for problem in head_problems(course)] == []
    seals = [file for file in course.ledgers if file.ledger.header.kind == "seal"]
    assert [file.ledger.header.date for file in seals] == list(course.course.days)


def test_there_are_480_marks_and_they_are_those_of_the_table(sheets: dict[Key, Sheet]) -> None:
    rows = table()
    assert len(rows) == 480
    assert sum(len(sheet.marks) for sheet in sheets.values()) == 480
    for row in rows:
        mark = sheets[row["task"], row["candidate"], row["assessor"]].mark(row["criterion"])
        assert mark is not None
        if row["status"] == "scored":
            assert (mark.status, mark.level) == ("scored", int(row["score"]))
        else:
            assert (mark.status, mark.level, mark.why) == ("not-observed", None, row["status"].rsplit("-", 1)[1])


def test_every_sheet_is_marked_locked_and_complete(course: CourseFolder, sheets: dict[Key, Sheet]) -> None:
    allocated = {(slot.task, slot.candidate, who) for slot in course.course.allocation for who in slot.assessors}
    assert set(sheets) == allocated
    assert len(allocated) == 120
    for key, sheet in sheets.items():
        assert sheet.locked, key
        assert sheet.origin == "marked", key
        assert not any(hole.blocks for hole in holes(sheet, course.rubrics[sheet.rubric])), key


def test_every_level_that_needs_evidence_has_words_seen_in_the_task(
    course: CourseFolder, sheets: dict[Key, Sheet]
) -> None:
    needing = 0
    for key, sheet in sheets.items():
        rubric = course.rubrics[sheet.rubric]
        for mark in sheet.marks:
            if mark.level is None or not rubric.needs_evidence(int(mark.level)):
                continue
            needing += 1
            wanted = "for" if mark.level == rubric.scale.max else "against"
            words = [
                item.fact.text
                for item in sheet.observations
                if mark.criterion in item.fact.criteria and item.fact.direction == wanted and item.fact.made_in_task
            ]
            assert any(words), (key, mark.criterion)
    assert needing == 126


def test_words_are_short_and_none_is_used_more_than_three_times(course: CourseFolder) -> None:
    texts = Counter(
        entry.fact.text
        for file in course.ledgers
        for entry in file.ledger.entries
        if isinstance(entry.fact, Observation) and entry.fact.text
    )
    assert len(texts) > 250
    assert max(texts.values()) <= 3
    assert max(map(len, texts)) <= 90


def test_names_stand_in_people_yaml_alone(course: CourseFolder) -> None:
    everybody = (*course.course.candidates, *course.course.assessors, *course.course.directors)
    names = {part for who in everybody for part in course.people.name(who).split()}
    assert len(names) == 32
    elsewhere = {name: raw.decode() for name, raw in bytes_of(COURSE).items() if name != "people.yaml"}
    assert [(name, word) for name, text in elsewhere.items() for word in names if word in text] == []


# --- time --------------------------------------------------------------------------------------


def test_a_mark_is_given_after_its_slot_began_and_before_the_next_one_of_that_marker(course: CourseFolder) -> None:
    turns: dict[tuple[str, str], list[int]] = defaultdict(list)
    for slot in course.course.allocation:
        for who in slot.assessors:
            turns[who, slot.task].append(milliseconds(str(course.course.planned_at(slot))))
    for item in written(course, Score):
        header = item.file.ledger.header
        if (header.task, header.candidate, header.assessor) == ("T2", "C04", "A4") and item.n < 4:
            continue  # given to the wrong bib and moved
        turn = course.course.slot(str(header.task), str(header.candidate))
        assert turn is not None
        start, at = milliseconds(str(course.course.planned_at(turn))), milliseconds(item.at)
        later = [begin for begin in turns[str(header.assessor), turn.task] if begin > start]
        assert start < at < min(later, default=start + 36 * 60_000), (item.file.name, item.n)


def test_times_never_go_back_on_a_device_and_no_clock_was_behind(course: CourseFolder) -> None:
    assert written(course, Clock) == []
    for file in course.ledgers:
        times = [entry.at for entry in file.ledger.entries]
        assert times == sorted(set(times)), file.name


def test_all_sheets_are_locked_before_the_release(course: CourseFolder) -> None:
    release = next(event for event in course.course.events if event.kind == "release")
    assert (release.day, release.at, release.to, release.by) == (3, "15:20", "assessors", "D1")
    locks = written(course, Lock)
    assert len(locks) == 120
    assert max(item.at for item in locks) < f"{course.course.days[2]}T15:20"


# --- the story ---------------------------------------------------------------------------------


def test_without_the_release_line_no_assessor_sees_a_module(tmp_path: Path) -> None:
    from assess.desk.session import Desk

    shutil.copytree(COURSE, tmp_path / "copy")
    file = tmp_path / "copy" / "course.yaml"
    lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
    kept = [line for line in lines if "kind: release" not in line]
    assert len(kept) == len(lines) - 1
    words = {}
    for name, text in (("with", lines), ("without", kept)):
        file.write_text("".join(text), encoding="utf-8")
        desk = Desk.open(tmp_path / "copy", "A3")
        words[name] = [line.words for line in desk.board().candidates]
        desk.close()
    assert all(set(line) == {"demo", "teach", "safety"} for line in words["with"])
    assert words["without"] == [{}] * 10


def test_the_lost_card_left_its_marks_and_a_note(course: CourseFolder, sheets: dict[Key, Sheet]) -> None:
    sheet = sheets["T1", "C04", "A2"]
    note = next(item for item in sheet.observations if item.fact.category == "event")
    assert "card" in str(note.fact.text)
    assert note.at.startswith(f"{course.course.days[0]}T09:50")
    assert [mark.level for mark in sheet.marks] == [3, 3, 3, 3]


def test_wind_illness_and_an_ended_lesson_are_no_numbers(sheets: dict[Key, Sheet]) -> None:
    why = Counter(
        (key[0], key[1], mark.why) for key, sheet in sheets.items() for mark in sheet.marks if mark.level is None
    )
    assert why == {
        ("T3", "C08", "wind"): 4, ("T3", "C09", "wind"): 4, ("T3", "C10", "wind"): 4,
        ("T5", "C05", "ill"): 8, ("T6", "C05", "ill"): 8, ("T5", "C09", "unsafe"): 4,
    }  # fmt: skip


def test_both_markers_filed_the_breach_alone_and_a_third_person_heard_and_confirmed(course: CourseFolder) -> None:
    reports = written(course, Breach)
    assert {item.file.ledger.header.assessor: item.at[11:16] for item in reports} == {"A1": "10:56", "A4": "10:56"}
    ended = {item.file.name: item.fact.why for item in written(course, Ended) if item.fact.why != "done"}
    assert set(ended.values()) == {"unsafe"}
    assert set(ended) == {item.file.name for item in reports}
    [account] = written(course, BreachAccount)
    [finding] = written(course, BreachFinding)
    assert (account.at[11:16], finding.at[11:16]) == ("11:45", "12:40")
    assert account.file.ledger.header.by == finding.file.ledger.header.by == "D2"
    assert finding.fact.modules == ("teach", "safety")
    assert set(finding.fact.reports) == {item.file.name for item in reports}
    rubric = course.rubrics[str(reports[0].file.ledger.header.rubric)]
    assert rubric.breach is not None
    assert finding.fact.standard == rubric.breach.standard


def test_the_rubric_change_was_refused_for_demonstrations_and_took_force_for_teaching(course: CourseFolder) -> None:
    acts = {item.fact.area: item for item in written(course, RubricAct)}
    assert {area: act.fact.result for area, act in acts.items()} == {"demo": "refused", "teach": "in-force"}
    first_lesson = min(
        entry.at for file in course.ledgers if file.name.startswith("T4.") for entry in file.ledger.entries
    )
    assert acts["teach"].at < first_lesson
    pin = course.course.pin("T4")
    assert pin is not None
    assert acts["teach"].fact.rubric == pin.reference


def test_the_fall_is_neutral_and_its_handling_is_evidence(sheets: dict[Key, Sheet]) -> None:
    for who in ("A2", "A4"):
        seen = [item.fact for item in sheets["T4", "C07", who].observations]
        fall = next(place for place, fact in enumerate(seen) if fact.category == "fall")
        assert (seen[fall].criteria, seen[fall].direction) == ((), None)
        assert (seen[fall + 1].criteria, seen[fall + 1].direction) == (("group-and-place",), "for")


def test_separation_of_c06_was_seen_from_two_sides(sheets: dict[Key, Sheet]) -> None:
    marks = {who: sheets["T2", "C06", who].mark("separation") for who in ("A1", "A3")}
    assert {who: (mark.level, mark.viewpoint) for who, mark in marks.items() if mark} == {
        "A1": (5, "front"),
        "A3": (2, "behind"),
    }


def test_small_mishaps_of_the_hill_are_kept(course: CourseFolder, sheets: dict[Key, Sheet]) -> None:
    assert {item.file.ledger.header.candidate for item in written(course, Rerun)} == {"C06", "C07"}
    assert [item.file.name[:9] for item in written(course, MovedOut)] == ["T2.C04.A4"]
    assert [item.file.name[:9] for item in written(course, MovedIn)] == ["T2.C10.A4"]
    assert len(written(course, Undo)) == 3
    spoilt = sheets["T1", "C06", "A3"]
    assert [(mark.run, mark.criterion) for mark in spoilt.runs if mark.run == 1] == [(1, "over-feet"), (1, "edging")]


def test_each_day_has_its_morning_by_an_assessor_and_the_director(course: CourseFolder) -> None:
    mornings = {(item.file.ledger.header.date, item.file.ledger.header.by) for item in written(course, Morning)}
    assert mornings == {(day, who) for day in course.course.days for who in ("A1", "D1")}
    changes = [(item.fact.candidate, item.fact.change) for item in written(course, OrderChange)]
    assert changes == [("C02", "late"), ("C02", "now"), ("C05", "absent"), ("C05", "absent")]


def test_one_learner_is_used_three_times_and_no_other_more_than_twice(course: CourseFolder) -> None:
    uses = Counter(learner for slot in course.course.allocation for learner in slot.learners)
    assert {learner for learner, count in uses.items() if count > 2} == {"L27"}
    assert uses["L27"] == 3
    assert set(uses) == {learner.id for learner in course.people.learners}
