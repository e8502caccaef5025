"""Invariant 22: an accommodation comes before the allocation of the slots it touches and changes no level or line."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from assess.desk.outcomes import results_json
from assess.records.course import Accommodation, Course, People
from assess.store.separation_checks import accommodation_problems
from assess.store.yaml_file import yaml_doc
from tests.courses import build_course, open_desk

KEYS = {"candidate", "what", "changes", "tasks", "agreed_by", "agreed_at"}
DAY = date(2026, 2, 2)


def agreed(**more: Any) -> dict[str, Any]:
    told = {"candidate": "C01", "what": "read out aloud", "changes": "presentation", "agreed_by": "D1"}
    return {**told, "agreed_at": "2026-01-10", **more}


def test_it_has_these_keys_and_changes_presentation_time_or_place() -> None:
    assert set(Accommodation.model_fields) == KEYS
    for changes in ("presentation", "time", "place"):
        assert Accommodation.model_validate(agreed(changes=changes)).changes == changes
    for changes in ("level", "line", "weight", "levels", "pass_line", ""):
        with pytest.raises(ValidationError):
            Accommodation.model_validate(agreed(changes=changes))


@settings(deadline=None)
@given(st.one_of(st.sampled_from(["level", "line", "weight", "pass_line", "weights", "minimum"]), st.text(min_size=1)))
def test_no_further_key_can_stand_in_it(key: str) -> None:
    if key not in KEYS:
        with pytest.raises(ValidationError):
            Accommodation.model_validate(agreed(**{key: 3}))


def course(first: int, second: int, allocated_on: str | None) -> Course:
    """C01 has T1 and T4 so many days after the first day of the course."""
    days = [(DAY + timedelta(days=n)).isoformat() for n in range(8)]
    return Course.model_validate(
        {
            "id": "K-1", "revision": 1, "title": "x", "activity": "gliding", "days": days, "rubrics": [],
            "tasks": [{"id": "T1", "area": "demo", "day": first + 1}, {"id": "T4", "area": "teach", "day": second + 1}],
            "candidates": ["C01", "C02"], "assessors": ["A1"], "directors": ["D1"], "allocated_on": allocated_on,
            "allocation": [{"task": t, "order": 1, "candidate": "C01", "assessors": ["A1"]} for t in ("T1", "T4")],
        }
    )  # fmt: skip


def problems(of: Course, **more: Any) -> list[str]:
    people = {"revision": 1, "candidates": [], "assessors": [], "directors": [], "accommodations": [agreed(**more)]}
    doc = yaml_doc(
        b"# assess people 1\naccommodations:\n- {candidate: C01}\n",
        Path("people.yaml"),
        shown="people.yaml",
        what="people",
    )
    return [problem.what for problem in accommodation_problems(doc, of, People.model_validate(people))]


@settings(deadline=None)
@given(st.integers(-5, 10), st.integers(0, 7), st.integers(0, 7), st.sampled_from([(), ("T1",), ("T4",), ("T1", "T4")]))
def test_it_comes_before_the_first_slot_it_touches(on: int, first: int, second: int, tasks: tuple[str, ...]) -> None:
    days = {"T1": first, "T4": second}
    limit = min(days[task] for task in tasks or days)
    when = (DAY + timedelta(days=on)).isoformat()
    assert bool(problems(course(first, second, None), tasks=tasks, agreed_at=when)) is (on >= limit)


@settings(deadline=None)
@given(st.integers(-5, 10), st.integers(-5, 0))
def test_it_comes_before_the_allocation_where_its_day_is_told(on: int, made: int) -> None:
    when, allocated = ((DAY + timedelta(days=n)).isoformat() for n in (on, made))
    assert bool(problems(course(3, 4, allocated), agreed_at=when)) is (on >= made)
    assert problems(course(3, 4, allocated), agreed_at=when, candidate="C02") == [], "C02 has no slot yet"


def test_who_it_is_for_and_who_agreed_are_of_the_course() -> None:
    assert problems(course(3, 4, None), candidate="C09", agreed_by="A1", tasks=("T9",)) == [
        "there is nobody `C09` in this course",
        "`A1` is no director of this course",
        "there is no task `T9`",
    ]


@pytest.mark.parametrize("changes", ["presentation", "time", "place"])
def test_with_it_or_without_it_every_outcome_is_the_same(tmp_path: Path, changes: str) -> None:
    root = build_course(tmp_path / "course", candidates=2, tasks=("T6",))
    for who, level in (("A1", 5), ("A2", 2)):
        desk = open_desk(root, who, device=f"{who.lower()}{who.lower()}x")
        for candidate in ("C01", "C02"):
            sheet = desk.slot("T6", candidate)
            for criterion in sheet.criteria:
                sheet.note("seen", (criterion,), direction="for")
                sheet.score(criterion, level)
            sheet.lock()
        assert desk.close()
    before = results_json(open_desk(root, "D1").outcomes())
    line = f"- {{candidate: C01, what: tasks read out, changes: {changes}, agreed_by: D1, agreed_at: 2026-01-10}}"
    people = root / "people.yaml"
    people.write_text(f"{people.read_text()}accommodations:\n{line}\n")
    desk = open_desk(root, "D1")
    assert results_json(desk.outcomes()) == before
    assert desk.folder.problems == ()
    said = f"Person 1: tasks read out ({changes})"
    assert desk.board().agreed == open_desk(root, "A1").board().agreed == (said,)
