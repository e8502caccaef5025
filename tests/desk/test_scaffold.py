"""What `new` makes can be used at once, and never takes the place of anything."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from assess.desk.checking import check_paths
from assess.desk.scaffold import course_id, new_course, new_lesson, new_quality, new_round, new_rubric
from assess.records.errors import Refusal, StorageTrouble, UsageError
from assess.records.ids import is_short_id
from tests.cli.commands import tree
from tests.courses import open_desk

DAY = date(2027, 2, 3)


def test_a_new_course_passes_check_without_a_doubt(tmp_path: Path) -> None:
    made = new_course(tmp_path / "Winter course", DAY)
    assert all(path.is_file() for path in made)
    assert check_paths([tmp_path / "Winter course"]).findings == ()


def test_a_new_course_can_be_marked_locked_and_released(tmp_path: Path) -> None:
    root = tmp_path / "course"
    new_course(root, DAY)
    for who, device in (("A1", "d7h2k"), ("A2", "a2a2a")):
        desk = open_desk(root, who, device=device)
        assert desk.today() >= "2026"
        for task in ("T1", "T2"):
            for slot in desk.mine(task):
                sheet = desk.slot(task, slot.candidate)
                for criterion in sheet.criteria:
                    sheet.score(criterion, 3)
                sheet.lock()
        assert desk.close()
    course = root / "course.yaml"
    text = course.read_text(encoding="utf-8")
    released = text.replace("events: []", 'events:\n- {day: 1, at: "16:00", kind: release, by: D1, to: assessors}')
    assert released != text
    course.write_text(released, encoding="utf-8")
    for _, modules in open_desk(root, "A1").outcomes().candidates:
        assert {name: found.outcome for name, found in modules.items()} == {"demo": "passed", "teach": "passed"}


def test_a_new_rubric_passes_check_and_only_asks_for_a_band(tmp_path: Path) -> None:
    new_rubric(tmp_path / "r-1.yaml")
    report = check_paths([tmp_path / "r-1.yaml"])
    assert report.clean and [problem.what for problem in report.findings if "band" not in problem.what] == []


def test_a_new_round_passes_check_without_a_doubt_and_can_be_marked(tmp_path: Path) -> None:
    from tests.courses import open_desk

    root = tmp_path / "Autumn 2027"
    made = new_round(root, DAY)
    assert [file.name for file in made] == ["first-rubric@629fabae.yaml", "people.yaml", "round.yaml"]
    assert check_paths([root]).findings == ()
    desk = open_desk(root, "A1")
    assert desk.course.id == "Autumn-2027" and len(desk.course.allocation) == 16
    sheet = desk.slot("T2", "L05")
    sheet.score("explain", 3)
    sheet.score("change", 3)
    sheet.lock()
    assert desk.close()
    with pytest.raises(Refusal):
        new_round(root, DAY)


def test_a_new_quality_file_passes_check_in_a_course_and_beside_one_and_is_due_in_a_year(tmp_path: Path) -> None:
    from assess.store.quality_files import quality_of

    new_course(tmp_path / "course", DAY)
    for folder in (tmp_path / "course", tmp_path):
        [made] = new_quality(folder, DAY)
        assert check_paths([made], "D1").findings == ()
        place = quality_of(tmp_path / "course")
        assert place is not None and place.folder == folder and place.quality.due == date(2028, 2, 3)
        made.unlink()
    assert check_paths([tmp_path / "course"]).findings == ()


def test_the_examples_in_a_new_quality_file_are_good_ones(tmp_path: Path) -> None:
    from assess.store.quality_files import read_quality

    [made] = new_quality(tmp_path, DAY)
    lines = made.read_text(encoding="utf-8").replace(": []", ":").split("\n")
    shown = [line[2:] if line.startswith(("# - ", "#   ", "#    ")) else line for line in lines]
    made.write_text("\n".join(shown), encoding="utf-8")
    quality = read_quality(made).quality
    assert check_paths([made]).findings == ()
    assert [len(part) for part in (quality.reviews, quality.pass_lines, quality.threats)] == [1, 1, 1]
    assert len(quality.reviews[0].actions) == 2 and quality.open_threats == ()


def test_a_quality_file_has_one_name_and_takes_the_place_of_nothing(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no folder"):
        new_quality(tmp_path / "plan.yaml", DAY)
    new_quality(tmp_path / "quality.yaml", DAY)
    before = tree(tmp_path)
    with pytest.raises(Refusal, match="there already"):
        new_quality(tmp_path, DAY)
    assert tree(tmp_path) == before


def test_a_new_lesson_passes_check_and_can_be_read(tmp_path: Path) -> None:
    from assess.desk.lessons import lessons_read

    new_lesson(tmp_path / "evening.1.yaml")
    assert check_paths([tmp_path / "evening.1.yaml"]).findings == ()
    [read] = lessons_read(tmp_path / "evening.1.yaml").readings
    assert (read.lesson, read.diagnosis.recall, read.change.verdict) == ("evening-1-1", 1.0, "improved")
    with pytest.raises(Refusal, match="is there already"):
        new_lesson(tmp_path / "evening.1.yaml")


@pytest.mark.parametrize("name", ["r 1.yaml", "r-1", "r-1.yml", "..yaml", "ä.yaml", "x" * 41 + ".yaml"])
def test_a_name_no_rubric_can_have_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(UsageError, match="is no name of a rubric file"):
        new_rubric(tmp_path / name)
    assert tree(tmp_path) == {}


@pytest.mark.parametrize("name", ["Winter 27", "a" * 40, "-x-", "ünïçode", "...", "K-2027-01"])
def test_a_course_gets_an_id_whatever_its_folder_is_called(name: str) -> None:
    assert is_short_id(course_id(name))
    assert course_id("K-2027-01") == "K-2027-01" and course_id("...") == "COURSE-1"


def test_nothing_that_is_there_is_touched(tmp_path: Path) -> None:
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine.txt").write_text("mine")
    (tmp_path / "r-1.yaml").write_text("mine")
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    before = tree(tmp_path)
    for path in (tmp_path / "full", tmp_path / "r-1.yaml", tmp_path / "link"):
        with pytest.raises(Refusal, match="is there already"):
            new_course(path, DAY)
    with pytest.raises(Refusal, match="is there already"):
        new_rubric(tmp_path / "r-1.yaml")
    assert tree(tmp_path) == before


def test_an_empty_folder_becomes_the_course(tmp_path: Path) -> None:
    (tmp_path / "course").mkdir()
    new_course(tmp_path / "course", DAY)
    assert check_paths([tmp_path / "course"]).clean


def test_a_folder_that_cannot_be_made_is_told_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(StorageTrouble, match="cannot be written"):
        new_course(tmp_path / "file" / "course", DAY)
