"""The folder of a season: read as a course of films, every misfit told with its line, merged."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assess.records.errors import InputError
from assess.store.merge import merge
from assess.store.round_folder import load_folder
from tests.seasons import build_season, mark_film


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_season(tmp_path / "season")


def test_a_season_reads_as_a_course_whose_candidates_are_films(root: Path) -> None:
    folder = load_folder(root)
    assert folder.problems == () and folder.season is not None and folder.round is None
    assert folder.course.candidates == ("F1", "F2") and folder.course.directors == ()
    assert [(slot.task, slot.candidate, slot.assessors, slot.day) for slot in folder.course.allocation] == [
        ("T5", "F1", ("TR", "M1"), 1),
        ("T5", "F2", ("TR", "M1"), 2),
    ]
    assert [(film.name, film.bib) for film in folder.people.candidates] == [("Lesson 1", 1), ("Lesson 2", 2)]


def test_a_film_may_have_other_mentors_than_the_season(tmp_path: Path) -> None:
    root = build_season(tmp_path / "season", mentors=("M1", "M2"))
    file = root / "season.yaml"
    file.write_text(file.read_text().replace('title: "Lesson 2",', 'title: "Lesson 2", mentors: [M2],'))
    folder = load_folder(root)
    assert folder.problems == ()
    assert [slot.assessors for slot in folder.course.allocation] == [("TR", "M1", "M2"), ("TR", "M2")]


ACTION = '{{id: {}, behaviour: "one word", how: "counted", checked_by: {}, remeasure_on: "2026-02-01"{}}}'


@pytest.mark.parametrize(
    ("old", "new", "line", "what"),
    [
        ("mentors: [M1]", "mentors: [M1, TR]", 9, "`TR` is the trainee"),
        ("mentors: [M1]", "mentors: [M1, M1]", 9, "the id `M1` stands twice"),
        ("area: teach", "area: flying", 6, "has no area `flying`"),
        ("id: F2", "id: F1", 12, "the id `F1` stands twice"),
        ("id: F2", "id: M1", 12, "the id `M1` stands twice"),
        ('"Lesson 2", task: T5', '"Lesson 2", task: T1', 12, "no lesson `T1` in area `teach`"),
        ('title: "Lesson 2",', 'title: "Lesson 2", mentors: [M9],', 12, "`M9` is no mentor"),
        ('date: "2026-01-14"', 'date: "2026-02-30"', 12, "2026-02-30"),
        ("rubric: {id: r-2026.2, sha256: ", "rubric: {id: r-9, sha256: ", 7, "is rubric `r-2026.2`, not `r-9`"),
    ],
)
def test_every_misfit_is_told_with_its_line(root: Path, old: str, new: str, line: int, what: str) -> None:
    file = root / "season.yaml"
    assert file.read_text().count(old) == 1
    file.write_text(file.read_text().replace(old, new))
    try:
        found = list(load_folder(root).problems)
    except InputError as error:
        found = error.problems
    assert (line, True) in [(problem.line, what in problem.what) for problem in found], found


@pytest.mark.parametrize(
    ("actions", "what"),
    [
        ((("a1", "TR", ""), ("a2", "M1", ""), ("a3", "M1", "")), "more than 2 actions are open"),
        ((("a1", "TR", ""), ("a1", "M1", "")), "the id `a1` stands twice"),
        ((("a1", "M7", ""),), "`M7` is neither the trainee nor a mentor"),
        ((("a1", "TR", ""), ("a2", "M1", ', closed_on: "2026-02-02", result: "done"'), ("a3", "M1", "")), ""),
    ],
)
def test_at_most_two_actions_are_open(tmp_path: Path, actions: tuple[tuple[str, str, str], ...], what: str) -> None:
    more = ["actions:", *(f"- {ACTION.format(*action)}" for action in actions)]
    said = [problem.what for problem in load_folder(build_season(tmp_path / "s", more=more)).problems]
    assert said == ([what] if what else [])


def test_copies_from_several_devices_are_merged(root: Path, tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    for copy in (one, two):
        shutil.copytree(root, copy)
    mark_film(one, "TR", "F1", (3, 4, 4, 5))
    mark_film(two, "M1", "F1", (2, 4, 3, 4))
    newer = (two / "season.yaml").read_text().replace("revision: 1", "revision: 2")
    (two / "season.yaml").write_text(newer)
    merge(root, [two, one])
    merge(one, [root])
    assert {file.name for file in (root / "sheets").iterdir()} == {"T5.F1.TR.ttt.yaml", "T5.F1.M1.m1m.yaml"}
    assert (one / "season.yaml").read_text() == newer == (root / "season.yaml").read_text()
    assert [problem for problem in load_folder(root).problems if not problem.doubt] == []


def test_people_and_candidates_who_do_not_fit_are_told(root: Path) -> None:
    file = root / "people.yaml"
    text = file.read_text().replace("candidates: []", "candidates: [{id: C1, name: X, bib: 1}]")
    file.write_text(text.replace("- {id: M1, name: Person M1}\n", ""))
    said = [(p.file, p.what) for p in load_folder(root).problems]
    assert said == [
        ("people.yaml", "a season has films and no candidates; these are not read"),
        ("people.yaml", "`M1` of season.yaml is missing here"),
    ]
