"""The page of the criteria says what the screen says, with every n."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.criteria import criteria_of
from assess.desk.pages import page_lines, page_of
from assess.records.errors import Refusal
from assess.reports.document import Table
from tests.courses import build_course, open_desk

SAMPLES = Path(__file__).resolve().parent.parent.parent / "sample_sessions"
COURSE = SAMPLES / "course"


def test_every_criterion_has_its_share_its_interval_and_its_n_the_lowest_first() -> None:
    desk = open_desk(COURSE, "D1")
    found = criteria_of(desk)
    desk.close()
    page = page_of("criteria", COURSE, "D1")
    (table,) = page.document.sections[1].blocks
    assert isinstance(table, Table)
    assert [row[0] for row in table.rows] == [row.label for row in found.rows]
    for told, row in zip(table.rows, found.rows, strict=True):
        assert row.equal.estimate is not None and row.equal.ci95 is not None
        low, high = row.equal.ci95
        assert told[2:4] == (f"{100 * row.equal.estimate:.0f} %", f"{100 * low:.0f} to {100 * high:.0f} %")
        assert told[5:7] == (str(row.pairs), str(row.equal.n_candidates))
        assert told[7] == (", ".join(map(str, row.unused)) or "-")
    lines = "\n".join(page_lines(page))
    assert found.told[0][:40] in lines and all(name in " ".join(lines.split()) for name in found.silent_must_nots)
    assert page.audience == "panel" and page.document.dated == "2026-02-04"


def test_before_the_release_without_a_name_and_in_a_round_it_is_refused(tmp_path: Path) -> None:
    course = build_course(tmp_path / "course")
    for path, who in ((SAMPLES / "calibration", "D1"), (COURSE, None), (course, "A1"), (course, "D1")):
        with pytest.raises(Refusal):
            page_of("criteria", path, who)
