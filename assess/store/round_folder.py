"""A calibration round or a season as it stands on disk, read as a course whose candidates are lessons or films.

The panel's reasons (`reference.yaml`) may be missing: a director keeps them back until the assessors have locked.
"""

from __future__ import annotations

from pathlib import Path

from assess.records.round import Round
from assess.records.season import Season
from assess.store.course_files import folder_kind
from assess.store.course_folder import CourseFolder, load_course
from assess.store.framed_folder import load_framed
from assess.store.round_checks import reason_problems, round_problems
from assess.store.season_checks import season_problems

__all__ = ["load_folder", "load_round", "load_season"]


def load_folder(root: Path) -> CourseFolder:
    """The course, calibration round or season at `root`. Raises InputError as the three readers do."""
    kind = folder_kind(root)
    return load_round(root) if kind == "round" else load_season(root) if kind == "season" else load_course(root)


def load_round(root: Path) -> CourseFolder:
    """Everything the folder of a round holds. Raises InputError when `round.yaml` or `people.yaml` cannot be used."""
    instead = "a calibration round has lessons and no candidates; these are not read"
    return load_framed(root, "round", Round, "date", instead, round_problems, reason_problems)


def load_season(root: Path) -> CourseFolder:
    """Everything the folder of a season holds. Raises InputError when `season.yaml` or `people.yaml` cannot be used."""
    instead = "a season has films and no candidates; these are not read"
    return load_framed(root, "season", Season, "films", instead, season_problems)
