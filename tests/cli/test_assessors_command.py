"""`assess assessors`: the list of a director, one page, one's own page, the document, the exit codes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.commands import ROOT, assess
from tests.desk.rater_courses import lock_sheets, marked_course

SAMPLE = ROOT / "sample_sessions" / "course"
NEVER = "Never a sanction from one number: a reason to look together, and to talk when the next course shows the same."


@pytest.fixture(autouse=True)
def state(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Nobody is remembered here."""
    monkeypatch.setenv("ASSESS_STATE_DIR", str(tmp_path / "state"))


def words(text: str) -> str:
    return " ".join(text.split())


def test_a_director_sees_a_line_and_a_sentence_for_each_assessor_and_a_picture() -> None:
    ran = assess("assessors", SAMPLE, "--as", "D1")
    assert ran.code == 0 and ran.err == ""
    said = words(ran.out)
    # Whether a licence still holds depends on the day of reading; its end does not.
    assert re.search(r"A3 Sten Ardow, [^,]*2026-10-31, 28 sheets severity -0\.45, -0\.6", said)
    assert "About half a level harder than the group, more than chance makes likely." in said
    assert "A2, one digit across a sheet: Shown in K-2026-01: wait for the next course." in said
    assert said.endswith(NEVER)
    picture = [
        line for line in ran.out.splitlines() if line.strip().startswith(("A1 ", "A2 ", "A3 ", "A4 ")) and "|" in line
    ]
    assert len(picture) == 4 and all(line.count("o") == 1 for line in picture)
    # Harder is to the left of the group, milder to the right.
    assert [line.index("o") < line.index("|") for line in picture] == [False, False, True, False]
    assert all(len(line) <= 79 for line in ran.out.splitlines())


def test_one_page_has_every_effect_with_what_helps_where_there_is_something_to_look_at() -> None:
    ran = assess("assessors", SAMPLE, "--as", "D1", "--assessor", "A2")
    assert ran.code == 0
    assert ran.out.index("One digit across a sheet: look") < ran.out.index("Beside the group: nothing to say")
    said = words(ran.out)
    assert "One digit for everything stands on 24 of A2's 27 sheets, and on 22 of 100 of partners'" in said
    assert "What helps: Write the observation before the digit, one criterion at a time." in said
    assert "With each place further back A2 gives 0.06 of a level less" in said and "which may be nothing" in said
    assert "1: 0, 2: 1, 3: 16, 4: 51, 5: 39, 6: 1" in said
    assert "A2's marks scatter less than the model of the whole course foresees" in said
    # What cannot be told of several effects is said once.
    assert said.count("Measured against partners: what both do alike is not seen") == 1
    assert said.endswith(NEVER)


def test_an_assessor_is_spoken_to_and_sees_nobody_else() -> None:
    ran = assess("assessors", SAMPLE, "--as", "A2")
    said = words(ran.out)
    assert ran.code == 0 and said.endswith(NEVER)
    assert "You mark about a quarter of a level milder than the group" in said
    assert not any(name in ran.out for name in ("A1", "A3", "A4", "Ardow", "Hallam", "Kolsen"))
    assert "One digit across a sheet: Shown in K-2026-01: wait for the next course." in said


def test_refusals_are_results_and_nothing_is_printed() -> None:
    for more, code, told in (
        ((), 1, "say who you are with --as"),
        (("--as", "A2", "--assessor", "A1"), 1, "an assessor sees only their own page"),
        (("--as", "D1", "--assessor", "A9"), 2, "A9 is no assessor of these courses; use one of A1, A2, A3, A4"),
        (("--as", "X1"), 2, "X1 is nobody of this course"),
    ):
        ran = assess("assessors", SAMPLE, *more)
        assert (ran.code, ran.out) == (code, "") and told in ran.err, more
        assert (assess("assessors", SAMPLE, *more, "--json").code) == code


def test_between_the_candidates_of_a_task_the_reason_is_told(tmp_path: Path) -> None:
    root = marked_course(tmp_path / "course", tasks=("T1",))
    assert assess("assessors", root, "--as", "A1").code == 0
    lines = (root / "course.yaml").read_text("utf-8")
    assert "T2" not in lines
    task = "- {id: T1, area: demo, day: 1}\n"
    slots = "".join(
        f"- {{task: T2, order: {n}, candidate: C0{n}, assessors: [A1, A2]}}\n" for n in (1, 2)
    )  # fmt: skip
    lines = lines.replace(task, task + task.replace("T1", "T2")).replace("allocation:\n", f"allocation:\n{slots}")
    (root / "course.yaml").write_text(lines, "utf-8")
    assert assess("assessors", root, "--as", "A1").code == 0
    lock_sheets(root, "A1", "T2", candidates=range(1, 2))
    ran = assess("assessors", root, "--as", "A1")
    assert ran.code == 1 and "T2 is begun, 1 of your 2 sheets are locked" in ran.err and ran.out == ""
    assert assess("assessors", root, "--as", "A2").code == 0


def test_the_document_is_the_same_whatever_order_the_courses_come_in(tmp_path: Path) -> None:
    one = marked_course(tmp_path / "one", tasks=("T1",), flat="A2")
    found = assess("assessors", one, SAMPLE, "--as", "D1", "--json")
    other = assess("assessors", SAMPLE, one, "--as", "D1", "--json")
    assert found.code == other.code == 0 and found.json["courses"] == other.json["courses"]
    assert found.json["advice"] == other.json["advice"]
    assert [course["course"] for course in found.json["courses"]] == ["K-2026-01", "K-TEST"]
    assert set(found.json) == {"courses", "together", "advice", "never", "warnings", "own", "about", "told"}


def test_what_is_no_course_folder_is_unusable(tmp_path: Path) -> None:
    table = tmp_path / "scores.csv"
    table.write_text("candidate,assessor,score\nC1,A1,3\n")
    ran = assess("assessors", table, "--as", "D1")
    assert ran.code == 3 and ran.out == "" and "assess import" in ran.err
    assert assess("assessors", tmp_path / "nowhere", "--as", "D1").code == 3
