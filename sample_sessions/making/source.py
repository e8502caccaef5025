"""The texts and tables the sample course is made from."""

from __future__ import annotations

import csv
import hashlib
from functools import cache
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

__all__ = ["RUBRICS", "SOURCE", "rubric_bytes", "rubric_digests", "score_rows", "told"]

SOURCE = Path(__file__).resolve().parent.parent / "source"
RUBRICS = Path(__file__).resolve().parents[2] / "rubrics" / "alpine-ski"
VERSIONS = ("r-2026.1", "r-2026.2")


@cache
def told(name: str) -> Any:
    """What one of the YAML texts says. Raises FileNotFoundError for an unknown name."""
    return YAML(typ="safe", pure=True).load((SOURCE / f"{name}.yaml").read_text(encoding="utf-8"))


@cache
def score_rows() -> tuple[dict[str, str], ...]:
    """The 480 rows of the score table: day, task, order, candidate, assessor, criterion, score, status, rubric."""
    with (SOURCE / "course_scores.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


def rubric_bytes() -> dict[str, bytes]:
    """The rubric versions of the course as they stand in `rubrics/`, byte for byte, by id."""
    return {version: (RUBRICS / f"{version}.yaml").read_bytes() for version in VERSIONS}


def rubric_digests() -> dict[str, str]:
    """SHA-256 of each rubric version, 64 hex digits, by id."""
    return {version: hashlib.sha256(raw).hexdigest() for version, raw in rubric_bytes().items()}
