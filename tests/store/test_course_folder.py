"""A course on disk: what is read, what is set aside, and a sentence for everything that does not fit."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assess.records.errors import InputError
from assess.records.facts import Observation, Settled
from assess.store.course_folder import CourseFolder, load_course
from tests.store.course_maker import (
    COURSE,
    PEOPLE,
    REFERENCE,
    RUBRIC,
    RUBRIC_NAME,
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


def test_a_file_or_a_folder_nobody_lets_us_read_is_a_problem_and_the_rest_is_read(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The superuser may read everything, so the system call is broken and not the access rights.
    def refused(path: str | Path) -> bool:
        return Path(path).name in ("T1.C01.A1.d7h2k.yaml", "days", RUBRIC_NAME)

    really: dict[str, Callable[..., Any]] = {"open": os.open, "scandir": os.scandir}

    def asked(name: str) -> Callable[..., Any]:
        def call(path: str | Path, *more: Any) -> Any:
            if refused(path):
                raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
            return really[name](path, *more)

        return call

    put(root, sheet(), ledger_bytes(sheet(), scores(3)))
    put(root, sheet(candidate="C02"), ledger_bytes(sheet(candidate="C02"), scores(3)))
    put(root, other("day", date="2027-02-03"), ledger_bytes(other("day", date="2027-02-03"), []))
    for name in really:
        monkeypatch.setattr(os, name, asked(name))
    course = load_course(root)
    assert [file.name for file in course.ledgers] == ["T1.C02.A1.d7h2k"]
    todo = "replace it by a plain file that can be read"
    assert [str(problem) for problem in course.problems if problem.file != "course.yaml"] == [
        "days: cannot be listed (Permission denied); look at its access rights",
        f"rubrics/{RUBRIC_NAME}: cannot be read (Permission denied); {todo}",
        f"{SHEET}: cannot be read (Permission denied); {todo}",
        "sheets/T1.C02.A1.d7h2k.yaml:2: was marked on a rubric that is not in this course; "
        "put that rubric's file back into rubrics/",
    ]


def test_a_link_or_a_folder_among_the_versions_kept_aside_is_never_followed(root: Path) -> None:
    outside = root.parent / "outside.yaml"
    outside.write_bytes(ledger_bytes(sheet(), scores(3)))
    (root / "sheets").mkdir()
    (root / "sheets" / "T1.C01.A1.d7h2k~0123abcd.yaml").symlink_to(outside)
    (root / "sheets" / "T1.C01.A1.d7h2k~bad-0123abcd.yaml").mkdir()
    (root / "people~0123abcd.yaml").symlink_to(outside)
    course = load_course(root)
    assert (course.forks, course.aside) == ((), ())
    assert [str(problem).split(";")[0] for problem in course.problems] == [
        "people~0123abcd.yaml: is a link that leads out of the course, and is not read",
        "sheets/T1.C01.A1.d7h2k~0123abcd.yaml: is a link that leads out of the course, and is not read",
        "sheets/T1.C01.A1.d7h2k~bad-0123abcd.yaml: is a folder, not a file, and is not read",
    ]


def test_a_link_within_the_course_is_read(root: Path) -> None:
    for folder in ("sheets", "elsewhere"):
        (root / folder).mkdir()
    (root / "elsewhere" / "sheet").write_bytes(ledger_bytes(sheet(), scores(3)))
    (root / SHEET).symlink_to(root / "elsewhere" / "sheet")
    assert [file.name for file in load_course(root).ledgers] == ["T1.C01.A1.d7h2k"]


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
