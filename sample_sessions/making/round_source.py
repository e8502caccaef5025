"""The texts the sample calibration round is made from, and the chance that is the same on every machine."""

from __future__ import annotations

import hashlib
from functools import cache
from typing import Any

from ruamel.yaml import YAML

from making.source import SOURCE, rubric_bytes, rubric_digests

__all__ = ["CRITERIA", "RUBRIC", "TASK", "chance", "deviate", "round_bytes", "rubric_copy", "texts", "words"]

FOLDER = SOURCE / "calibration"
RUBRIC, TASK = "r-2026.2", "T5"
CRITERIA = ("diagnosis", "drill-choice", "build-up", "learner-change")
SEED = "R-2026-11"
_NORMAL = 12


@cache
def texts(name: str) -> Any:
    """What one of the YAML texts says. Raises FileNotFoundError for an unknown name."""
    return YAML(typ="safe", pure=True).load((FOLDER / f"{name}.yaml").read_text(encoding="utf-8"))


def chance(*of: object) -> float:
    """A number from 0 to 1 (excluded), the same for the same `of`."""
    digest = hashlib.sha256("|".join((SEED, *map(str, of))).encode()).digest()
    return int.from_bytes(digest[:6], "big") / 2**48


def deviate(*of: object) -> float:
    """A deviate that is as good as normal, mean 0 and spread 1: twelve even ones added up, so no machine differs."""
    return sum(chance(*of, number) for number in range(_NORMAL)) - _NORMAL / 2


def words(lesson: str, criterion: str, level: int, reader: int) -> str:
    """What a marker writes about a criterion of a lesson; markers with other numbers mostly write something else."""
    told = next(item for item in texts("lessons")["lessons"] if item["id"] == lesson)[criterion]
    pool = told["low" if level <= 3 else "high"]
    return str(pool[reader % len(pool)])


def round_bytes(name: str) -> bytes:
    """A hand-edited file of the round as it stands in the source."""
    return (FOLDER / f"{name}.yaml").read_bytes()


def rubric_copy() -> tuple[str, bytes]:
    """The digest of the rubric of the round and its bytes."""
    return rubric_digests()[RUBRIC], rubric_bytes()[RUBRIC]
