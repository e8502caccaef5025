"""A whole document of every kind of file that one model reads: the shipped one, where one is shipped."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from assess.store.yaml_file import read_yaml
from tests.cli.commands import ROOT
from tests.courses import RUBRIC

__all__ = ["DOCUMENTS", "shipped_files", "yaml_as_json"]

SAMPLES, RUBRICS = ROOT / "sample_sessions", ROOT / "rubrics"
_RSA_FREE = "A" * 43
_ROUND, _COURSE, _SEASON = SAMPLES / "calibration", SAMPLES / "course", SAMPLES / "season"


def yaml_as_json(path: Path) -> Any:
    """A hand-edited file as JSON has it: keys are text."""
    what = path.read_text(encoding="utf-8").split(maxsplit=3)[2]
    return json.loads(json.dumps(read_yaml(path, what=what).data))


def shipped_files() -> list[tuple[str, Path]]:
    """(schema, file) of every hand-edited file that is shipped; a file no schema is known for is named `?`."""
    found = [path for root in (SAMPLES, RUBRICS) for path in sorted(root.rglob("*.yaml"))]
    ledgers = ("sheets", "days", "decisions", "seals")
    # `source` is what the samples are made from, read by the scripts beside it alone; `new` holds words in place of
    # values, and is tested as what `assess new` makes of it.
    aside = {"source", "new"}
    kept = [path for path in found if path.parent.name not in ledgers and not aside & set(path.parts)]
    return [(_schema_of(path), path) for path in kept]


def _schema_of(path: Path) -> str:
    if path.parent.name == "rubrics" or path.stem.startswith("r-"):
        return "rubric"
    if path.parent.name == "practice":
        return "lesson"
    return path.stem if path.stem in DOCUMENTS else "?"


def _keys() -> Any:
    from tests.store.signed_course import signed_course

    with TemporaryDirectory() as folder:
        return yaml_as_json(signed_course(Path(folder) / "signed") / "keys.yaml")


def _package() -> Any:
    from assess.desk.checking import read_rubric
    from assess.desk.rubric_give import give_rubric

    return json.loads(give_rubric(read_rubric(RUBRIC)[0]).raw)


def _overlay() -> Any:
    catalogue = RUBRICS / "alpine-ski" / "catalogue"
    lists = {what: yaml_as_json(catalogue / f"{what}.yaml")[what][:2] for what in ("faults", "drills", "skills")}
    return {"off": ["pizza"], **lists}


def _measured() -> Any:
    measure = yaml_as_json(RUBRICS / "alpine-ski" / "catalogue" / "measures.yaml")["measures"][0]
    return {"measure": measure, "place": "practice slope", "slope": 12.0, "snow": "packed", "ability": 3.0}


def _file(path: Path) -> Callable[[], Any]:
    return lambda: yaml_as_json(path)


def _given(document: Any) -> Callable[[], Any]:
    return lambda: document


_CATALOGUE = {
    name: _file(RUBRICS / "alpine-ski" / "catalogue" / f"{name}.yaml")
    for name in ("faults", "drills", "skills", "vocab", "measures", "settings")
}
DOCUMENTS: dict[str, Callable[[], Any]] = {
    "course": _file(_COURSE / "course.yaml"),
    "people": _file(_COURSE / "people.yaml"),
    "quality": _file(_COURSE / "quality.yaml"),
    "round": _file(_ROUND / "round.yaml"),
    "reference": _file(_ROUND / "reference.yaml"),
    "season": _file(_SEASON / "season.yaml"),
    "rubric": _file(RUBRIC),
    "lesson": _file(SAMPLES / "practice" / "alpine-ski.yaml"),
    "keys": cache(_keys),
    "rubric-package": cache(_package),
    "overlay": _overlay,
    "measured-side": _measured,
    **_CATALOGUE,
    "public-key": _given({"name": "signing", "kind": "ed25519", "made": "2027-01-31", "public": _RSA_FREE}),
    "groups": _given(
        {
            "asked": "by form",
            "persons": [
                {"id": "p1", "attempts": ["K-2025-01/C02", "K-2026-01/C01"], "groups": {"first-language": "mine"}},
                {"id": "p2", "attempts": ["K-2026-01/C02"], "groups": {"first-language": "another"}},
            ],
        }
    ),
    "turns-side": _given(
        {
            "kind": "carved", "method": "video", "precision": {"switch_s": 0.04, "place_m": 0.5},
            "units": {"v_in": "km/h"}, "targets": {"rhythm": [0, 5]},
        }
    ),
    "plan": _given(
        {
            "seed": 7, "light": ["09:00-12:00"], "days": [{"day": 2, "light": ["10:00-12:00"]}], "lift_minutes": 6,
            "pairs": 2, "tasks": [{"task": "T1", "starts": "09:30", "every": 12, "learners": ["L1"]}],
            "keep": [{"task": "T1", "candidate": "C01", "assessors": ["A1", "A2"]}],
        }
    ),
}  # fmt: skip
"""Schema -> a whole document of it, read or made when it is asked for."""
