"""A course on disk: what is read, what is set aside, and a sentence for everything that does not fit."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from assess.records.errors import InputError, Problem
from assess.records.facts import AllocationChange, Breach, NamedFault, Observation, Score, Settled, SomeFact, Undo
from assess.store.course_folder import CourseFolder, load_course
from tests.store.course_maker import (
    COURSE,
    PEOPLE,
    REFERENCE,
    RUBRIC,
    RUBRIC_NAME,
    RUBRIC_SHA,
    heads,
    ledger_bytes,
    lock,
    make_course,
    other,
    put,
    scores,
    sheet,
)

SHEET = "sheets/T1.C01.A1.d7h2k.yaml"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return make_course(tmp_path / "k")


def told(root: Path) -> list[str]:
    return [str(problem) for problem in load_course(root).problems]


def test_a_sound_course_is_read_whole_and_without_a_problem(root: Path) -> None:
    put(root, sheet(), ledger_bytes(sheet(), scores(3, 4)))
    put(root, sheet(assessor="A2", device="m3npq"), ledger_bytes(sheet(assessor="A2", device="m3npq"), scores(3)))
    put(root, other("day", date="2027-02-03"), ledger_bytes(other("day", date="2027-02-03"), []))
    course = load_course(root)
    assert (course.problems, course.notes, course.aside, course.forks) == ((), (), (), ())
    assert course.course.id == "K-1"
    assert course.people.name("C02") == "Pia Lund"
    assert list(course.rubrics) == [REFERENCE]
    assert course.rubric_docs[REFERENCE].raw == RUBRIC
    assert [file.name for file in course.ledgers] == [
        "2027-02-03.D1.d31kq",
        "T1.C01.A1.d7h2k",
        "T1.C01.A2.m3npq",
    ]


def test_two_readings_of_the_same_bytes_are_equal(root: Path) -> None:
    put(root, sheet(), ledger_bytes(sheet(), scores(3, 9)))
    (root / "sheets" / "odd name.yaml").write_bytes(b"x")
    (root / "notes.txt").write_bytes(b"x")
    first, second = load_course(root), load_course(root)
    assert first.problems
    assert first.notes
    assert first == second


def test_every_unusable_file_is_named_at_once(root: Path) -> None:
    (root / "course.yaml").write_text(COURSE.replace("revision: 1", "revision: x"))
    (root / "people.yaml").write_text(PEOPLE.replace("# assess people 1\n", ""))
    (root / "sheets").mkdir()
    (root / "sheets" / "T1.C01.A1.d7h2k.yaml").write_bytes(b"")
    with pytest.raises(InputError) as caught:
        load_course(root)
    assert {problem.file for problem in caught.value.problems} == {"course.yaml", "people.yaml", SHEET}


@pytest.mark.parametrize("name", ["course.yaml", "people.yaml"])
@pytest.mark.parametrize("kind", ["missing", "pipe", "folder", "link out"])
def test_a_hand_edited_file_that_is_no_file_is_a_sentence(root: Path, name: str, kind: str) -> None:
    path = root / name
    outside = root.parent / "outside.yaml"
    outside.write_bytes(path.read_bytes())
    path.unlink()
    match kind:
        case "pipe":
            os.mkfifo(path)
        case "folder":
            path.mkdir()
        case "link out":
            path.symlink_to(outside)
    with pytest.raises(InputError) as caught:
        load_course(root)
    assert [problem.file for problem in caught.value.problems] == [name]


def test_what_is_no_folder_is_no_course(tmp_path: Path) -> None:
    for path in (tmp_path / "nothing", tmp_path / "file"):
        if path.name == "file":
            path.write_bytes(b"")
        with pytest.raises(InputError, match="is not a course folder; name one, or make it with `assess new course`"):
            load_course(path)


@pytest.mark.parametrize(
    ("change", "line", "what"),
    [
        (("2027-02-04", "2027-02-30"), 7, "the calendar has no day `2027-02-30`"),
        (('"+01:00"', '"+19:00"'), 6, "no place is that far from UTC"),
        (("[2027-02-03, 2027-02-04]", "[]"), 7, "the course has no day"),
    ],
)
def test_values_that_cannot_exist_make_the_course_unusable(
    tmp_path: Path, change: tuple[str, str], line: int, what: str
) -> None:
    root = make_course(tmp_path / "k", course=COURSE.replace(*change))
    with pytest.raises(InputError) as caught:
        load_course(root)
    assert str(caught.value).startswith(f"course.yaml:{line}: {what}")


# --- files ---------------------------------------------------------------------------------------


def test_links_pipes_and_folders_among_the_records_are_problems_and_never_read(root: Path) -> None:
    outside = root.parent / "outside.yaml"
    outside.write_bytes(ledger_bytes(sheet(), scores(3)))
    (root / "sheets").mkdir()
    (root / "sheets" / "T1.C01.A1.d7h2k.yaml").symlink_to(outside)
    os.mkfifo(root / "sheets" / "T1.C02.A1.d7h2k.yaml")
    (root / "sheets" / "T1.C03.A1.d7h2k.yaml").mkdir()
    (root / "sheets" / "T4.C01.A1.d7h2k.yaml").symlink_to(root / "nowhere")
    (root / "days").symlink_to(root.parent)
    (root / "seals").write_bytes(b"")
    course = load_course(root)
    assert course.ledgers == ()
    assert [str(problem).split(";")[0] for problem in course.problems] == [
        "days: the folder is a link, its files are not read",
        "seals: stands where a folder should be",
        f"{SHEET}: is a link that leads out of the course, and is not read",
        "sheets/T1.C02.A1.d7h2k.yaml: is not a plain file (a pipe, socket or device), and is not read",
        "sheets/T1.C03.A1.d7h2k.yaml: is a folder, not a file, and is not read",
        "sheets/T4.C01.A1.d7h2k.yaml: is a link that leads nowhere, and is not read",
    ]


def test_a_ledger_is_used_only_under_its_own_name_in_its_own_folder_and_course(root: Path) -> None:
    put(root, sheet(), ledger_bytes(sheet(course="K-2"), scores(3)))
    put(root, sheet(candidate="C02"), ledger_bytes(sheet(candidate="C03"), scores(3)))
    put(root, other("day", date="2027-02-03"), ledger_bytes(other("seal", date="2027-02-03"), []))
    course = load_course(root)
    assert course.ledgers == ()
    assert [str(problem).split(";")[0] for problem in course.problems] == [
        "days/2027-02-03.D1.d31kq.yaml:2: is a seal ledger and stands in `days`",
        f"{SHEET}:2: belongs to course `K-2`, not to `K-1`",
        "sheets/T1.C02.A1.d7h2k.yaml:2: is named `T1.C02.A1.d7h2k`, but its header says `T1.C03.A1.d7h2k`",
    ]


def test_a_copy_under_a_name_no_record_has_is_doubtful_and_other_files_are_only_noted(root: Path) -> None:
    put(root, sheet(), ledger_bytes(sheet(), scores(3)), suffix=" (1)")
    (root / "sheets" / "notes.txt").write_bytes(b"")
    (root / "README.md").write_bytes(b"")
    course = load_course(root)
    [problem] = course.problems
    assert problem.file == "sheets/T1.C01.A1.d7h2k (1).yaml"
    assert problem.doubt
    assert [note.file for note in course.notes] == ["README.md", "sheets/notes.txt"]


def test_names_that_are_not_utf_8_are_shown_safely(root: Path) -> None:
    (root / "sheets").mkdir()
    (root / "sheets" / os.fsdecode(b"caf\xe9.yaml")).write_bytes(b"")
    [problem] = load_course(root).problems
    str(problem).encode("utf-8")


def test_kept_aside_files_are_listed_and_never_used(root: Path) -> None:
    one, two = ledger_bytes(sheet(), scores(3)), ledger_bytes(sheet(), scores(4))
    put(root, sheet(), one)
    put(root, sheet(), two, suffix="~0123abcd")
    put(root, sheet(), two[:-3], suffix="~bad-4567abcd")
    (root / "sheets" / "T1.C01.A1.d7h2k.yaml.torn-1").write_bytes(b"- {")
    (root / "course~89abcdef.yaml").write_text(COURSE)
    course = load_course(root)
    assert [file.raw for file in course.ledgers] == [one]
    assert [file.raw for file in course.forks] == [two, two[:-3]]
    assert course.aside == (
        "course~89abcdef.yaml",
        "sheets/T1.C01.A1.d7h2k.yaml.torn-1",
        "sheets/T1.C01.A1.d7h2k~0123abcd.yaml",
        "sheets/T1.C01.A1.d7h2k~bad-4567abcd.yaml",
    )
    assert all(problem.doubt for problem in course.problems)
    assert [str(problem).split(",")[0] for problem in course.problems] == [
        "course~89abcdef.yaml: is another version of course.yaml",
        f"sheets/T1.C01.A1.d7h2k~0123abcd.yaml: is another version of {SHEET}",
        f"sheets/T1.C01.A1.d7h2k~bad-4567abcd.yaml: is a damaged version of {SHEET}",
    ]


def test_a_version_a_person_has_settled_is_not_reported_again_until_it_changes(root: Path) -> None:
    one, two = ledger_bytes(sheet(), scores(3)), ledger_bytes(sheet(), scores(4))
    put(root, sheet(), one)
    fork = put(root, sheet(), two, suffix="~0123abcd")
    settled = Settled(
        kept={"T1.C01.A1.d7h2k": heads(one)[-1]}, aside={f"sheets/{fork.name}": heads(two)[-1]}, reason="same slot"
    )
    day = other("day", date="2027-02-03")
    put(root, day, ledger_bytes(day, [settled]))
    assert told(root) == []
    fork.write_bytes(ledger_bytes(sheet(), scores(5)))
    assert len(told(root)) == 1


def test_a_damaged_ledger_is_read_up_to_the_damage_and_named_without_what_it_says(root: Path) -> None:
    raw = ledger_bytes(sheet(), [*scores(3), Observation(text="secret words"), *scores(5)])
    put(root, sheet(), raw.replace(b"secret words", b"altered words"))
    course = load_course(root)
    [file] = course.ledgers
    assert file.bad
    assert len(file.ledger.entries) == 1
    [problem] = course.problems
    assert (problem.file, problem.line) == (SHEET, 5)
    assert "words" not in str(problem)


# --- rubrics and pins --------------------------------------------------------------------------------


def test_an_edited_rubric_in_force_is_never_used(root: Path) -> None:
    (root / "rubrics" / RUBRIC_NAME).write_bytes(RUBRIC.replace(b"Long turns", b"Short turns"))
    course = load_course(root)
    assert course.rubrics == {}
    assert [str(problem) for problem in course.problems] == [
        f"rubrics/{RUBRIC_NAME}: a rubric in force was edited: its bytes are not those that are pinned; "
        "put the original back, or pin the new version for an area without sheets"
    ]


def test_a_pin_whose_file_begins_alike_but_is_another_is_unmet(root: Path) -> None:
    text = COURSE.replace(RUBRIC_SHA, RUBRIC_SHA[:8] + "0" * 56)
    (root / "course.yaml").write_text(text)
    assert any(f"course.yaml:9: the pinned rubric `rubrics/{RUBRIC_NAME}` is not there" in line for line in told(root))


def test_a_pin_without_its_file_names_the_file(root: Path) -> None:
    (root / "rubrics" / RUBRIC_NAME).unlink()
    course = load_course(root)
    assert [(problem.file, problem.line) for problem in course.problems] == [("course.yaml", 9), ("course.yaml", 10)]
    assert f"rubrics/{RUBRIC_NAME}" in str(course.problems[0])


def test_rubrics_no_pin_names_are_read_and_catalogues_passed_over(root: Path) -> None:
    from hashlib import sha256

    older = RUBRIC.replace(b"id: r-1", b"id: r-0")
    digest = sha256(older).hexdigest()
    (root / "rubrics" / f"r-0@{digest[:8]}.yaml").write_bytes(older)
    catalogue = b"# assess catalogue 1\nid: faults\n"
    (root / "rubrics" / f"faults@{sha256(catalogue).hexdigest()[:8]}.yaml").write_bytes(catalogue)
    (root / "rubrics" / "loose@00000000.yaml").write_bytes(older)
    course = load_course(root)
    assert sorted(rubric.id for rubric in course.rubrics.values()) == ["r-0", "r-1"]
    [problem] = course.problems
    assert problem.file == "rubrics/loose@00000000.yaml"
    assert problem.doubt


@pytest.mark.parametrize(
    ("old", "new", "line", "what"),
    [
        (b"criteria: [plan]", b"criteria: [plan, aim]", 11, "there is no criterion `aim` in this rubric"),
        (b"criteria: [plan]", b"criteria: [plan, plan]", 11, "criterion `plan` stands twice"),
        (b"tasks: [T4]", b"tasks: [T9]", 8, "there is no task `T9` in this rubric"),
        (b"{area: teach, tasks: [T4]}", b"{area: demo, tasks: [T4]}", 8, "of another area"),
        (b"closes: [teach]", b"closes: [safety]", 19, "there is no module `safety`"),
        (b'pass_line: "3.5"', b'pass_line: "7"', 6, "the pass line is outside the scale"),
        (b", 6: f}}\nareas", b"}}\nareas", 6, "the scale's words do not stand for each level once"),
        (b'turn"', b'turn"', 0, ""),
        (b"levels: {1: a, 6: f}}\n  line", b"levels: {0: a, 6: f}}\n  line", 13, "a level outside the scale"),
        (b'coverage: "0.75"', b'coverage: "0.75"\nruns: {T9: 2}', 17, "there is no task `T9`"),
        (b"min: 1, max: 6", b"min: 1, max: 1", 6, "the scale has no two levels"),
    ],
)
def test_cross_references_inside_a_rubric_are_checked(
    tmp_path: Path, old: bytes, new: bytes, line: int, what: str
) -> None:
    from hashlib import sha256

    rubric = RUBRIC.replace(old, new, 1)
    digest = sha256(rubric).hexdigest()
    root = make_course(tmp_path / "k", course=COURSE.replace(RUBRIC_SHA, digest))
    (root / "rubrics" / RUBRIC_NAME).write_bytes(rubric)
    (root / "rubrics" / RUBRIC_NAME).rename(root / "rubrics" / f"r-1@{digest[:8]}.yaml")
    problems = told(root)
    if not what:
        assert problems == []
    else:
        assert any(text.startswith(f"rubrics/r-1@{digest[:8]}.yaml:{line}: ") and what in text for text in problems)


# --- course.yaml and people.yaml ---------------------------------------------------------------------

SLOT = '- {task: T1, order: 3, at: "09:12", candidate: C03, assessors: [A1, A2]}'


@pytest.mark.parametrize(
    ("old", "new", "line", "what"),
    [
        ("candidates: [C01, C02, C03]", "candidates: [C01, C02, C03, C01]", 14, "the id `C01` stands twice"),
        ("assessors: [A1, A2, A3]\n", "assessors: [A1, A2, A3, c01]\n", 15, "`c01` differs from `C01` in case only"),
        ("directors: [D1]", "directors: [D1, C01]", 16, "the id `C01` stands twice"),
        ("candidates: [C01, C02, C03]", "candidates: [C01, C02, C03, 2027-02-03]", 14, "reads as a day"),
        ("- {id: T4, area", "- {id: T1-2, area: demo, day: 2}\n- {id: T4, area", 13, "second performance"),
        ("days: [2027-02-03, 2027-02-04]", "days: [2027-02-03, 2027-02-03]", 7, "the day `2027-02-03` stands twice"),
        ("days: [2027-02-03, 2027-02-04]", "days: [2027-02-04, 2027-02-03]", 7, "the days are not in order"),
        ("area: teach, day: 2}", "area: teach, day: 3}", 13, "the course has no day 3"),
        (
            "area: teach, rubric: r-1,",
            "area: lore, rubric: r-1,",
            13,
            "no rubric is in force for area `teach` on day 2",
        ),
        ("area: teach, rubric: r-1,", "area: lore, rubric: r-1,", 10, "no task is of area `lore`"),
        ("area: teach, rubric: r-1,", "area: demo, rubric: r-1,", 10, "area `demo` has two rubrics from day 1"),
        ("area: teach, rubric: r-1,", "area: teach, from_day: 5, rubric: r-1,", 10, "the course has no day 5"),
        ("area: teach, rubric: r-1,", "area: teach, rubric: r-7,", 10, "the pinned file is rubric `r-1`, not `r-7`"),
        ("area: teach, rubric: r-1,", "area: teach, by: A1, rubric: r-1,", 10, "`A1` is no director"),
        ("area: teach, rubric: r-1,", "area: teach, told_before: T9, rubric: r-1,", 10, "there is no task `T9`"),
        ("id: T4, area: teach", "id: T5, area: teach", 13, "rubric `r-1` has no task `T5`"),
        ("id: T4, area: teach", "id: T4, area: demo", 13, "in rubric `r-1` task `T4` is of area `teach`"),
        (SLOT, SLOT.replace("T1", "T9"), 20, "there is no task `T9`"),
        (SLOT, SLOT.replace("C03", "C09"), 20, "there is no candidate `C09`"),
        (SLOT, SLOT.replace("A2", "A9"), 20, "there is no assessor `A9`"),
        (SLOT, SLOT.replace("[A1, A2]", "[A1], shadows: [A9]"), 20, "there is no assessor `A9`"),
        (SLOT, SLOT.replace("}", ", learners: [L9]}"), 20, "there is no learner `L9`"),
        (SLOT, SLOT.replace("}", ", day: 9}"), 20, "the course has no day 9"),
        (SLOT, SLOT.replace("[A1, A2]", "[A1, A1]"), 20, "`A1` is in this slot twice"),
        (SLOT, SLOT.replace("[A1, A2]", "[A1], shadows: [A1]"), 20, "`A1` is in this slot twice"),
        (SLOT, SLOT.replace("[A1, A2]", "[]"), 20, "nobody marks this slot"),
        (SLOT, SLOT.replace("[A1, A2]", "[A1, A3]"), 20, "`A3` has declared a conflict with `C03`"),
        (SLOT, SLOT.replace("C03", "C02"), 20, "`C02` has task `T1` twice, first in line 19"),
        (SLOT, SLOT.replace("order: 3", "order: 2"), 20, "two candidates are in place 2 of task `T1`"),
        (SLOT, SLOT.replace("09:12", "09:06"), 20, "`A1` is in two slots at the same time, the other in line 19"),
        (SLOT, SLOT.replace("09:12", "09:08"), 20, "for `A2` this slot begins before the one in line 19 is over"),
        ("by: D1, to", "by: A1, to", 24, "a release without a director"),
        ("by: D1, to", "to", 24, "a release without a director"),
        ("by: D1, to: assessors", "by: D1", 24, "a release to nobody"),
        ("modules: [demo]", "modules: [demo, lore]", 24, "there is no module `lore`"),
        ("modules: [demo]", "candidates: [C09]", 24, "there is no candidate `C09`"),
        ("by: D1, to", "by: D9, to", 24, "there is nobody `D9`"),
        ("{day: 2, at", "{day: 8, at", 24, "the course has no day 8"),
    ],
)
def test_everything_the_course_names_must_be_there(tmp_path: Path, old: str, new: str, line: int, what: str) -> None:
    assert COURSE.count(old) == 1
    problems = told(make_course(tmp_path / "k", course=COURSE.replace(old, new)))
    assert any(text.startswith(f"course.yaml:{line}: ") and what in text for text in problems), problems


def test_an_assessor_may_direct_too_and_pairs_may_work_at_once(tmp_path: Path) -> None:
    course = COURSE.replace("directors: [D1]", "directors: [D1, A1]").replace(
        SLOT, SLOT.replace("09:12", "09:06").replace("[A1, A2]", "[]")
    )
    people = PEOPLE.replace("directors:\n", 'directors:\n- {id: A1, name: "Rhea Moss"}\n')
    problems = told(make_course(tmp_path / "k", course=course, people=people))
    assert [text.split(": ")[1] for text in problems] == ["nobody marks this slot; allocate an assessor"]


@pytest.mark.parametrize(
    ("old", "new", "line", "what"),
    [
        ('- {id: C02, name: "Pia Lund", bib: 21}\n', "", 3, "`C02` of course.yaml is missing here"),
        ('- {id: A2, name: "Sol Tarn"}\n', "", 7, "`A2` of course.yaml is missing here"),
        ("id: D1, name", "id: D2, name", 11, "`D1` of course.yaml is missing here"),
        ("id: D1, name", "id: D2, name", 12, "`D2` is not in course.yaml"),
        ("bib: 21", "bib: 20", 5, "`C01` wears the same bib"),
        ("learners:\n", 'learners:\n- {id: L1, alias: "blue"}\n', 15, "the id `L1` stands twice"),
        ("assessor: A3, candidate", "assessor: A9, candidate", 16, "there is nobody `A9`"),
        ("candidate: C03, why", "candidate: C09, why", 16, "there is nobody `C09`"),
        ("2027-01-10", "2027-01-32", 16, "the calendar has no day `2027-01-32`"),
        ("conflicts:", "consents:\n- {who: C09, film: true}\nconflicts:", 16, "there is nobody `C09`"),
    ],
)
def test_everybody_is_listed_once_with_a_bib_of_their_own(
    tmp_path: Path, old: str, new: str, line: int, what: str
) -> None:
    assert PEOPLE.count(old) == 1
    problems = told(make_course(tmp_path / "k", people=PEOPLE.replace(old, new)))
    assert any(text.startswith(f"people.yaml:{line}: ") and what in text for text in problems), problems


# --- sheets and days ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "what", "doubt"),
    [
        ({"task": "T9"}, "names task `T9`", False),
        ({"candidate": "C09"}, "names candidate `C09`", False),
        ({"assessor": "A9"}, "names assessor `A9`", False),
        ({"rubric": "sha256:" + "0" * 64}, "was marked on a rubric that is not in this course", False),
        ({"assessor": "A3"}, "`A3` is not allocated to this slot", True),
        ({"task": "T4", "candidate": "C03"}, "`C03` has no slot for task `T4` in the allocation", True),
    ],
)
def test_what_a_sheets_header_names_must_be_there(root: Path, header: dict[str, str], what: str, doubt: bool) -> None:
    about = sheet(**header)
    put(root, about, ledger_bytes(about, []))
    problems = load_course(root).problems
    assert any(
        (problem.file, problem.line, problem.doubt) == (f"sheets/{about.name}.yaml", 2, doubt) and what in problem.what
        for problem in problems
    ), problems


def test_a_shadow_a_second_performance_and_a_taken_over_slot_are_in_order(root: Path) -> None:
    for about in (sheet(candidate="C02", assessor="A3"), sheet(task="T1-2"), sheet(assessor="A3")):
        put(root, about, ledger_bytes(about, scores(3)))
    day = other("day", date="2027-02-03")
    change = AllocationChange(task="T1", candidate="C01", from_="A2", to="A3", reason="ill")
    put(root, day, ledger_bytes(day, [change]))
    assert told(root) == []


def test_a_pin_changed_after_the_first_sheet_is_a_problem_at_the_pin(root: Path) -> None:
    from hashlib import sha256

    newer = RUBRIC.replace(b"Long turns", b"Long, fast turns")
    digest = sha256(newer).hexdigest()
    (root / "rubrics" / f"r-1@{digest[:8]}.yaml").write_bytes(newer)
    (root / "course.yaml").write_text(COURSE.replace(RUBRIC_SHA, digest, 1))
    assert told(root) == []
    put(root, sheet(), ledger_bytes(sheet(), scores(3)))
    assert told(root) == [
        f"course.yaml:9: the pin of area `demo` was changed after its first sheet ({SHEET}); "
        "an area that has a sheet keeps its rubric: put the pin back"
    ]


SECRET = Observation(text="secret words", criteria=("edging",))


@pytest.mark.parametrize(
    ("fact", "what"),
    [
        (Score(criterion="plan", level=3), "scores a criterion that is not one of this task"),
        (Score(criterion="style", level=3), "scores a criterion the rubric does not have"),
        (Score(criterion="edging", level=77), "level outside the scale"),
        (Score(criterion="edging", status="scored"), "is a score without a level"),
        (Score(criterion="edging", status="not-observed", level=77), "has a level and says that none was given"),
        (Score(criterion="edging", level=3, evidence=(2,)), "names evidence that is not before it"),
        (Undo(of=2), "points to an entry that is not before it"),
        (Breach(must_not="other", what="secret words"), "names a must-not the rubric does not have"),
    ],
)
def test_an_entry_of_a_sheet_that_does_not_fit_is_named_without_level_or_text(
    root: Path, fact: SomeFact, what: str
) -> None:
    put(root, sheet(), ledger_bytes(sheet(), [SECRET, fact]))
    [problem] = load_course(root).problems
    assert problem == Problem(SHEET, 5, what, "settle it with the director; what is written stays")
    assert "77" not in str(problem)
    assert "secret" not in str(problem)


def test_what_was_taken_back_or_given_again_is_no_problem_any_more(root: Path) -> None:
    wrong: list[SomeFact] = [Score(criterion="edging", level=77), Score(criterion="style", level=3), Undo(of=2)]
    put(root, sheet(), ledger_bytes(sheet(), [*wrong, Score(criterion="edging", level=3), NamedFault(text="x")]))
    assert told(root) == []


@pytest.mark.parametrize("by", ["D1", "A1"])
def test_only_a_director_takes_a_slot_off_somebody(root: Path, by: str) -> None:
    day = other("day", date="2027-02-03", by=by)
    put(root, day, ledger_bytes(day, [AllocationChange(task="T1", candidate="C01", from_="A2", reason="ill")]))
    expected = [] if by == "D1" else [f"days/{day.name}.yaml:4: is an act of the director by somebody who is none"]
    assert [text.split(";")[0] for text in told(root)] == expected


def test_a_day_outside_the_course_is_doubtful(root: Path) -> None:
    day = other("day", date="2027-03-03")
    put(root, day, ledger_bytes(day, []))
    [problem] = load_course(root).problems
    assert problem.doubt


def test_a_locked_sheet_and_a_torn_one_are_read_to_their_last_whole_entry(root: Path) -> None:
    first = ledger_bytes(sheet(), scores(3))
    locked = ledger_bytes(sheet(), [*scores(3), lock(**{sheet().name: heads(first)[-1]})])
    put(root, sheet(), locked)
    put(root, sheet(candidate="C02"), ledger_bytes(sheet(candidate="C02"), scores(3, 4))[:-9])
    course: CourseFolder = load_course(root)
    assert [(len(file.ledger.entries), file.ledger.locked, file.torn) for file in course.ledgers] == [
        (2, True, False),
        (1, False, True),
    ]
    assert all(problem.doubt for problem in course.problems)
