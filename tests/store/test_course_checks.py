"""Everything `course.yaml`, `people.yaml` and the pins may get wrong: one sentence each, with its file and line."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import pytest

from assess.records.errors import InputError
from assess.store.course_folder import load_course
from tests.store.course_maker import (
    COURSE,
    PEOPLE,
    RUBRIC,
    RUBRIC_NAME,
    RUBRIC_SHA,
    ledger_bytes,
    make_course,
    put,
    scores,
    sheet,
)

SHEET = "sheets/T1.C01.A1.d7h2k.yaml"
SLOT = '- {task: T1, order: 3, at: "09:12", candidate: C03, assessors: [A1, A2]}'
TEACH = "area: teach, rubric: r-1,"
ONCE = "an id is given once and never shared: change one"
OTHER = "allocate somebody else, or a director waives it with a reason"
LOOK = " (worth a look)"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return make_course(tmp_path / "k")


def told(root: Path) -> list[str]:
    return [f"{problem}{LOOK if problem.doubt else ''}" for problem in load_course(root).problems]


def newer(root: Path) -> str:
    """Another version of the rubric in the course's folder; its SHA-256."""
    raw = RUBRIC.replace(b"Long turns", b"Long, fast turns")
    digest = sha256(raw).hexdigest()
    (root / "rubrics" / f"r-1@{digest[:8]}.yaml").write_bytes(raw)
    return digest


# --- ids -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "sentences"),
    [
        ("candidates: [C01, C02, C03]", "candidates: [C01, C02, C03, C01]", [f"14: the id `C01` stands twice; {ONCE}"]),
        ("directors: [D1]", "directors: [D1, D1]", [f"16: the id `D1` stands twice; {ONCE}"]),
        ("- {id: T4, area: teach", "- {id: T1, area: demo", [f"13: the id `T1` stands twice; {ONCE}"]),
        ("- {id: T4, area: teach", "- {id: A1, area: demo", [
            f"13: the id `A1` stands twice; {ONCE}",
            "13: rubric `r-1` has no task `A1`; its tasks: T1, T4",
        ]),
        ("assessors: [A1, A2, A3]\n", "assessors: [A1, A2, A3, a2]\n", [
            f"15: `a2` differs from `A2` in case only; {ONCE}",
        ]),
        ("candidates: [C01, C02, C03]", "candidates: [C01, C02, C03, 2027-02-03]", [
            "14: the id `2027-02-03` reads as a day; change it",
        ]),
        ("- {id: T4, area", "- {id: T1-2, area: demo, day: 2}\n- {id: T4, area", [
            "13: `T1-2` reads as a second performance of another task; change it",
            "13: rubric `r-1` has no task `T1-2`; its tasks: T1, T4",
        ]),
    ],
)  # fmt: skip
def test_ids_are_given_once_and_never_read_as_something_else(
    tmp_path: Path, old: str, new: str, sentences: list[str]
) -> None:
    assert COURSE.count(old) == 1
    problems = told(make_course(tmp_path / "k", course=COURSE.replace(old, new)))
    named = [f"course.yaml:{sentence}" for sentence in sentences]
    assert sorted({*problems} & {*named}) == sorted(named)
    # What else is told follows from it: people.yaml and the allocation know nothing of the new id.
    assert all(text.startswith(("people.yaml:", *(f"course.yaml:{n}:" for n in range(10, 23)))) for text in problems)


@pytest.mark.parametrize("name", ["../C01", "a/b", "C 01", "C01.A1", "~C01", "C" * 17, "''", "..", "C01\\n"])
def test_no_id_is_a_path_or_too_long_for_a_radio(tmp_path: Path, name: str) -> None:
    course = COURSE.replace("candidates: [C01, C02, C03]", f'candidates: [C01, "{name}"]').replace("\"''\"", '""')
    with pytest.raises(InputError) as caught:
        load_course(make_course(tmp_path / "k", course=course))
    assert [str(problem) for problem in caught.value.problems] == [
        "course.yaml:14: number 2 of `candidates` must be an id: letters, digits and `-`, at most 16; change it"
    ]


