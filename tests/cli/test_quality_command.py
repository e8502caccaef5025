"""`assess quality`: exit codes, the document other programs rely on, and what it is on the sample course."""

from __future__ import annotations

import json
import math
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import ROOT, assess, tree
from tests.courses import build_course
from tests.desk.quality_courses import PLAN

SAMPLE = ROOT / "sample_sessions" / "course"
ON = ("--as", "D1", "--on", "2026-11-30", "--replicates", "100")
KEYS = {
    "note", "clauses", "on", "courses", "quality_files", "due", "last_report", "overdue", "findings", "reliability",
    "pooled_sheet_error", "decision_consistency", "assessors", "assessors_undefined", "pass_lines", "groups",
    "separation", "replicates", "seed",
}  # fmt: skip


@pytest.fixture(scope="module")
def sample() -> dict[str, Any]:
    ran = assess("quality", SAMPLE, *ON, "--json")
    assert ran.code == 1
    told: dict[str, Any] = ran.json
    return told


def numbers(document: Any) -> list[float]:
    if isinstance(document, dict):
        return [number for item in document.values() for number in numbers(item)]
    if isinstance(document, list):
        return [number for item in document for number in numbers(item)]
    return [document] if isinstance(document, int | float) and not isinstance(document, bool) else []


def test_the_document_has_its_keys_and_every_number_is_one(sample: dict[str, Any]) -> None:
    assert set(sample) == KEYS
    assert all(map(math.isfinite, numbers(sample)))
    assert sample["groups"] is None and sample["assessors_undefined"] is None
    assert sample["clauses"]["due"] == [{"source": "ISO/IEC 17024:2012", "number": "9.3.5", "from_memory": False}]


def test_the_sample_course_is_overdue_and_one_line_has_no_record(sample: dict[str, Any]) -> None:
    assert [item["what"] for item in sample["overdue"]] == ["quality report", "corrective action"]
    assert {line["rubric"]: line["state"] for line in sample["pass_lines"]} == {
        "r-2026.1": "recorded", "r-2026.2": "missing",
    }  # fmt: skip
    assert (sample["due"], sample["last_report"]["on"]) == ("2026-10-01", "2025-10-01")
    assert sample["separation"]["standing"] == [] and sample["separation"]["open_threats"] == 1


def test_every_estimate_that_is_none_says_why_and_the_others_have_n_and_interval(sample: dict[str, Any]) -> None:
    held = [
        estimate
        for module in (*sample["reliability"], *sample["decision_consistency"])
        for key, estimate in module.items()
        if isinstance(estimate, dict) and "estimate" in estimate
    ]
    assert len(held) >= 15
    for estimate in held:
        if estimate["estimate"] is None:
            assert "n=" in estimate["undefined"] and estimate["ci95"] is None
        else:
            low, high = estimate["ci95"]
            assert estimate["n"] > 0 and low <= estimate["estimate"] <= high and estimate["interval"]


def test_the_error_of_a_sheet_is_that_of_the_pairs_of_the_score_table(sample: dict[str, Any]) -> None:
    """Recomputed from the rows of the sample's score table: sheets with three criteria of four seen or more."""
    import csv

    with (ROOT / "sample_sessions" / "source" / "course_scores.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    of_sheet: dict[tuple[str, str, str], list[str]] = {}
    for row in rows:
        of_sheet.setdefault((row["task"], row["candidate"], row["assessor"]), []).append(row["score"])
    turns: dict[tuple[str, str], list[float]] = {}
    for (task, candidate, _), marks in of_sheet.items():
        given = [int(mark) for mark in marks if mark]
        if task in ("T1", "T2", "T3") and len(given) >= 3:
            turns.setdefault((task, candidate), []).append(sum(given) / len(given))
    pairs = [values for values in turns.values() if len(values) == 2]
    want = math.sqrt(sum((a - b) ** 2 for a, b in pairs) / (2 * len(pairs)))
    [demo] = [module for module in sample["reliability"] if module["module"] == "demo"]
    assert demo["sheet_error"]["n"] == len(pairs)
    assert demo["sheet_error"]["estimate"] == pytest.approx(want)


def test_text_leads_with_what_it_is_not_and_what_is_to_be_done() -> None:
    ran = assess("quality", SAMPLE, *ON)
    assert ran.code == 1 and ran.err == ""
    lines = ran.out.split("\n")
    assert lines[0].startswith("Using this program makes no body conform")
    assert "! quality report overdue since 2026-10-01" in lines
    assert max(map(len, lines)) <= 79


def test_a_copy_of_the_sample_can_be_checked_merged_and_read(tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    for copy in (one, two):
        shutil.copytree(SAMPLE, copy)
    (two / "quality.yaml").unlink()
    assert assess("check", one, "--as", "D1").code == 0
    before = tree(one)
    assert assess("merge", one, two, "--as", "D1").code == 0
    assert tree(one)["quality.yaml"] == before["quality.yaml"]
    # It is the director's alone: a merge carries it to nobody.
    assert assess("merge", two, one, "--as", "D1").code == 0
    assert not (two / "quality.yaml").exists()
    assert assess("quality", two, *ON).code == 1


def test_exit_codes(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course")
    (root / "quality.yaml").write_text(PLAN, encoding="utf-8")
    assert assess("quality", root, "--as", "D1", "--on", "2025-10-01").code == 0
    assert assess("quality", root, "--as", "D1", "--on", "2025-10-02").code == 1
    refused = assess("quality", root, "--as", "A1")
    assert (refused.code, refused.out) == (1, "") and "for a director" in refused.err
    assert assess("quality", root, "--as", "D1", "--on", "soon").code == 2
    assert assess("quality", root, "--as", "Z9").code == 2
    missing = assess("quality", root, "--as", "D1", "--groups", tmp_path / "groups.yaml")
    assert (missing.code, missing.out) == (3, "") and "is not there" in missing.err
    (root / "quality.yaml").write_text(PLAN.replace("3.5", "three"), encoding="utf-8")
    broken = assess("quality", root, "--as", "D1", "--json")
    assert (broken.code, broken.out) == (3, "") and "quality.yaml:7:" in broken.err


def test_new_quality_makes_the_file_the_report_then_reads(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course")
    assert assess("new", "quality", root).code == 0
    told = assess("quality", root, "--as", "D1", "--json").json
    assert told["quality_files"] == [str(root / "quality.yaml")] and told["overdue"] == []
    assert [line["state"] for line in told["pass_lines"]] == ["missing"]
    assert json.loads(assess("schema", "quality").out)["title"] == "QualityFile"
