"""A check tells nothing of a third sheet before its lock, and its marker nothing of the others' before that."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.checking import course_findings
from assess.desk.third_looks import order_look
from assess.desk.verifying import verify
from tests.sample.story import Story

SLOT = "T4.C02"
FIRST = ("A1", "A3")


@pytest.fixture
def story(tmp_path: Path) -> Story:
    """A third look of C02 is ordered; A4 has begun the sheet with a low mark and without saying what was seen."""
    made = Story(tmp_path)
    with made.desk("D1") as desk:
        order_look(
            desk, "C02", "teach", marker="A4", slots=("T4", "T5"), source="film", mixed=("T4.C01",), reason="near"
        )
    with made.desk("A4") as desk:
        desk.slot("T4", "C02").score("plan-and-fit", 1)
    return made


def told(story: Story, who: str) -> list[str]:
    """What check, verify and the board say of the slot's files to one person."""
    with story.desk(who) as desk:
        found = [*course_findings(desk), *verify(desk).problems]
        records = [*(record.file for record in verify(desk).records), *desk.board().set_aside]
        return [f"{p.file}:{p.line} {p.what}" for p in found if SLOT in p.file] + [r for r in records if SLOT in r]


def sheet(story: Story, who: str) -> Path:
    """The file of one person's sheet of the slot."""
    with story.desk(who) as desk:
        found: Path = next((desk.folder.root / "sheets").glob(f"{SLOT}.{who}.*.yaml"))
    return found


def test_nobody_but_its_marker_is_told_of_a_third_sheet_that_is_not_locked(story: Story) -> None:
    assert any(f"{SLOT}.A4" in line for line in told(story, "A4"))
    for who in (*FIRST, "D1"):
        assert [line for line in told(story, who) if f"{SLOT}.A4" in line] == []


def test_of_a_damaged_third_sheet_a_director_is_told_the_file_and_assessors_nothing(story: Story) -> None:
    path = sheet(story, "A4")
    path.write_bytes(path.read_bytes().replace(b'"level": 1', b'"level": 9'))
    for who in FIRST:
        assert [line for line in told(story, who) if f"{SLOT}.A4" in line] == []
    of_it = {line for line in told(story, "D1") if f"{SLOT}.A4" in line}
    assert of_it == {f"sheets/{SLOT}.A4:0 is damaged, or does not fit the course"}


def test_a_version_of_it_kept_aside_is_not_on_the_board(story: Story) -> None:
    path = sheet(story, "A4")
    path.with_name(f"{path.stem}~bad-4cf5efe1.yaml").write_bytes(path.read_bytes()[:-30])
    assert [line for line in told(story, "D1") if "~bad" in line] == []


def test_the_third_marker_is_told_nothing_of_the_first_sheets_before_the_own_lock(story: Story) -> None:
    path = sheet(story, "A1")
    path.write_bytes(path.read_bytes().replace(b'"level": ', b'"level":  ', 1))
    assert any(f"{SLOT}.A1" in line for line in told(story, "A3"))
    assert [line for line in told(story, "A4") if f"{SLOT}.A1" in line or f"{SLOT}.A3" in line] == []
