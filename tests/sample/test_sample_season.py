"""The sample season: made again to the same bytes, whole, and telling the story it is for."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from assess.desk.season_view import season_view
from assess.store.heads import head_problems
from assess.store.round_folder import load_folder
from tests.courses import open_desk

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_sessions"
SAMPLE = SAMPLES / "season"


def bytes_of(root: Path) -> dict[str, bytes]:
    return {str(path.relative_to(root)): path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()}


def make(tmp_path: Path, out: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, str(SAMPLES / "make_season.py"), "--out", str(out)]
    return subprocess.run(
        command, env={**os.environ, "ASSESS_CACHE_DIR": str(tmp_path)}, capture_output=True, text=True, check=False
    )


def test_made_again_it_has_the_same_bytes(tmp_path: Path) -> None:
    done = make(tmp_path, tmp_path / "again")
    assert done.returncode == 0, done.stderr
    assert bytes_of(tmp_path / "again") == bytes_of(SAMPLE)


def test_a_folder_that_is_no_season_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "kept.txt").write_text("mine", encoding="utf-8")
    done = make(tmp_path, tmp_path / "out")
    assert done.returncode == 1 and "no season" in done.stderr
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["kept.txt"]


def test_it_is_whole_and_nothing_is_wrong_with_it() -> None:
    folder = load_folder(SAMPLE)
    assert folder.problems == () and folder.notes == () and head_problems(folder) == []
    assert len(folder.ledgers) == 8 and all(file.ledger.locked for file in folder.ledgers)


def test_the_gaps_are_those_of_the_levels_and_get_smaller() -> None:
    desk = open_desk(SAMPLE, "KW")
    view = season_view(desk)
    desk.close()
    distances = [one.figures.mean_distance or 0.0 for line in view.films for one in line.compared]
    # Own less mentor's, criterion by criterion: 2 1 1 1; 1 1 1 0; -1 0 0 0; 0 0 0 -1.
    assert distances == [1.25, 0.75, 0.25, 0.25]
    assert [one.figures.bias for line in view.films for one in line.compared] == [1.25, 0.75, -0.25, -0.25]
    assert all(one.figures.timed_share == 1 for line in view.films for one in line.compared)
    # Least squares by hand over days 0, 28, 56, 84.
    slope = sum((d - 42) * g for d, g in zip((0, 28, 56, 84), distances, strict=True)) / (2 * (42**2 + 14**2))
    assert view.trend.n == 4 and view.trend.per_month == pytest.approx(30 * slope)
    assert [action.id for action in view.actions] == ["a2"]


def test_the_mentor_names_a_cause_the_trainee_missed_in_the_first_film() -> None:
    desk = open_desk(SAMPLE, "KW")
    first = season_view(desk).films[0].compared[0]
    desk.close()
    assert first.own_faults != first.other_faults
