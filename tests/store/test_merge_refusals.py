"""What is not merged, and changes nothing: another course, one that cannot be read whole, one that is open."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.records.errors import InputError, Refusal
from assess.records.facts import Interruption
from assess.store.merge import merge
from assess.store.writer import Writer
from tests.store.course_maker import (
    COURSE,
    QUICK,
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
DAY = other("day", date="2027-02-03")


def test_nothing_is_merged_into_a_course_that_cannot_be_read_whole(course: Path, stick: Path) -> None:
    outside = stick.parent / "outside.yaml"
    outside.write_bytes(THREE)
    (course / "sheets").mkdir()
    (course / "sheets" / f"{NAME}.yaml").symlink_to(outside)
    put(stick, sheet(), THREE_FOUR)
    put(stick, sheet(task="T4"), ledger_bytes(sheet(task="T4"), []))
    before = tree(course)
    with pytest.raises(InputError, match="leads out of the course"):
        merge(course, [stick])
    assert tree(course) == before
    assert outside.read_bytes() == THREE


def test_another_course_is_refused_with_both_ids(course: Path, tmp_path: Path) -> None:
    elsewhere = make_course(tmp_path / "else", course=COURSE.replace("id: K-1", "id: K-2"))
    with pytest.raises(Refusal, match=r"is course `K-2`, and .* is course `K-1`; merge copies of one"):
        merge(course, [elsewhere])


@pytest.mark.parametrize("file", ["course.yaml", "people.yaml"])
@pytest.mark.parametrize("side", ["into", "stick"])
def test_a_slip_in_a_hand_edited_file_stops_the_merge_before_anything_is_written(
    course: Path, stick: Path, file: str, side: str
) -> None:
    put(stick, sheet(), THREE)
    (course.parent / side / file).write_bytes(b"# assess " + file[:6].encode() + b" 1\nrevision: x\n")
    before = tree(course)
    with pytest.raises(InputError, match=file):
        merge(course, [stick])
    assert tree(course) == before


def test_a_record_that_a_window_has_open_is_not_changed_under_it(course: Path, stick: Path) -> None:
    put(course, sheet(), THREE)
    put(stick, sheet(), THREE_FOUR)
    put(stick, DAY, ledger_bytes(DAY, [Interruption(cause="wind")]))
    before = tree(course)
    writer = Writer(disk=QUICK)
    writer.open(course / "sheets", sheet())
    with pytest.raises(Refusal, match=rf"{SHEET}: is open in another window; close it there, then try again"):
        merge(course, [stick])
    assert tree(course) == before
    # What does not change it is not in the way.
    put(stick, sheet(), THREE)
    assert merge(course, [stick]).taken == (f"days/{DAY.name}.yaml",)
    assert writer.close()
    put(stick, sheet(), THREE_FOUR)
    assert merge(course, [stick]).taken == (SHEET,)


def test_records_whose_names_differ_in_case_only_are_refused_before_anything_is_written(
    course: Path, stick: Path
) -> None:
    put(course, sheet(), THREE)
    put(stick, sheet(assessor="a1"), ledger_bytes(sheet(assessor="a1"), scores(3)))
    before = tree(course)
    with pytest.raises(InputError) as caught:
        merge(course, [stick])
    assert str(caught.value) == (
        "sheets/T1.C01.a1.d7h2k.yaml: differs from sheets/T1.C01.A1.d7h2k.yaml in upper and lower case only; "
        "an id is given once: settle which of the two is meant"
    )
    assert tree(course) == before