def test_one_person_may_both_mark_and_direct(tmp_path: Path) -> None:
    course = COURSE.replace("directors: [D1]", "directors: [D1, A1]")
    people = PEOPLE.replace("directors:\n", 'directors:\n- {id: A1, name: "Rhea Moss"}\n')
    assert told(make_course(tmp_path / "k", course=course, people=people)) == []


# --- course.yaml -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "sentences"),
    [
        # days
        ("days: [2027-02-03, 2027-02-04]", "days: [2027-02-03, 2027-02-03]", [
            "7: the day `2027-02-03` stands twice; take one out",
        ]),
        ("days: [2027-02-03, 2027-02-04]", "days: [2027-02-04, 2027-02-03]", [
            f"7: the days are not in order; days are counted as they stand{LOOK}",
        ]),
        ("events:", "programme:\n- {day: 3, text: x}\nevents:", [
            "24: the course has no day 3; its last day is 2",
        ]),
        # tasks
        ("area: teach, day: 2}", "area: teach, day: 3}", ["13: the course has no day 3; its last day is 2"]),
        ("id: T4, area: teach", "id: T5, area: teach", [
            "13: rubric `r-1` has no task `T5`; its tasks: T1, T4",
            "21: there is no task `T4`; name a task of the course",
            "22: there is no task `T4`; name a task of the course",
        ]),
        ("id: T4, area: teach", "id: T4, area: demo", [
            f"10: no task is of area `teach`; take it out, or correct it{LOOK}",
            "13: in rubric `r-1` task `T4` is of area `teach`; write the rubric's area",
        ]),
        # pins
        (TEACH, "area: lore, rubric: r-1,", [
            f"10: no task is of area `lore`; take it out, or correct it{LOOK}",
            "13: no rubric is in force for area `teach` on day 2; pin one under `rubrics`",
        ]),
        (TEACH, "area: demo, rubric: r-1,", [
            "10: area `demo` has two rubrics from day 1; one version for an area: take one out",
            "13: no rubric is in force for area `teach` on day 2; pin one under `rubrics`",
        ]),
        (TEACH, "area: teach, from_day: 5, rubric: r-1,", [
            "10: the course has no day 5; its last day is 2",
            "13: no rubric is in force for area `teach` on day 2; pin one under `rubrics`",
        ]),
        (TEACH, "area: teach, rubric: r-7,", [
            "10: the pinned file is rubric `r-1`, not `r-7`; write id and SHA-256 of one and the same file",
        ]),
        (TEACH, "area: teach, by: A1, rubric: r-1,", [
            "10: `A1` is no director of this course; a director pins a rubric",
        ]),
        (TEACH, "area: teach, told_before: T9, rubric: r-1,", ["10: there is no task `T9`; name a task"]),
        # allocation
        (SLOT, SLOT.replace("T1", "T9"), ["20: there is no task `T9`; name a task of the course"]),
        (SLOT, SLOT.replace("C03", "C09"), ["20: there is no candidate `C09`; name an id of the course"]),
        (SLOT, SLOT.replace("A2", "A9"), ["20: there is no assessor `A9`; name an id of the course"]),
        (SLOT, SLOT.replace("A2]", "A2], shadows: [A9]"), ["20: there is no assessor `A9`; name an id of the course"]),
        (SLOT, SLOT.replace("}", ", learners: [L9]}"), ["20: there is no learner `L9`; name an id of the course"]),
        (SLOT, SLOT.replace("}", ", day: 9}"), ["20: the course has no day 9; its last day is 2"]),
        (SLOT, SLOT.replace("A1, A2", "A1, A1"), ["20: `A1` is in this slot twice; allocate somebody else"]),
        (SLOT, SLOT.replace("A2]", "A2], shadows: [A1]"), ["20: `A1` is in this slot twice; allocate somebody else"]),
        ("shadows: [A3]", "shadows: [A3, A3]", ["19: `A3` is in this slot twice; allocate somebody else"]),
        (SLOT, SLOT.replace("}", ", learners: [C03]}"), ["20: `C03` is in this slot twice; allocate somebody else"]),
        (SLOT, SLOT.replace("[A1, A2]", "[]"), [f"20: nobody marks this slot; allocate an assessor{LOOK}"]),
        (SLOT, SLOT.replace("A2", "A3"), [f"20: `A3` has declared a conflict with `C03`; {OTHER}"]),
        (SLOT, SLOT.replace("A2]", "A2], shadows: [A3]"), [
            f"20: `A3` has declared a conflict with `C03`; {OTHER}{LOOK}",
        ]),
        (SLOT, SLOT.replace("C03", "C02"), [
            "20: `C02` has task `T1` twice, first in line 19; a second performance is `T1-2`",
        ]),
        (SLOT, SLOT.replace("order: 3", "order: 2"), [
            f"20: two candidates are in place 2 of task `T1`; count the places through{LOOK}",
        ]),
        (SLOT, SLOT.replace("09:12", "09:06"), [
            "20: `A1` is in two slots at the same time, the other in line 19; move one of them",
            "20: `A2` is in two slots at the same time, the other in line 19; move one of them",
        ]),
        (SLOT, SLOT.replace("09:12", "09:08"), [
            f"20: for `A1` this slot begins before the one in line 19 is over; move one of them{LOOK}",
            f"20: for `A2` this slot begins before the one in line 19 is over; move one of them{LOOK}",
        ]),
        # events
        ("by: D1, to", "by: A1, to", ["24: a release without a director; name the director under `by`"]),
        ("by: D1, to", "to", ["24: a release without a director; name the director under `by`"]),
        ("by: D1, to: assessors", "by: D1", ["24: a release to nobody; write `to: assessors` or `to: candidates`"]),
        ("modules: [demo]", "modules: [demo, lore]", ["24: there is no module `lore`; known: demo, teach"]),
        ("modules: [demo]", "candidates: [C09]", ["24: there is no candidate `C09`; known: C01, C02, C03"]),
        ("kind: release", "kind: visit, who: D9", [
            "24: there is nobody `D9` in this course; name an id of the course",
        ]),
        ("{day: 2, at", "{day: 8, at", ["24: the course has no day 8; its last day is 2"]),
    ],
)  # fmt: skip
def test_everything_the_course_names_must_be_there(tmp_path: Path, old: str, new: str, sentences: list[str]) -> None:
    assert COURSE.count(old) == 1
    problems = told(make_course(tmp_path / "k", course=COURSE.replace(old, new)))
    assert problems == [f"course.yaml:{sentence}" for sentence in sentences]


