"""Bringing devices together: a function of the set of files, whatever the order, and never a lost byte."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from assess.records.facts import Observation, Score, SomeFact
from assess.store.course_folder import load_course
from assess.store.ledger_file import read_ledger
from assess.store.merge import MergeReport, merge
from tests.store.course_maker import (
    COURSE,
    PEOPLE,
    RUBRIC,
    RUBRIC_NAME,
    by_digest,
    hash8,
    heads,
    ledger_bytes,
    lock,
    make_course,
    other,
    put,
    scores,
    sheet,
    tree,
)

NAME = "T1.C01.A1.d7h2k"
SHEET = f"sheets/{NAME}.yaml"


@pytest.fixture
def course(tmp_path: Path) -> Path:
    return make_course(tmp_path / "into")


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    return make_course(tmp_path / "stick")


THREE = ledger_bytes(sheet(), scores(3))
THREE_FOUR = ledger_bytes(sheet(), scores(3, 4))
FIVE = ledger_bytes(sheet(), scores(5))


def test_a_new_record_and_a_longer_one_are_taken(course: Path, stick: Path) -> None:
    put(course, sheet(), THREE)
    put(stick, sheet(), THREE_FOUR)
    put(stick, other("day", date="2027-02-03"), ledger_bytes(other("day", date="2027-02-03"), []))
    report = merge(course, [stick])
    assert report == MergeReport(("days/2027-02-03.D1.d31kq.yaml", SHEET), (), (), ())
    assert tree(course) == tree(stick)


def test_a_shorter_one_changes_nothing_and_merging_again_changes_nothing(course: Path, stick: Path) -> None:
    put(course, sheet(), THREE_FOUR)
    put(stick, sheet(), THREE)
    before = tree(course)
    for _ in range(2):
        assert merge(course, [stick]) == MergeReport((), (), (), ())
        assert tree(course) == before


def test_two_versions_of_which_neither_goes_on_from_the_other_are_both_kept(course: Path, stick: Path) -> None:
    first, second = by_digest(THREE_FOUR, FIVE)
    put(course, sheet(), second)
    put(stick, sheet(), first)
    report = merge(course, [stick])
    fork = f"sheets/{NAME}~{hash8(second)}.yaml"
    assert (report.taken, report.forks, report.bad) == ((SHEET,), (fork,), ())
    kept = tree(course)
    assert (kept[SHEET], kept[fork]) == (first, second)
    assert [str(problem).split(";")[0] for problem in report.problems] == [
        f"{fork}: is another version, kept aside and not used"
    ]


def test_a_fork_that_grows_on_takes_its_place_again(course: Path, stick: Path) -> None:
    longer = ledger_bytes(sheet(), scores(5, 5, 5))
    put(course, sheet(), THREE)
    put(course, sheet(), FIVE, suffix=f"~{hash8(FIVE)}")
    put(stick, sheet(), longer)
    merge(course, [stick])
    first, second = by_digest(THREE, longer)
    assert tree(course / "sheets") == {f"{NAME}.yaml": first, f"{NAME}~{hash8(second)}.yaml": second}


def test_a_version_that_fails_its_chain_is_kept_named_and_never_adopted(course: Path, stick: Path) -> None:
    damaged = THREE_FOUR.replace(b'"level": 3', b'"level": 6')
    put(course, sheet(), THREE)
    put(stick, sheet(), damaged)
    report = merge(course, [stick])
    bad = f"sheets/{NAME}~bad-{hash8(damaged)}.yaml"
    assert (report.taken, report.forks, report.bad) == ((), (), (bad,))
    assert tree(course)[SHEET] == THREE
    assert tree(course)[bad] == damaged


def test_ones_own_damaged_version_gives_way_to_a_sound_one_and_is_kept(course: Path, stick: Path) -> None:
    damaged = THREE_FOUR.replace(b'"level": 3', b'"level": 6')
    put(course, sheet(), damaged)
    put(stick, sheet(), THREE)
    merge(course, [stick])
    assert tree(course / "sheets") == {f"{NAME}.yaml": THREE, f"{NAME}~bad-{hash8(damaged)}.yaml": damaged}


@pytest.mark.parametrize(
    "raw",
    [
        ledger_bytes(sheet(), [*scores(3), lock(), *scores(4)]),
        ledger_bytes(sheet(candidate="C02"), scores(3)),
        ledger_bytes(sheet(course="K-9"), scores(3)),
        ledger_bytes(other("day", date="2027-02-03"), []),
        THREE.replace(b"# assess ledger 1", b"# assess ledger 2"),
        b"",
        b"\xff\xfe",
    ],
)
def test_what_goes_on_after_a_lock_or_is_no_ledger_of_this_name_is_never_adopted(
    course: Path, stick: Path, raw: bytes
) -> None:
    put(stick, sheet(), raw)
    report = merge(course, [stick])
    assert report.taken == ()
    assert report.bad == (f"sheets/{NAME}~bad-{hash8(raw)}.yaml",)
    assert tree(course)[report.bad[0]] == raw


def test_a_locked_version_stands_above_the_one_it_goes_on_from(course: Path, stick: Path) -> None:
    locked = ledger_bytes(sheet(), [*scores(3), lock(**{NAME: heads(THREE)[-1]})])
    put(course, sheet(), THREE)
    put(stick, sheet(), locked)
    merge(course, [stick])
    assert tree(course / "sheets") == {f"{NAME}.yaml": locked}


def test_a_torn_version_gives_its_whole_lines_and_its_bytes_are_kept(course: Path, stick: Path) -> None:
    torn = THREE_FOUR[:-10]
    put(stick, sheet(), torn)
    report = merge(course, [stick])
    assert tree(course / "sheets") == {f"{NAME}.yaml": THREE, f"{NAME}~bad-{hash8(torn)}.yaml": torn}
    assert report.bad == (f"sheets/{NAME}~bad-{hash8(torn)}.yaml",)
    put(stick, sheet(), THREE_FOUR)
    assert merge(course, [stick]).bad == ()
    assert tree(course / "sheets") == {f"{NAME}.yaml": THREE_FOUR}


def test_names_that_are_no_records_are_left_where_they_are_and_copies_among_them_are_named(
    course: Path, stick: Path
) -> None:
    odd = ("T1.C01.A1.d7h2k (1).yaml", "..yaml", "T1~x.yaml", "notes.txt", ".hidden.yaml", f"{NAME}.yaml.torn-1")
    for folder in (course, stick):
        (folder / "sheets").mkdir(exist_ok=True)
        (folder / "sheets" / (odd[0] if folder == course else odd[1])).write_bytes(THREE)
    for name in odd:
        (stick / "sheets" / name).write_bytes(THREE)
    (stick / "other").mkdir()
    (stick / "other" / f"{NAME}.yaml").write_bytes(THREE)
    before = tree(course)
    report = merge(course, [stick])
    assert tree(course) == before
    assert (report.taken, report.forks, report.bad) == ((), (), ())
    # They may hold marks; what is no YAML file of a record folder holds none.
    assert [str(problem).split(";")[0] for problem in report.left] == [
        f"{stick}/sheets/{name}: is not named as a record of this folder and is not read"
        for name in ("..yaml", ".hidden.yaml", "T1.C01.A1.d7h2k (1).yaml")
    ]
    assert all(problem.doubt for problem in report.left)


def test_links_and_pipes_elsewhere_are_not_taken_and_named(course: Path, stick: Path) -> None:
    outside = stick.parent / "outside.yaml"
    outside.write_bytes(THREE)
    (stick / "sheets").mkdir()
    (stick / "sheets" / f"{NAME}.yaml").symlink_to(outside)
    (stick / "sheets" / f"{NAME}~{hash8(THREE)}.yaml").symlink_to(outside)
    os.mkfifo(stick / "sheets" / "T1.C02.A1.d7h2k.yaml")
    before = tree(course)
    report = merge(course, [stick])
    assert tree(course) == before
    assert [str(problem).removeprefix(f"{stick}/sheets/").split(";")[0] for problem in report.left] == [
        f"{NAME}.yaml: is a link that leads out of the course, and is not read",
        f"{NAME}~{hash8(THREE)}.yaml: is a link that leads out of the course, and is not read",
        "T1.C02.A1.d7h2k.yaml: is not a plain file (a pipe, socket or device), and is not read",
    ]


def test_of_a_hand_edited_file_the_higher_revision_is_taken_and_the_lower_is_not(course: Path, stick: Path) -> None:
    newer = COURSE.replace("revision: 1", "revision: 2").replace("A small course", "A renamed course")
    (stick / "course.yaml").write_text(newer)
    assert merge(course, [stick]).taken == ("course.yaml",)
    assert (course / "course.yaml").read_text() == newer
    (stick / "course.yaml").write_text(COURSE)
    assert merge(course, [stick]) == MergeReport((), (), (), ())
    assert (course / "course.yaml").read_text() == newer


def test_equal_revisions_that_differ_are_a_fork_until_a_higher_one_comes(course: Path, stick: Path) -> None:
    changed = PEOPLE.replace("Pia Lund", "Pia Lunde")
    (stick / "people.yaml").write_text(changed)
    first, second = by_digest(PEOPLE.encode(), changed.encode())
    report = merge(course, [stick])
    assert report.forks == (f"people~{hash8(second)}.yaml",)
    assert (course / "people.yaml").read_bytes() == first
    assert (course / report.forks[0]).read_bytes() == second
    assert load_course(course).people.revision == 1
    (stick / "people.yaml").write_text(changed.replace("revision: 1", "revision: 2"))
    assert merge(course, [stick]).forks == ()
    assert [name for name in tree(course) if name.startswith("people")] == ["people.yaml"]


def test_a_rubric_is_copied_when_absent_and_an_edited_one_never_takes_its_name(course: Path, stick: Path) -> None:
    (course / "rubrics" / RUBRIC_NAME).unlink()
    assert merge(course, [stick]).taken == (f"rubrics/{RUBRIC_NAME}",)
    edited = RUBRIC.replace(b"Long turns", b"Short turns")
    (stick / "rubrics" / RUBRIC_NAME).write_bytes(edited)
    report = merge(course, [stick])
    assert (course / "rubrics" / RUBRIC_NAME).read_bytes() == RUBRIC
    assert report.bad == (f"rubrics/{RUBRIC_NAME.removesuffix('.yaml')}~bad-{hash8(edited)}.yaml",)


def test_a_report_names_files_and_says_nothing_of_what_is_in_them(course: Path, stick: Path) -> None:
    facts: list[SomeFact] = [Observation(text="secret words"), *scores(2)]
    put(course, sheet(), ledger_bytes(sheet(), facts))
    put(stick, sheet(), ledger_bytes(sheet(), [*facts[::-1], *scores(6)]))
    put(stick, sheet(candidate="C02"), ledger_bytes(sheet(candidate="C02"), facts)[:-4])
    report = merge(course, [stick])
    told = repr(report) + " ".join(map(str, report.problems))
    assert report.forks
    assert report.bad
    assert "secret" not in told
    assert "level" not in told
    assert all(problem.line == 0 for problem in report.problems)


def test_two_digests_that_begin_alike_are_told_apart_by_more_of_them(
    course: Path, stick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from assess.store import merge_rules

    real = merge_rules._digest
    monkeypatch.setattr(merge_rules, "_digest", lambda raw: "0" * 8 + real(raw)[8:])
    put(course, sheet(), ledger_bytes(sheet(), scores(1)))
    for level in (2, 3):
        put(stick, sheet(), ledger_bytes(sheet(), scores(level)))
        merge(course, [stick])
    names = sorted(path.name for path in (course / "sheets").iterdir())
    assert len(names) == 3
    assert [len(name.removeprefix(f"{NAME}~").removesuffix(".yaml")) for name in names if "~" in name] == [16, 16]
    assert {level for name in names for level in _levels(course / "sheets" / name)} == {1, 2, 3}
    before = tree(course)
    merge(course, [stick])
    assert tree(course) == before


def _levels(path: Path) -> list[int | None]:
    return [entry.fact.level for entry in read_ledger(path).ledger.entries if isinstance(entry.fact, Score)]
