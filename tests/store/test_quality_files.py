"""Quality and groups files on disk: which courses they cover, what is wrong in them, and what of them is kept."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from assess.records.errors import InputError
from assess.store.quality_files import groups_problems, quality_of, quality_problems, read_groups, read_quality
from tests.courses import build_course

PLAN = """\
# assess quality 1
interval_months: 12
first_due: 2025-10-01
"""
PASS_LINE = """\
- rubric: r-2026.1
  line: "3.5"
  method: contrasting groups
  panel: [D1, three assessors]
  days: [2025-06-01]
  rounds: 2
  approved_by: board
  approved_on: 2025-07-01
"""
GROUPS = """\
# assess groups 1
asked: "by form, after the decision; it may be left out"
persons:
- {id: p1, attempts: [K-1/C01, K-2/C05], groups: {first-language: secret-label}}
- {id: p2, attempts: [K-1/C02], groups: {first-language: another}}
"""


def written(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_a_file_in_the_course_folder_covers_it(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course")
    written(root / "quality.yaml", PLAN)
    place = quality_of(root)
    assert place is not None
    assert place.courses == (root,)


def test_a_file_beside_courses_covers_all_of_them_or_those_it_names(tmp_path: Path) -> None:
    one, two = (build_course(tmp_path / name) for name in ("one", "two"))
    written(tmp_path / "quality.yaml", PLAN)
    for root in (one, two):
        place = quality_of(root)
        assert place is not None and place.courses == (one, two)
    written(tmp_path / "quality.yaml", PLAN + "courses: [two]\n")
    assert quality_of(one) is None
    assert quality_of(two) is not None


def test_the_course_may_be_named_by_a_path_that_does_not_show_its_parent(tmp_path: Path, monkeypatch) -> None:
    root = build_course(tmp_path / "one")
    written(tmp_path / "quality.yaml", PLAN + "courses: [one]\n")
    monkeypatch.chdir(root)
    assert quality_of(Path(".")) is not None


def test_something_else_of_that_name_around_a_course_is_left_alone(tmp_path: Path) -> None:
    root = build_course(tmp_path / "one")
    assert quality_of(root) is None
    written(tmp_path / "quality.yaml", "steps: [build, test]\n")
    assert quality_of(root) is None
    (tmp_path / "quality.yaml").unlink()
    os.mkfifo(tmp_path / "quality.yaml")
    assert quality_of(root) is None


def test_in_the_course_folder_it_must_be_one(tmp_path: Path) -> None:
    root = build_course(tmp_path / "one")
    written(root / "quality.yaml", "steps: [build, test]\n")
    with pytest.raises(InputError, match="# assess quality 1"):
        quality_of(root)


def test_every_problem_has_its_line(tmp_path: Path) -> None:
    path = written(tmp_path / "quality.yaml", PLAN.replace("2025-10-01", "2025-02-30") + "interval: 3\n")
    with pytest.raises(InputError) as caught:
        read_quality(path)
    assert [(problem.line, problem.what.split("`")[1]) for problem in caught.value.problems] == [
        (3, "first_due"),
        (4, "interval"),
    ]


def test_folders_that_are_no_course_and_lines_recorded_twice_are_named(tmp_path: Path) -> None:
    build_course(tmp_path / "one")
    text = PLAN + "courses: [one, gone]\npass_lines:\n" + PASS_LINE + PASS_LINE.replace("2025-07-01", "2025-05-01")
    place = read_quality(written(tmp_path / "quality.yaml", text))
    assert [(problem.line, problem.doubt) for problem in quality_problems(place)] == [
        (4, False),
        (14, False),
        (21, True),
    ]
    assert place.courses == (tmp_path / "one",)


def test_one_person_and_one_attempt_stand_once(tmp_path: Path) -> None:
    doc, groups = read_groups(written(tmp_path / "groups.yaml", GROUPS))
    assert groups_problems(doc, groups) == []
    twice = GROUPS + "- {id: p2, attempts: [K-1/C01], groups: {}}\n"
    doc, groups = read_groups(written(tmp_path / "groups.yaml", twice))
    assert [problem.line for problem in groups_problems(doc, groups)] == [6, 6]


def test_no_problem_of_a_groups_file_quotes_a_label_and_no_cache_keeps_it(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setenv("ASSESS_CACHE_DIR", str(tmp_path / "cache"))
    read_groups(written(tmp_path / "groups.yaml", GROUPS))
    read_quality(written(tmp_path / "quality.yaml", PLAN))
    kept = b"".join(path.read_bytes() for path in (tmp_path / "cache").rglob("*") if path.is_file())
    assert b"first_due" in kept
    assert b"secret-label" not in kept
    broken = GROUPS.replace("secret-label}", "secret-label, x: [secret-label]}").replace("K-2/C05", "secret")
    with pytest.raises(InputError) as caught:
        read_groups(written(tmp_path / "groups.yaml", broken))
    assert len(caught.value.problems) == 2
    assert "secret" not in str(caught.value)
