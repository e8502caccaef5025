"""The sample calibration round: made again to the same bytes, whole, and telling the story it is for."""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from assess.desk.rounds import RoundView, round_view
from assess.marking.holes import holes
from assess.records.facts import Observation
from assess.store.heads import head_problems
from assess.store.round_folder import load_round
from tests.courses import open_desk

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_sessions"
SAMPLE = SAMPLES / "calibration"


@pytest.fixture(scope="module")
def view() -> Iterator[RoundView]:
    desk = open_desk(SAMPLE, "D1")
    yield round_view(desk)
    desk.close()


def bytes_of(root: Path) -> dict[str, bytes]:
    return {str(path.relative_to(root)): path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()}


def test_made_again_it_has_the_same_bytes(tmp_path: Path) -> None:
    command = [sys.executable, str(SAMPLES / "make_calibration.py"), "--out", str(tmp_path / "again")]
    done = subprocess.run(
        command, env={**os.environ, "ASSESS_CACHE_DIR": str(tmp_path)}, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    made, kept = bytes_of(tmp_path / "again"), bytes_of(SAMPLE)
    assert sorted(made) == sorted(kept)
    assert [name for name in made if made[name] != kept[name]] == []


def test_a_folder_that_is_no_round_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "kept.txt").write_text("mine", encoding="utf-8")
    command = [sys.executable, str(SAMPLES / "make_calibration.py"), "--out", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 1 and "no calibration round" in done.stderr
    assert bytes_of(tmp_path) == {"kept.txt": b"mine"}


def test_every_file_reads_without_a_problem_and_every_chain_fits() -> None:
    folder = load_round(SAMPLE)
    assert [str(problem) for problem in (*folder.problems, *folder.notes)] == []
    assert [str(problem) for problem in head_problems(folder)] == []
    originals = {path.read_bytes() for path in (ROOT / "rubrics" / "alpine-ski").glob("r-*.yaml")}
    assert all(copy.read_bytes() in originals for copy in (SAMPLE / "rubrics").glob("*.yaml"))


def test_twelve_lessons_half_of_them_near_the_line_four_twice_five_assessors_and_a_panel_of_five(
    view: RoundView,
) -> None:
    this = view.round
    assert (len(this.lessons), len(this.repeats), len(this.assessors), len(this.panel)) == (12, 4, 5, 5)
    assert view.reference is not None and view.reference.near == 6
    assert all(each.done for each in view.locks)
    assert all(not item.missing for item in view.reference.lessons)
    orders = [this.mine(who) for who in this.assessors]
    assert len(set(orders)) == 5 and all(len(order) == 16 for order in orders)


def test_the_mild_the_drifting_and_the_flat_marker_are_found_and_the_two_good_ones_are_not_accused(
    view: RoundView,
) -> None:
    looks = {found.assessor: found.looks for found in view.assessors}
    assert looks["A1"] == () and looks["A5"] == ()
    assert looks["A2"] == ("milder than the panel",)
    assert "gives less and less" in looks["A3"]
    assert looks["A4"] == ("flat sheets",)
    results = {found.assessor: found.judged.result for found in view.assessors if found.judged}
    assert results == {"A1": "current", "A2": "train", "A3": "mark-again", "A4": "mark-again", "A5": "current"}


def test_the_rule_of_the_sample_passes_good_markers_and_stops_poor_ones(view: RoundView) -> None:
    assert view.refused == ""
    current = {each.marker: dict(each.shares)["current"] for each in view.chances}
    assert current["good"] > 0.95
    assert current["severe"] < 0.02 and current["flat"] < 0.02 and current["drifting"] < 0.2


def test_every_sheet_is_complete_and_its_words_are_short() -> None:
    desk = open_desk(SAMPLE, "D1")
    rubric = desk.rubric_for("T5")
    for slot in desk.course.allocation:
        for who in slot.assessors:
            sheet = desk.folded(slot.task, slot.candidate, who)
            assert sheet.locked and not any(hole.blocks for hole in holes(sheet, rubric)), (slot.candidate, who)
    texts = Counter(
        entry.fact.text
        for file in desk.folder.ledgers
        for entry in file.ledger.entries
        if isinstance(entry.fact, Observation) and entry.fact.text
    )
    assert len(texts) > 200 and max(map(len, texts)) <= 80
    desk.close()


def test_each_marker_took_the_hours_a_calibration_day_has() -> None:
    for who in ("A1", "A2", "A3", "A4", "A5"):
        times = [
            entry.at
            for file in load_round(SAMPLE).ledgers
            if file.ledger.header.assessor == who
            for entry in file.ledger.entries
        ]
        assert min(times)[:10] == max(times)[:10] == "2026-11-14"
        assert 2 <= int(max(times)[11:13]) - int(min(times)[11:13]) <= 5