def test_pairs_may_work_at_the_same_time(tmp_path: Path) -> None:
    lesson = '- {task: T4, order: 2, at: "09:30", candidate: C02, assessors: [A1, A3]}'
    course = COURSE.replace(lesson, lesson.replace("09:30", "09:00").replace("A1, A3", "A2"))
    assert told(make_course(tmp_path / "k", course=course)) == []


def test_a_long_slot_is_not_over_because_a_short_one_in_it_is(tmp_path: Path) -> None:
    slots = [
        '- {task: T4, order: 1, at: "09:00", candidate: C01, assessors: [A1]}',  # 25 minutes
        '- {task: T1, order: 1, at: "09:05", candidate: C02, assessors: [A1], day: 2}',  # 6 minutes
        '- {task: T1, order: 2, at: "09:15", candidate: C03, assessors: [A1], day: 2}',
        '- {task: T1, order: 3, at: "09:25", candidate: C01, assessors: [A1], day: 2}',
    ]
    start, end = COURSE.index("allocation:\n"), COURSE.index("events:\n")
    course = COURSE[:start] + "allocation:\n" + "\n".join(slots) + "\n" + COURSE[end:]
    assert told(make_course(tmp_path / "k", course=course)) == [
        f"course.yaml:{line}: for `A1` this slot begins before the one in line 18 is over; move one of them{LOOK}"
        for line in (19, 20)
    ]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (("2027-02-04", "2027-02-30"), "7: the calendar has no day `2027-02-30`; correct it"),
        (('"+01:00"', '"+19:00"'), "6: no place is that far from UTC; write the offset as `+01:00`"),
        (("[2027-02-03, 2027-02-04]", "[]"), "7: the course has no day; list its days"),
    ],
)
def test_values_that_cannot_exist_make_the_course_unusable(
    tmp_path: Path, change: tuple[str, str], sentence: str
) -> None:
    with pytest.raises(InputError) as caught:
        load_course(make_course(tmp_path / "k", course=COURSE.replace(*change)))
    assert [str(problem) for problem in caught.value.problems] == [f"course.yaml:{sentence}"]


