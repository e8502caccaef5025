"""Odd practice files through `lesson` and `check`: a sentence with its line, or the reading with its reason."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.catalogue_maker import LESSONS, line_of, write_catalogue, write_lessons
from tests.cli.commands import Ran, assess
from tests.cli.test_lesson_commands import side

DRILLS = LESSONS[LESSONS.index("    drills:\n") : LESSONS.index("    flow:")]
MEASURED = "runs: [[5, 6, 5, 4, 6]]"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_catalogue(tmp_path / "catalogue")
    return tmp_path


def spoil(folder: Path, old: str = "", new: str = "") -> Path:
    return write_lessons(folder / "lessons.yaml", old, new)


def read(file: Path) -> dict[str, Any]:
    """The one lesson of the file, read in words and in JSON without a fault of the program."""
    words, data = assess("lesson", file), assess("lesson", file, "--json")
    assert (words.code, words.err, data.code, data.err) == (0, "", 0, "")
    lessons: list[dict[str, Any]] = json.loads(data.out, parse_constant=no_number)["lessons"]
    assert len(lessons) == 1
    return lessons[0]


def no_number(word: str) -> None:
    """NaN and Infinity are no JSON."""
    raise AssertionError(word)


def told(lesson: dict[str, Any]) -> list[str]:
    return [line for part in lesson.values() if isinstance(part, dict) for line in part["why"]]


def plain(ran: Ran) -> None:
    assert "Traceback" not in ran.out + ran.err and "fault of the program" not in ran.err


REFUSED = [
    ("slope: 8, snow", "slope: 95, snow", "slope: 95", "must be at most 60"),
    ("slope: 8, snow", "slope: -3, snow", "slope: -3", "must be at least 0"),
    ("slope: 8, snow", "slope: .inf, snow", "slope: .inf", "not a number a record can hold"),
    ("{t: 4, do: drill", "{t: -4, do: drill", "t: -4", "must be at least 0"),
    ("practice_min: 5", "practice_min: -5", "practice_min: -5", "must be at least 0"),
    ("talk: 5", "talk: -5", "talk: -5", "must be at least 0"),
    ("minutes: 20", "minutes: -20", "minutes: -20", "must be more than 0"),
    ("minutes: 20", "minutes: twenty", "minutes: twenty", "valid number"),
    ("minutes: 20", "minutes: .nan", "minutes: .nan", "not a number a record can hold"),
    ("    target: ada", "    target: eve", "reference:", "target eve is none of the learners: ada, ben"),
    ("managed: [X-cold]", "managed: [X-cold", "    drills:", "a list in brackets is not closed"),
    ("ended_for_safety: null", "ended_for_safety: {minute: 12, why: fog}", "ended_for_safety", "judged"),
    (MEASURED, "runs: [[5, 6, x, 4, 6]]", "[[5, 6, x", "valid number"),
    (MEASURED, "runs: [[]]", "runs: [[]]", "too few items"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "words"), REFUSED, ids=[row[1] for row in REFUSED])
def test_what_cannot_be_is_a_sentence_with_its_line_and_no_reading(
    folder: Path, old: str, new: str, line: str, words: str
) -> None:
    file = spoil(folder, old, new)
    for more in ((), ("--json",)):
        ran = assess("lesson", file, *more)
        assert (ran.code, ran.out) == (3, "")
        assert f"{file}:{line_of(file, line)}: " in ran.err and words in ran.err
        plain(ran)
    checked = assess("check", file)
    assert checked.code == 1 and f"{file}:{line_of(file, line)}: " in checked.out and words in checked.out


UNKNOWN = [
    ("fault: stiff, role: root", "fault: stif, role: root", "stif is no fault", "did you mean stiff?"),
    ("{id: bounce, slope", "{id: bounse, slope", "bounse is no drill", "did you mean bounce?"),
    ("snow: firm, n: 4, practice_min: 4", "snow: frm, n: 4, practice_min: 4", "frm is no snow", "did you mean firm?"),
    ("hazards_handled: [fence]", "hazards_handled: [fense]", "fense is no hazard", "did you mean fence?"),
    ("role: root, learner: ada", "role: root, learner: adda", "adda is none of the learners", "did you mean ada?"),
    ("managed: [X-cold]", "managed: [X-kold]", "X-kold is no cause outside", "did you mean X-cold?"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "sentence", "hint"), UNKNOWN, ids=[row[2] for row in UNKNOWN])
def test_an_id_nobody_knows_is_told_beside_the_readings_and_found_by_check(
    folder: Path, old: str, new: str, sentence: str, hint: str
) -> None:
    file = spoil(folder, old, new)
    lesson = read(file)
    assert any(line.startswith(sentence) for line in told(lesson))
    assert lesson["safety"]["value"] is not None and lesson["change"]["verdict"] == "improved"
    checked = assess("check", file)
    assert checked.code == 1 and f"{file}:{line_of(file, new)}: " in checked.out and hint in checked.out


def test_a_lesson_with_no_drills_has_the_other_readings_and_says_why_two_are_missing(folder: Path) -> None:
    file = spoil(folder, DRILLS, "    drills: []\n")
    lesson = read(file)
    for part in ("drill_fit", "progression"):
        assert lesson[part]["value"] is None
        assert lesson[part]["void"] == "not judged: no drill of technique was recorded"
    assert lesson["diagnosis"]["score"] == 1 and lesson["safety"]["value"] == 1
    assert "not judged: no drill of technique was recorded" in assess("lesson", file).out


def test_a_learner_without_a_reference_is_not_compared_with_anybody(folder: Path) -> None:
    lesson = read(spoil(folder, "    target: ada", "    target: ben"))
    assert lesson["diagnosis"]["score"] is None and lesson["drill_fit"]["value"] is None
    assert lesson["diagnosis"]["void"].startswith("nobody on the panel diagnosed this learner")
    assert lesson["progression"]["value"] is not None and lesson["change"]["verdict"] == "improved"


def test_without_hazards_their_recall_is_null_and_the_reason_is_told(folder: Path) -> None:
    lesson = read(spoil(folder, "[{id: fence, w: 2, crit: true}]", "[]"))
    assert lesson["safety"]["hazard_recall"] is None and lesson["safety"]["value"] == 1
    assert any("no hazard was listed" in line for line in told(lesson))


@pytest.mark.parametrize("judged", ["rightly", "wrongly", "open"])
def test_a_lesson_ended_for_safety_keeps_diagnosis_and_safety_and_gives_the_assessors_word(
    folder: Path, judged: str
) -> None:
    file = spoil(folder, "ended_for_safety: null", f"ended_for_safety: {{minute: 12, why: fog, judged: {judged}}}")
    lesson = read(file)
    for part in ("drill_fit", "progression"):
        assert lesson[part]["value"] is None and lesson[part]["void"].startswith("not judged: ended for safety")
        assert lesson[part]["void"].endswith(judged)
    assert (lesson["change"]["verdict"], lesson["change"]["delta"]) == ("too few", None)
    assert lesson["diagnosis"]["score"] == 1 and lesson["safety"]["value"] == 1


def test_minutes_that_do_not_add_up_are_told_and_everything_is_read(folder: Path) -> None:
    file = spoil(folder, "talk: 5", "talk: 15")
    lesson = read(file)
    assert any(line.startswith("inconsistent: talk, practice") for line in told(lesson))
    assert lesson["progression"]["value"] is not None
    assert assess("check", file).code == 0 and "look: P1-a: talk" in assess("check", file).out


NUMBERS = ["0", "1.0e+30", "-1.0e+300", "1.7e+308", "1.0e-300"]


@pytest.mark.parametrize("number", NUMBERS)
@pytest.mark.parametrize("place", [MEASURED, "value: 4,", "untaught_change: 0", "w: 2, crit"])
def test_a_number_out_of_all_bounds_is_never_a_fault_of_the_program(folder: Path, number: str, place: str) -> None:
    new = {
        MEASURED: f"runs: [[{number}, {number}, 5, 4, 6]]", "value: 4,": f"value: {number},",
        "untaught_change: 0": f"untaught_change: {number}", "w: 2, crit": f"w: {number}, crit",
    }[place]  # fmt: skip
    ran = assess("lesson", spoil(folder, place, new), "--json")
    plain(ran)
    assert ran.code in (0, 3)
    if ran.code == 0:
        read(folder / "lessons.yaml")


def test_a_measured_value_that_cannot_be_right_is_told(folder: Path) -> None:
    lesson = read(spoil(folder, MEASURED, "runs: [[1.0e+30, 6, 5, 4, 6]]"))
    assert lesson["change"]["verdict"] == "not comparable"
    assert "1e+30 after cannot be right" in lesson["change"]["void"]


@given(st.data())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_value_anywhere_ends_in_a_reading_or_a_sentence_with_a_line(folder: Path, data: st.DataObject) -> None:
    """One word or number of the file replaced by something else."""
    lines = LESSONS.split("\n")
    number = data.draw(st.integers(1, len(lines) - 2))
    key, colon, _ = lines[number].partition(": ")
    value = data.draw(st.sampled_from(["null", "[]", "{}", "-1", "1.0e+300", "true", "zz", "'a b'", "[[]]", "95", "0"]))
    lines[number] = f"{key}{colon or ': '}{value}"
    file = folder / "lessons.yaml"
    file.write_text("\n".join(lines), encoding="utf-8")
    for ran in (assess("lesson", file, "--json"), assess("check", file)):
        plain(ran)
        assert ran.code in (0, 1, 3)
        if ran.code == 3:
            assert f"{file}:" in ran.err and ran.out == ""


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "is none of the files of this program"), (b"\xff\xfe\x00a", "is none of the files of this program"),
        (b"# assess lesson 1\n- a\n", "no `key: value` lines"),
        (b"# assess lesson 9\nscenarios: []\n", "newer version"),
        (b"# assess lesson 1\nscenarios: 3\n", "scenarios"), (b"# assess course 1\nid: x\n", ""),
    ],
)  # fmt: skip
def test_a_file_that_is_no_practice_file_is_refused_in_words(folder: Path, raw: bytes, words: str) -> None:
    file = folder / "odd.yaml"
    file.write_bytes(raw)
    ran = assess("lesson", file)
    assert (ran.code, ran.out) == (3, "") and str(file) in ran.err and words in ran.err
    plain(ran)


def test_a_file_without_lessons_has_no_readings(folder: Path) -> None:
    (folder / "none.yaml").write_text("# assess lesson 1\nscenarios: []\n", encoding="utf-8")
    assert assess("lesson", folder / "none.yaml", "--json").json["lessons"] == []


def test_change_with_too_few_or_other_ground_says_why_and_no_number(tmp_path: Path) -> None:
    before = side(tmp_path, "before", [[68, 70, 66, 69], [71, 65, 70, 69]])
    for name, runs, slope, words in (
        ("two", [[52.0, 50.0]], 14.0, "2 values after"), ("none", [], 14.0, "not measured after"),
        ("steep", [[52.0, 50.0, 53.0, 49.0, 50.0]], 17.0, "not the same slope"),
    ):  # fmt: skip
        ran = assess("change", before, side(tmp_path, name, runs, slope), "--json")
        assert ran.code == 0 and words in ran.json["void"] and ran.json["delta"] is None


def test_change_without_its_files_names_them(tmp_path: Path) -> None:
    before = side(tmp_path, "before", [[68, 70, 66, 69, 70]])
    ran = assess("change", before, tmp_path / "gone.csv")
    assert ran.code == 3 and "gone.csv" in ran.err and "gone.yaml" in ran.err
    plain(ran)
