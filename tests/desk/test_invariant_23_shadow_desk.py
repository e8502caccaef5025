"""Invariant 23 at the desk: nothing that is worked out over sheets reads a shadow's, allocated as one or made one."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.case_page import case_document
from assess.desk.case_record import case_record
from assess.desk.exporting import export_scores
from assess.desk.locked_turns import locked_turns
from assess.desk.moderating import differences, moderate
from assess.desk.waiving import waive
from assess.records.errors import Refusal
from tests.desk.test_waiving import EXPIRED, course, director, mark

MADE = ("A1, A2", EXPIRED)
ALLOCATED = ("A1], shadows: [A2", ())


@pytest.fixture(params=[MADE, ALLOCATED], ids=["without a licence", "allocated as a shadow"])
def root(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """C01 and C02 marked 5 by A1, 1 by the shadow A2."""
    seated, people = request.param
    root = course(tmp_path, *people, seated=seated)
    mark(root, "A1", 5)
    mark(root, "A2", 1)
    return root


def test_no_difference_no_moderation_no_turn_and_no_row_reads_it(root: Path) -> None:
    desk = director(root)
    assert differences(desk) == ()
    with pytest.raises(Refusal, match="fewer than two observed sheets"):
        moderate(desk, "T6.C01", "keep-both", present=("A1", "A2"), reason="x")
    assert [[sheet.assessor for sheet in turn] for turn in locked_turns(desk)] == [["A1"], ["A1"]]
    assert {row["assessor"] for row in export_scores(desk).rows} == {"A1"}


def test_the_file_of_a_case_shows_no_mark_of_it(root: Path) -> None:
    record = case_record(director(root), "C01")
    assert [sheet["assessor"] for slot in record["slots"] for sheet in slot["sheets"]] == ["A1"]


def test_the_file_of_a_case_says_who_is_a_shadow_and_who_marked_by_a_waiver(tmp_path: Path) -> None:
    root = course(tmp_path, *EXPIRED)
    mark(root, "A1", 5)
    mark(root, "A2", 1)
    desk = director(root)
    told = str(case_document(case_record(desk, "C01")))
    assert "A2 in T6 counts as a shadow: the licence ended on 2026-01-31" in told
    waive(desk, "A2", "T6", "C02", "the renewal is in the post")
    assert case_record(desk, "C01")["waivers"] == []
    record = case_record(desk, "C02")
    said = "A2 may mark C02 in T6 although the licence ended on 2026-01-31 (D1: the renewal is in the post)"
    assert [item["sentence"] for item in record["waivers"]] == [f"{said}; in T6.C02; given after a sheet was locked"]
    assert said in str(case_document(record)) and desk.close()
