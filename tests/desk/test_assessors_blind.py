"""Nothing of a sheet that is not locked reaches a page about assessors, whoever looks at it."""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assess.desk.assessors import assessors_document, pages_of
from assess.records.errors import AssessError
from tests.courses import FixedClock, build_course, open_desk
from tests.desk.rater_courses import lock_sheets, reopened

WHO = ("D1", "A1", "A2", None)


def told(root: Path) -> list[str]:
    """Everything a director, a partner who is done, the one who is not, and nobody are told."""
    said = []
    for who in WHO:
        desk = reopened(root, who)
        try:
            said.append(repr(assessors_document(pages_of([desk], replicates=20))))
        except AssessError as error:
            said.append(error.sentence)
        finally:
            desk.close()
    return said


def begun(root: Path, candidates: tuple[str, ...], acts: Callable[[Any], object]) -> None:
    desk = open_desk(root, "A3", device="zz2zz", clock=FixedClock())
    for candidate in candidates:
        acts(desk.slot("T1", candidate))
    assert desk.close()


ACTS: dict[str, Callable[[Any], object]] = {
    "a level": lambda slot: slot.score(slot.criteria[0], 6),
    "one digit": lambda slot: [slot.score(criterion, 1) for criterion in slot.criteria],
    "other levels": lambda slot: [slot.score(c, random.Random(c).randint(1, 6)) for c in slot.criteria],
    "not seen": lambda slot: slot.not_observed(slot.criteria[0], "fog"),
    "a breach": lambda slot: slot.breach(slot.rubric.must_nots[0].id, what="past a rope"),
    "a note": lambda slot: slot.note("tails wash", slot.criteria[:1]),
}


@pytest.fixture
def course(tmp_path: Path) -> Path:
    """A1 and A2 have locked all of T1, A3 has locked six of eight."""
    root = build_course(tmp_path / "course", candidates=8, tasks=("T1",), assessors=("A1", "A2", "A3"))
    for who in ("A1", "A2"):
        lock_sheets(root, who)
    lock_sheets(root, "A3", candidates=range(3, 9))
    return root


@pytest.mark.parametrize("name", ACTS)
def test_whatever_a_partner_does_and_does_not_lock_every_page_says_the_same(
    course: Path, tmp_path: Path, name: str
) -> None:
    before = told(course)
    assert "'n_sheets': 18" in before[0] and "'own': 'A1'" in before[1] and "'own': 'A2'" in before[2]
    assert "--as" in before[3]
    other = tmp_path / "other" / "course"
    shutil.copytree(course, other)
    begun(other, ("C01", "C02"), ACTS[name])
    assert told(other) == before


def test_the_first_marker_of_a_slot_changes_nothing_until_the_last_has_locked(course: Path, tmp_path: Path) -> None:
    """What A1 and A2 locked for C01 may be anything: A3 has not locked it, so nobody's page knows of it."""
    before = told(course)
    other = build_course(tmp_path / "other" / "course", candidates=8, tasks=("T1",), assessors=("A1", "A2", "A3"))
    for who in ("A1", "A2"):
        lock_sheets(other, who, candidates=range(3, 9))
        lock_sheets(other, who, candidates=range(1, 3), flat=True, more=2)
    lock_sheets(other, "A3", candidates=range(3, 9))
    assert told(other) == before
    lock_sheets(other, "A3", candidates=range(1, 3))
    assert told(other)[:2] != before[:2]


def test_who_has_not_locked_to_the_end_is_told_when_and_nothing_else(course: Path) -> None:
    desk = reopened(course, "A3")
    with pytest.raises(AssessError) as raised:
        pages_of([desk])
    desk.close()
    assert raised.value.sentence == (
        "T1 is begun, 6 of your 8 sheets are locked: this is shown before the first slot of a task or after its last"
        " lock, never between candidates"
    )
