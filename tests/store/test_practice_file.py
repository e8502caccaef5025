"""Files of practice lessons: what is read, what is refused with which line, and the catalogue that belongs to them."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assess.records.errors import InputError
from assess.store.practice_file import activities, catalogue_for, read_practice
from tests.catalogue_maker import line_of, write_catalogue, write_lessons


def refused(tmp_path: Path, old: str, new: str) -> dict[str, int]:
    """Each sentence of the refusal with its line."""
    with pytest.raises(InputError) as caught:
        read_practice(write_lessons(tmp_path / "lessons.yaml", old, new))
    return {str(problem): problem.line for problem in caught.value.problems}


def test_a_file_is_read_with_the_line_of_every_place(tmp_path: Path) -> None:
    path = write_lessons(tmp_path / "lessons.yaml")
    file = read_practice(path)
    [scenario] = file.practice.scenarios
    assert [lesson.id for lesson in scenario.lessons] == ["P1-a"]
    assert scenario.lessons[0].safety.look_up == "done"
    assert scenario.lessons[0].outcome.before.values == (10, 11, 12, 10, 11)
    assert file.doc.line("scenarios", 0, "lessons", 0, "managed") == line_of(path, "managed:")


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("managed: [X-cold]", "manged: [X-cold]", "manged", "did you mean `managed`?"),
        ("slope: 8, snow", "slope: 95, snow", "slope: 95", "must be at most 60"),
        ("slope: 8, snow", "slope: -1, snow", "slope: -1", "must be at least 0"),
        ("{t: 4, do: drill", "{t: -4, do: drill", "t: -4", "must be at least 0"),
        ("{t: 0, do: ask}", "{t: 6, do: ask}", "- id: P1-a", "the minutes of events go back"),
        ("{t: 4, do: drill", "{t: 4, do: drll", "drll", "must be `ask`"),
        ("look-up: done", "look-up: seen", "look-up: seen", "must be `done`"),
        ("roots: [{id: stiff, w: 1}]", "roots: [{id: stiff, w: 0.7}]", "- id: ada", "roots must add up to 1"),
        ("    target: ada", "    target: eve", "reference:", "target eve is none of the learners: ada, ben"),
        ("[X-cold, stiff, late, slides]", "[stiff, late, stiff]", "- id: ada", "a chain comes back"),
        ("{ok: 3, of: 4}", "{ok: 5, of: 4}", "ok: 5", "5 of 4 tries cannot have worked"),
        ("retest_pairs: 12", "retest_pairs: 1", "retest_pairs: 1", "must be at least 2"),
        ("minutes: 20", "minutes: 0", "minutes: 0", "must be more than 0"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_its_line(tmp_path: Path, old: str, new: str, line: str, words: str) -> None:
    said = refused(tmp_path, old, new)
    assert [where for sentence, where in said.items() if words in sentence] == [
        line_of(tmp_path / "lessons.yaml", line)
    ], said


def test_a_file_of_another_kind_or_of_a_newer_version_is_refused_in_its_first_line(tmp_path: Path) -> None:
    for first in ("# assess course 1", "# assess lesson 2"):
        assert list(refused(tmp_path, "# assess lesson 1", first).values()) == [1]


def test_a_lesson_without_drills_measures_or_named_faults_is_still_a_lesson(tmp_path: Path) -> None:
    path = write_lessons(tmp_path / "lessons.yaml", "runs: [[5, 6, 5, 4, 6]]", "runs: []")
    assert read_practice(path).practice.scenarios[0].lessons[0].outcome.after.values == ()


def test_the_catalogue_beside_a_file_or_above_it_belongs_to_it(tmp_path: Path) -> None:
    write_catalogue(tmp_path / "house" / "catalogue")
    path = tmp_path / "house" / "lessons" / "one.yaml"
    path.parent.mkdir()
    file = read_practice(write_lessons(path))
    assert catalogue_for(file.practice, path, tmp_path / "none").root == tmp_path / "house" / "catalogue"


def test_without_one_the_activity_that_knows_most_of_the_ids_is_taken(tmp_path: Path) -> None:
    rubrics = tmp_path / "rubrics"
    write_catalogue(rubrics / "b-knows" / "catalogue")
    other = write_catalogue(rubrics / "a-other" / "catalogue")
    for name in ("faults", "drills"):
        text = (other / f"{name}.yaml").read_text(encoding="utf-8")
        (other / f"{name}.yaml").write_text(text.replace("stiff", "wobble").replace("late", "early"), encoding="utf-8")
    assert [folder.parent.name for folder in activities(rubrics)] == ["a-other", "b-knows"]
    path = write_lessons(tmp_path / "lessons.yaml")
    assert catalogue_for(read_practice(path).practice, path, rubrics).root.parent.name == "b-knows"
    shutil.rmtree(rubrics / "b-knows")
    shutil.rmtree(rubrics / "a-other")
    with pytest.raises(InputError, match="no activity of this installation knows"):
        catalogue_for(read_practice(path).practice, path, rubrics)