# --- people.yaml -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "sentences"),
    [
        ('- {id: C02, name: "Pia Lund", bib: 21}\n', "", [
            "3: `C02` of course.yaml is missing here; add it under `candidates`",
        ]),
        ('- {id: A2, name: "Sol Tarn"}\n', "", ["7: `A2` of course.yaml is missing here; add it under `assessors`"]),
        ("id: D1, name", "id: D2, name", [
            "11: `D1` of course.yaml is missing here; add it under `directors`",
            f"12: `D2` is not in course.yaml; add it there{LOOK}",
        ]),
        ("- {id: C03,", '- {id: C01, name: "Odo Birk", bib: 20}\n- {id: C03,', [
            "6: the id `C01` stands twice; take one out",
        ]),
        ("bib: 21", "bib: 20", ["5: `C01` wears the same bib; give one of the two another bib"]),
        ("learners:\n", 'learners:\n- {id: L1, alias: "blue"}\n', ["15: the id `L1` stands twice; take one out"]),
        ("learners:\n", 'learners:\n- {id: C01, alias: "blue"}\n', [
            "14: the id `C01` is that of a candidate, assessor or director; "
            "an id is given once and never shared: change this one",
        ]),
        ("assessor: A3, candidate", "assessor: A9, candidate", [
            "16: there is nobody `A9` in this course; name an id of the course",
        ]),
        ("candidate: C03, why", "candidate: C09, why", [
            "16: there is nobody `C09` in this course; name an id of the course",
        ]),
        ("2027-01-10", "2027-01-32", ["16: the calendar has no day `2027-01-32`; correct it"]),
        ("conflicts:", "consents:\n- {who: C09, film: true, at: 2027-02-30}\nconflicts:", [
            "16: the calendar has no day `2027-02-30`; correct it",
            "16: there is nobody `C09` in this course; name an id of the course",
        ]),
    ],
)  # fmt: skip
def test_everybody_is_listed_once_with_a_bib_of_their_own(
    tmp_path: Path, old: str, new: str, sentences: list[str]
) -> None:
    assert PEOPLE.count(old) == 1
    problems = told(make_course(tmp_path / "k", people=PEOPLE.replace(old, new)))
    assert problems == [f"people.yaml:{sentence}" for sentence in sentences]


# --- pins and the files they name --------------------------------------------------------------------


def test_an_edited_rubric_in_force_is_never_used(root: Path) -> None:
    (root / "rubrics" / RUBRIC_NAME).write_bytes(RUBRIC.replace(b"Long turns", b"Short turns"))
    assert load_course(root).rubrics == {}
    assert told(root) == [
        f"rubrics/{RUBRIC_NAME}: a rubric in force was edited: its bytes are not those that are pinned; "
        "put the original back, or pin the new version for an area without sheets"
    ]


def test_one_changed_byte_is_an_edit_whatever_it_changes(root: Path) -> None:
    (root / "rubrics" / RUBRIC_NAME).write_bytes(RUBRIC + b"\n")
    [sentence] = told(root)
    assert "a rubric in force was edited" in sentence


def test_a_pin_whose_file_begins_alike_but_is_another_is_unmet(root: Path) -> None:
    (root / "course.yaml").write_text(COURSE.replace(RUBRIC_SHA, RUBRIC_SHA[:8] + "0" * 56, 1))
    assert told(root) == [
        f"course.yaml:9: the pinned rubric `rubrics/{RUBRIC_NAME}` is not there or cannot be used; "
        "put its copy there, byte for byte"
    ]


