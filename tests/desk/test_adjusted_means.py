"""Severity-adjusted means: beside the outcomes of a director, once everything is locked; to nobody else, in no rule."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from assess.desk.adjusted import adjusted_of, with_adjusted
from assess.desk.demo import sample_course
from assess.desk.outcomes import results_json
from tests.agreement.test_adjusted import TABLE
from tests.cli.commands import assess
from tests.courses import open_desk, release
from tests.desk.rater_courses import lock_sheets, marked_course, reopened
from tests.desk.test_schemas import validator

KEYS = {"adjusted_mean", "adjusted_ci95"}


def document(root: Path, who: str | None) -> dict[str, Any]:
    """What `assess results` prints for somebody."""
    desk = reopened(root, who)
    board = desk.outcomes()
    found = with_adjusted(results_json(board), adjusted_of(desk, board))
    assert desk.close()
    return found


def modules(found: dict[str, Any]) -> list[dict[str, Any]]:
    return [held for one in found["candidates"] for held in one["modules"].values()]


def test_the_sample_course_shows_the_table_beside_its_outcomes() -> None:
    desk = open_desk(sample_course(), "D1")
    board = desk.outcomes()
    plain = results_json(board)
    found = with_adjusted(plain, adjusted_of(desk, board))
    for one in found["candidates"]:
        told = [one["modules"][name]["adjusted_mean"] or "-" for name in ("demo", "teach", "safety")]
        assert " ".join(told) == TABLE[one["id"]]
    validator("results").validate(found)
    # Beside: whatever the rules give is what it was.
    without = [{key: value for key, value in held.items() if key not in KEYS} for held in modules(found)]
    assert without == modules(plain)


def test_on_the_command_line_the_director_sees_them_and_what_they_rest_on() -> None:
    told = assess("results", sample_course(), "--as", "D1").out
    assert "with estimated severity taken out 4.34 (4.29 to 4.39)" in told
    assert "A3 gives -0.45 levels, -0.65 to -0.26 (28 sheets of 9 candidates)" in told
    assert "No rule here" in told and "-0.00" not in told
    assert assess("results", sample_course(), "--as", "D1", "--json").json["severity_taken_out"]["undefined"] is None


@pytest.mark.parametrize("who", ["A1", "A2", None])
def test_nobody_but_a_director_is_shown_any_even_after_the_release(tmp_path: Path, who: str | None) -> None:
    root = marked_course(tmp_path / "course", more=1)
    release(root)
    found = document(root, who)
    assert "severity_taken_out" not in found
    assert not any(KEYS & held.keys() for held in modules(found))
    assert any(held.keys() >= KEYS for held in modules(document(root, "D1")))


def test_with_one_sheet_not_locked_there_is_none(tmp_path: Path) -> None:
    root = marked_course(tmp_path / "course", tasks=("T1",))
    shutil.rmtree(root / "sheets")
    for who in ("A1", "A2"):
        lock_sheets(root, who)
    lock_sheets(root, "A3", candidates=range(1, 8))
    before = document(root, "D1")
    assert "severity_taken_out" not in before
    # A mark that is not locked changes nothing of what is told.
    lock_sheets(root, "A3", candidates=range(8, 9), lock=False, more=2)
    assert "severity_taken_out" not in document(root, "D1")


def test_what_an_assessor_gives_more_is_taken_out(tmp_path: Path) -> None:
    root = marked_course(tmp_path / "course", tasks=("T1",), more=1)
    found = document(root, "D1")
    more = {one["id"]: one["gives_more"] for one in found["severity_taken_out"]["assessors"]}
    assert more["A3"] > 0.3 and sum(more.values()) == pytest.approx(0.0, abs=1e-9)
    # Everybody marked everybody: no mean moves.
    assert all(held["adjusted_mean"] == held["mean"] for held in modules(found) if held["mean"])
