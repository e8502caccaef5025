"""Versions of one record beside each other: what people settled, what another program left, what goes on."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.records.facts import Score, Settled, SomeFact, Undo
from assess.store.course_folder import load_course
from assess.store.ledger_file import read_ledger
from assess.store.merge import MergeReport, merge
from assess.store.writer import Writer
from tests.store.course_maker import (
    QUICK,
    by_digest,
    hash8,
    heads,
    ledger_bytes,
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


# --- what people have settled -----------------------------------------------------------------------

DAY = other("day", date="2027-02-03")


def settle(root: Path, kept: bytes, aside: bytes, *more: SomeFact) -> None:
    """A director's entry that keeps one version of the sheet and sets the other aside."""
    fact = Settled(kept={NAME: heads(kept)[-1]}, aside={f"{NAME}~{hash8(aside)}": heads(aside)[-1]})
    put(root, DAY, ledger_bytes(DAY, [fact, *more]))


def test_a_settled_fork_is_not_reported_again_until_it_goes_on(course: Path, stick: Path) -> None:
    first, second = by_digest(THREE_FOUR, FIVE)
    put(course, sheet(), first)
    put(stick, sheet(), second)
    settle(stick, first, second)
    assert merge(course, [stick]).forks == ()
    assert load_course(course).problems == ()
    put(stick, sheet(), ledger_bytes(sheet(), [*scores(*([5] if second == FIVE else [3, 4])), *scores(1)]))
    assert len(merge(course, [stick]).forks) == 1


def test_what_goes_on_from_the_version_that_was_kept_keeps_the_name_whatever_its_digest(
    course: Path, stick: Path
) -> None:
    first, second = by_digest(THREE, FIVE)
    put(stick, sheet(), first)
    for kept, aside, level in (
        (first, second, 3 if first == THREE else 5),
        (second, first, 5 if second == FIVE else 3),
    ):
        grown = [ledger_bytes(sheet(), scores(level, more)) for more in range(1, 7)]
        # Some of these come before, some after the other in the order of digests.
        assert {by_digest(aside, each)[0] == aside for each in grown} == {True, False}
        for each in grown:
            put(course, sheet(), each)
            put(stick, sheet(), aside)
            settle(course, kept, aside)
            assert merge(course, [stick], disk=QUICK).forks == ()
            assert tree(course / "sheets") == {f"{NAME}.yaml": each, f"{NAME}~{hash8(aside)}.yaml": aside}


def test_a_settlement_that_was_taken_back_settles_nothing(course: Path, stick: Path) -> None:
    first, second = by_digest(THREE_FOUR, FIVE)
    put(course, sheet(), first)
    put(stick, sheet(), second)
    settle(stick, first, second, Undo(of=1))
    assert merge(course, [stick]).forks == (f"sheets/{NAME}~{hash8(second)}.yaml",)


def test_settling_a_day_says_nothing_of_the_seal_of_the_same_name(course: Path) -> None:
    seal = other("seal", date="2027-02-03")
    assert seal.name == DAY.name
    told = Settled(kept={DAY.name: heads(THREE)[-1]}, aside={f"{DAY.name}~{hash8(FIVE)}": "1 " + "0" * 16})
    put(course, sheet(), ledger_bytes(sheet(), [told]))
    put(course, seal, ledger_bytes(seal, []))
    put(course, seal, ledger_bytes(seal, [told]), suffix="~0123abcd")
    [fork] = [problem for problem in load_course(course).problems if "~" in problem.file]
    assert fork.what == f"goes on from seals/{seal.name}.yaml and is not used yet"


# --- what another program did to an open ledger ---------------------------------------------------


def test_a_ledger_continued_beside_a_file_that_was_replaced_counts_once_and_a_merge_puts_it_back(
    course: Path,
) -> None:
    writer = Writer(disk=QUICK, salt=lambda: "0" * 32, first_rest=0.001)
    live = writer.open(course / "sheets", sheet())
    path = course / SHEET
    for level in (3, 4):
        live.add(Score(criterion="edging", level=level))
    assert writer.drain(10)
    with path.open("ab") as another:
        another.write(b"# a note\n")
    live.add(Score(criterion="edging", level=5))
    assert writer.drain(10)
    assert writer.close()
    [beside] = (path for path in path.parent.iterdir() if path.name != f"{NAME}.yaml")
    whole = beside.read_bytes()
    replaced = path.read_bytes()
    assert replaced.startswith(whole[: -len(whole.split(b"\n")[-2]) - 1] + b"# a note\n")

    before = load_course(course)
    assert [(file.name, len(file.ledger.entries)) for file in before.ledgers] == [(NAME, 2)]
    assert [(problem.file, problem.line, problem.what) for problem in before.problems] == [
        (SHEET, 6, "this line does not begin with `- `; nothing is read from here on"),
        (f"sheets/{beside.name}", 0, f"goes on from {SHEET} and is not used yet"),
    ]
    report = merge(course, [course])
    bad = f"{NAME}~bad-{hash8(replaced)}.yaml"
    assert report == MergeReport((SHEET,), (), (f"sheets/{bad}",), ())
    assert tree(course / "sheets") == {f"{NAME}.yaml": whole, bad: replaced}
    [file] = load_course(course).ledgers
    assert list(file.ledger.entries) == live.entries


def test_of_a_record_and_its_longer_version_beside_it_the_longer_simply_wins(course: Path) -> None:
    put(course, sheet(), THREE)
    beside = put(course, sheet(), THREE_FOUR, suffix="~0123abcd")
    assert [str(problem) for problem in load_course(course).problems] == [
        f"sheets/{beside.name}: goes on from {SHEET} and is not used yet; a merge puts it in its place"
    ]
    assert merge(course, []) == MergeReport((SHEET,), (), (), ())
    assert tree(course / "sheets") == {f"{NAME}.yaml": THREE_FOUR}


def test_of_a_record_and_its_shorter_version_beside_it_the_shorter_goes(course: Path) -> None:
    put(course, sheet(), THREE_FOUR)
    beside = put(course, sheet(), THREE, suffix="~0123abcd")
    assert [str(problem) for problem in load_course(course).problems] == [
        f"sheets/{beside.name}: is an older copy of {SHEET}: all of it stands there; a merge takes it away"
    ]
    assert merge(course, []) == MergeReport((), (), (), ())
    assert tree(course / "sheets") == {f"{NAME}.yaml": THREE_FOUR}


def test_a_version_beside_a_record_that_is_gone_takes_its_place(course: Path) -> None:
    put(course, sheet(), THREE, suffix="~0123abcd")
    assert load_course(course).ledgers == ()
    assert merge(course, []).taken == (SHEET,)
    assert read_ledger(course / SHEET).raw == THREE