def test_a_pin_without_its_file_names_the_file(root: Path) -> None:
    (root / "rubrics" / RUBRIC_NAME).unlink()
    assert told(root) == [
        f"course.yaml:{line}: the pinned rubric `rubrics/{RUBRIC_NAME}` is not there or cannot be used; "
        "put its copy there, byte for byte"
        for line in (9, 10)
    ]


def test_rubrics_no_pin_names_are_read_and_catalogues_passed_over(root: Path) -> None:
    older = RUBRIC.replace(b"id: r-1", b"id: r-0")
    (root / "rubrics" / f"r-0@{sha256(older).hexdigest()[:8]}.yaml").write_bytes(older)
    catalogue = b"# assess catalogue 1\nid: faults\n"
    (root / "rubrics" / f"faults@{sha256(catalogue).hexdigest()[:8]}.yaml").write_bytes(catalogue)
    (root / "rubrics" / "loose@00000000.yaml").write_bytes(older)
    assert sorted(rubric.id for rubric in load_course(root).rubrics.values()) == ["r-0", "r-1"]
    assert told(root) == [
        "rubrics/loose@00000000.yaml: its bytes are not those its name promises, it is not used; "
        f"put the original back{LOOK}"
    ]


def test_a_pin_changed_after_the_first_sheet_is_a_problem_at_the_pin(root: Path) -> None:
    (root / "course.yaml").write_text(COURSE.replace(RUBRIC_SHA, newer(root), 1))
    assert told(root) == []
    put(root, sheet(), ledger_bytes(sheet(), scores(3)))
    assert told(root) == [
        f"course.yaml:9: the pin of area `demo` was changed after its first sheet ({SHEET}); "
        "an area that has a sheet keeps its rubric: put the pin back"
    ]


def test_one_sheet_on_another_version_than_the_others_is_a_problem_at_the_sheet(root: Path) -> None:
    strange = sheet(candidate="C02", rubric=f"sha256:{newer(root)}")
    put(root, sheet(), ledger_bytes(sheet(), scores(3)))
    put(root, strange, ledger_bytes(strange, scores(3)))
    assert told(root) == [
        f"sheets/{strange.name}.yaml:2: was marked on another rubric than `r-1`, which is in force for area `demo`; "
        "all sheets of an area have one version: settle it with the director; what is written stays"
    ]


def test_tasks_of_one_area_that_fall_under_different_rubrics_are_a_problem(root: Path) -> None:
    # A second demonstration on the second day, from when another version is pinned.
    text = COURSE.replace(
        "rubrics:\n", f"rubrics:\n- {{area: demo, rubric: r-1, from_day: 2, sha256: {newer(root)}}}\n"
    ).replace("- {id: T4, area: teach", "- {id: T4, area: demo")
    (root / "course.yaml").write_text(text)
    assert [text for text in told(root) if "different rubrics" in text] == [
        "course.yaml:9: the tasks of area `demo` fall under different rubrics; "
        "within one area all sheets of a course have one version"
    ]


def test_a_zone_whose_clocks_are_never_at_the_offset_is_worth_a_look(root: Path) -> None:
    path = root / "course.yaml"
    text = path.read_text(encoding="utf-8")
    for zone, wrong in (("Europe/Zurich", False), ("Atlantic/Reykjavik", True)):
        path.write_text(text.replace('utc_offset: "+01:00"', f'utc_offset: "+01:00"\ntimezone: {zone}'), "utf-8")
        found = [sentence for sentence in told(root) if "clocks" in sentence]
        assert (found != []) == wrong
    line = next(n for n, said in enumerate(path.read_text().split("\n"), 1) if said.startswith("timezone"))
    assert found == [
        f"course.yaml:{line}: on no day of the course the clocks of Atlantic/Reykjavik are +01:00 from UTC;"
        f" correct `utc_offset` or `timezone`{LOOK}"
    ]
