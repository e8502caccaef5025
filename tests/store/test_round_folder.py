"""The folder of a calibration round: read as a course of lessons, every misfit told with its line, merged."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assess.records.errors import InputError, Problem
from assess.store.course_folder import CourseFolder
from assess.store.merge import merge
from assess.store.round_folder import load_folder, load_round
from tests.rounds import CRITERIA, build_round, levels_of, mark_all, mark_lesson


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_round(tmp_path / "round")


def told(folder: CourseFolder, *, doubt: bool = False) -> list[Problem]:
    return [problem for problem in folder.problems if problem.doubt == doubt]


def test_a_round_reads_as_a_course_whose_candidates_are_lessons(root: Path) -> None:
    folder = load_folder(root)
    assert told(folder) == []
    assert folder.round is not None and folder.reasons is None
    assert folder.course.candidates == ("L01", "L02", "L03", "L01-2")
    assert [folder.round.lesson(slot).title for slot in folder.course.candidates] == [  # type: ignore[union-attr]
        "Lesson 1", "Lesson 2", "Lesson 3", "Lesson 1",
    ]  # fmt: skip
    # A title is no name of anybody: free text that says so names nobody.
    assert {person.name for person in folder.people.candidates} == {""}
    slots = {slot.candidate: slot for slot in folder.course.allocation}
    assert {slot.task for slot in slots.values()} == {"T5"}
    assert slots["L02"].assessors == ("A1", "A2", "P1", "P2", "P3", "P4")
    assert slots["L01-2"].assessors == ("A1", "A2")


def test_everybody_marks_in_the_order_written_for_them(tmp_path: Path) -> None:
    folder = load_round(build_round(tmp_path / "round", more=["orders: {A2: [L03, L01, L02, L01-2]}"]))
    assert folder.round is not None
    assert folder.round.mine("A1") == ("L01", "L02", "L03", "L01-2")
    assert folder.round.mine("A2") == ("L03", "L01", "L02", "L01-2")
    assert folder.round.mine("P1") == ("L01", "L02", "L03")
    assert folder.round.as_course("A2").candidates == ("L03", "L01", "L02", "L01-2")
    assert [person.bib for person in folder.round.as_people(folder.people, "A2").candidates] == [1, 2, 3, 4]


def test_few_lessons_and_few_repeats_are_worth_a_look_and_nothing_more(root: Path) -> None:
    said = [problem.what for problem in told(load_round(root), doubt=True)]
    assert said == [
        "3 lessons tell a good marker from a poor one badly",
        "1 lessons are marked twice: too few to see who agrees with themselves",
    ]


@pytest.mark.parametrize(
    ("old", "new", "line", "what"),
    [
        ("panel: [P1, P2, P3, P4]", "panel: [P1, P2, P3]", 10, "at least 4 blind markings, and the panel has 3"),
        ("panel: [P1, P2, P3, P4]", "panel: [P1, P2, P3, A1]", 11, "`A1` would be compared with a reference they"),
        ("directors: [D1]", "directors: []", 9, "the round has no director"),
        ("area: teach", "area: flying", 7, "rubric `r-2026.2` has no area `flying`"),
        ("id: L02", "id: L01", 14, "the id `L01` stands twice"),
        ("id: L02", "id: L01-3", 14, "`L01-3` reads as the second marking of another lesson"),
        ("id: L02", "id: A1", 14, "the id `A1` is that of a person"),
        ("task: T5, film: \"film-2.mp4\"", "task: T1, film: x", 14, "has no task `T1` in area `teach`"),
        ("film: \"film-2.mp4\"", "written: \"lessons/none.yaml S1\"", 14, "the lesson file `lessons/none.yaml` is not"),
        ("film: \"film-2.mp4\"", "written: \"../x.yaml S1\"", 14, "leads out of the folder"),
        ("film: \"film-2.mp4\"", "film: x, written: \"rubrics S1\"", 14, "has a film and a written lesson"),
        ("repeats: [L01]", "repeats: [L09]", 16, "there is no lesson `L09`"),
        ("repeats: [L01]", "repeats: [L01]\norders: {A1: [L01, L02, L01-2]}", 17, "order of `A1`: L03 is missing"),
        ("repeats: [L01]", "repeats: [L01]\norders: {A1: [L01-2, L01, L02, L03]}", 17, "again before it"),
        ("repeats: [L01]", "repeats: [L01]\norders: {X9: [L01]}", 17, "`X9` marks nothing in this round"),
        ("  current: {exact_at_least: \"0.4\"", "  current: {exact_at_least: \"1.4\"", 18, "is a share from 0 to 1"),
        ("date: \"2026-02-02\"", "date: \"2026-02-30\"", 6, "the calendar has no day `2026-02-30`"),
        ("id: r-2026.2, sha256: ", "id: r-2026.2, sha256: 00", 8, ""),
    ],
)  # fmt: skip
def test_every_misfit_is_told_with_its_line(root: Path, old: str, new: str, line: int, what: str) -> None:
    file = root / "round.yaml"
    text = file.read_text()
    assert text.count(old) == 1
    file.write_text(text.replace(old, new))
    try:
        found = told(load_round(root))
    except InputError as error:
        found = error.problems
    assert (line, True) in [(problem.line, what in problem.what) for problem in found], found


def test_a_lesson_marked_again_too_soon_is_worth_a_look(tmp_path: Path) -> None:
    root = build_round(tmp_path / "round", lessons=5, more=["orders: {A1: [L01, L02, L01-2, L03, L04, L05]}"])
    said = [problem.what for problem in told(load_round(root), doubt=True)]
    assert "`A1` marks `L01` again too soon to have forgotten it" in said


def test_a_rubric_that_was_edited_is_not_used(root: Path) -> None:
    copy = next((root / "rubrics").glob("*.yaml"))
    copy.write_bytes(copy.read_bytes() + b"# more\n")
    assert [problem.what for problem in told(load_round(root)) if problem.file.startswith("rubrics/")] == [
        "the rubric in force was edited: its bytes are not those that are pinned"
    ]


def test_the_panels_reasons_stand_in_a_file_of_their_own(root: Path) -> None:
    (root / "reference.yaml").write_text(
        "# assess reference 1\nround: R-TEST\nrevision: 1\nreasons:\n"
        "- {lesson: L01, criterion: diagnosis, reason: \"names the symptom\"}\n"
        "- {lesson: L09, criterion: diagnosis, reason: x}\n"
        "- {lesson: L02, criterion: edging, reason: x}\n"
    )  # fmt: skip
    folder = load_round(root)
    assert folder.reasons is not None and folder.reasons.of("L01", "diagnosis") == "names the symptom"
    assert folder.reasons.of("L01", "build-up") == ""
    assert [(p.file, p.line, p.what) for p in told(folder)] == [
        ("reference.yaml", 6, "there is no lesson `L09`"),
        ("reference.yaml", 7, "`edging` is no criterion of T5"),
    ]


def test_a_sheet_for_a_lesson_that_is_not_there_or_not_theirs_is_told(root: Path) -> None:
    mark_lesson(root, "P1", "L01", (4, 4, 4, 4))
    sheet = next((root / "sheets").glob("T5.L01.P1.*"))
    sheet.rename(sheet.with_name(sheet.name.replace("L01", "L09")))
    assert [problem.what for problem in told(load_round(root))] == [
        "is named `T5.L09.P1.p1x`, but its header says `T5.L01.P1.p1x`; it is not used"
    ]


def test_copies_from_several_devices_are_merged_in_any_order(root: Path, tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    for copy in (one, two):
        shutil.copytree(root, copy)
    mark_all(one, "A1", levels_of(("L01", "L02"), 4))
    mark_all(two, "P1", levels_of(("L01",), 3))
    newer = (two / "round.yaml").read_text().replace("revision: 1", "revision: 2")
    (two / "round.yaml").write_text(newer)
    merge(root, [one, two])
    merge(one, [two, root])
    names = {file.name for file in (root / "sheets").iterdir()}
    assert names == {"T5.L01.A1.a1x.yaml", "T5.L02.A1.a1x.yaml", "T5.L01.P1.p1x.yaml"}
    for name in sorted(names):
        assert (root / "sheets" / name).read_bytes() == (one / "sheets" / name).read_bytes()
    assert (root / "round.yaml").read_text() == newer == (one / "round.yaml").read_text()
    assert told(load_round(root)) == []
    assert len(CRITERIA) == 4


def test_people_who_are_missing_and_candidates_who_should_not_be_there_are_told(root: Path) -> None:
    file = root / "people.yaml"
    text = file.read_text()
    file.write_text(
        text.replace("candidates: []", "candidates: [{id: C01, name: X, bib: 1}]").replace(
            "- {id: P4, name: Marker P4}\n", ""
        )
    )
    found = load_round(root).problems
    said = [(p.file, p.line, p.what) for p in found if p.file == "people.yaml"]
    assert said == [
        ("people.yaml", 3, "a calibration round has lessons and no candidates; these are not read"),
        ("people.yaml", 4, "`P4` of round.yaml is missing here"),
    ]
