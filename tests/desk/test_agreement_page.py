"""The page of how alike assessors mark says the numbers of `assess agreement`, to everybody of a course the same."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.agreeing import agreement_of
from assess.desk.pages import page_of
from assess.records.errors import AssessError, Refusal
from assess.reports.document import Listing, Table
from tests.courses import build_course

SAMPLES = Path(__file__).resolve().parent.parent.parent / "sample_sessions"
COURSE = SAMPLES / "course"


def tables(who: str) -> dict[str, Table]:
    document = page_of("agreement", COURSE, who).document
    return {block.caption: block for part in document.sections for block in part.blocks if isinstance(block, Table)}


def test_every_number_is_that_of_the_command_with_its_interval_and_its_n() -> None:
    found, said = agreement_of([COURSE]), tables("D1")
    rows = {row[0]: row[1:] for row in said["Agreement, with 95 % intervals"].rows}
    for name, one in (
        ("The same level, of all pairs", found.percent_agreement), ("Krippendorff's alpha", found.krippendorff_alpha),
        ("Fleiss's kappa", found.fleiss_kappa), *((f"{n}, {r}", e) for n, e in found.icc for r in [_form(rows, n)]),
    ):  # fmt: skip
        assert one.estimate is not None and one.ci95 is not None
        assert rows[name] == (f"{one.estimate:.2f}", f"{one.ci95[0]:.2f} to {one.ci95[1]:.2f}", str(one.n))
    assert found.at_pass_line is not None
    shares = [int(row[1].removesuffix(" %")) for row in said["Two scores of the same thing, at the pass line"].rows]
    assert abs(sum(shares) - 100) <= 1
    assert len(said["Two assessors on the same things (levels, on average)"].rows) == 6


def _form(rows: dict[str, tuple[str, ...]], name: str) -> str:
    (form,) = (row.partition(", ")[2] for row in rows if row.startswith(f"{name}, "))
    return form


def test_it_is_the_same_for_all_who_ask_dated_by_the_record_and_says_what_is_meant() -> None:
    pages = [page_of("agreement", COURSE, who) for who in ("A1", "D1")]
    assert pages[0] == pages[1]
    assert pages[0].audience == "panel" and pages[0].document.dated == "2026-02-04"
    sentences = next(b for b in pages[0].document.sections[0].blocks if isinstance(b, Listing)).items
    assert any(said.startswith("Of 100 pairs of scores on the same thing, 47 were equal") for said in sentences)
    assert "never a verdict" in pages[0].document.closing[0]


def test_without_a_name_in_a_round_and_where_nothing_is_locked_it_is_refused(tmp_path: Path) -> None:
    for path, who in ((COURSE, None), (SAMPLES / "calibration", "D1")):
        with pytest.raises(Refusal):
            page_of("agreement", path, who)
    with pytest.raises(AssessError):
        page_of("agreement", build_course(tmp_path / "course"), "A1")
