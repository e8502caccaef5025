"""The invented course K-2026-01 as cases of the marking rules (its data are in tests/data/marking)."""

from __future__ import annotations

import csv
import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from assess.marking.case import ModuleCase, SlotCase
from assess.marking.fold import fold_sheet
from assess.marking.results import BreachState, Sheet
from assess.records.rubric import Rubric
from tests.marking.building import Given, ledger, locked, rubric, scores, sheet_error

DATA = Path(__file__).parent.parent / "data" / "marking"
TASKS = {
    "T1": ("over-feet", "edging", "line", "speed-control"),
    "T2": ("separation", "rhythm", "edging", "lane-held"),
    "T3": ("over-feet", "absorb", "line", "speed-control"),
    "T4": ("plan-and-fit", "show-and-tell", "group-and-place", "learner-change"),
    "T5": ("diagnosis", "drill-choice", "build-up", "learner-change"),
    "T6": ("hazards", "rules-and-places", "incident-steps", "kit-and-weather"),
}
MODULES = {"demo": ("T1", "T2", "T3"), "teach": ("T4", "T5"), "safety": ("T6",)}
CANDIDATES = tuple(f"C{number:02d}" for number in range(1, 11))
VERSION = {"r-2026.1": "sha256:" + "1" * 64, "r-2026.2": "sha256:" + "2" * 64}


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@lru_cache(maxsize=1)
def sample_rules() -> Rubric:
    """The numbers of the course's rules: line 3.5, coverage .75, minimum 2.5, at most 3, 2, 1 values below the line."""
    errors = {"demo": "0.46", "teach": "0.55", "safety": "0.47"}
    return rubric(
        TASKS,
        modules={name: {"area": "x", "tasks": list(tasks)} for name, tasks in MODULES.items()},
        below_line={"demo": 3, "teach": 2, "safety": 1},
        band={"z": "1", "sheet_error": {name: sheet_error(value) for name, value in errors.items()}},
        passes={"T1": "last", "T2": "best", "T3": "overall"},
        must_nots=[{"id": "beyond-a-closure", "text": "past a rope", "closes": ["teach", "safety"]}],
    )


def sample_sheet(task: str, candidate: str, assessor: str, marks: Mapping[str, Given], version: str) -> Sheet:
    own = ledger(scores(marks), task=task, candidate=candidate, assessor=assessor, ref=VERSION[version])
    return fold_sheet([locked(own)], rubric=sample_rules())


@lru_cache(maxsize=1)
def first_sheets() -> dict[tuple[str, str], tuple[Sheet, ...]]:
    """(task, candidate) -> its sheets, from the table of scores."""
    marks: dict[tuple[str, str, str, str], dict[str, Given]] = {}
    for row in rows("course_scores.csv"):
        key = (row["task"], row["candidate"], row["assessor"], row["rubric"])
        scored = row["status"] == "scored"
        marks.setdefault(key, {})[row["criterion"]] = int(row["score"]) if scored else "not-observed"
    found: dict[tuple[str, str], tuple[Sheet, ...]] = {}
    for (task, candidate, assessor, version), given in marks.items():
        made = sample_sheet(task, candidate, assessor, given, version)
        found[task, candidate] = (*found.get((task, candidate), ()), made)
    return found


def slot_of(task: str, candidate: str, sheets: Sequence[Sheet], **more: Any) -> SlotCase:
    return SlotCase(task, candidate, tuple(sheet.assessor for sheet in sheets), sheets=tuple(sheets), **more)


def first_case(candidate: str, module: str, **more: Any) -> ModuleCase:
    """A module with its first sheets, the breach of C09 confirmed."""
    slots = tuple(slot_of(task, candidate, first_sheets()[task, candidate]) for task in MODULES[module])
    closed = BreachState("beyond-a-closure", "confirmed", ("safety", "teach"))
    breaches = (closed,) if candidate == "C09" else ()
    return ModuleCase(sample_rules(), module, candidate, slots, breaches, **more)


def _listed(task: str, levels: Sequence[int]) -> dict[str, Given]:
    return dict(zip(TASKS[task], levels, strict=True))


def _second(item: Mapping[str, Any]) -> SlotCase:
    """A repeat or a completion: a second performance, its own slot."""
    task = item["task"]
    sheets = [
        sample_sheet(f"{task}-2", item["candidate"], who, _listed(task, levels), "r-2026.1")
        for who, levels in item["sheets"].items()
    ]
    return slot_of(f"{task}-2", item["candidate"], sheets, kept_both=True)


def case_after_reserve(candidate: str, module: str) -> ModuleCase:
    """The same module after third looks, the repeat and the completions; every difference kept as it was."""
    acts = json.loads((DATA / "reserve_morning.json").read_text(encoding="utf-8"))
    case = first_case(candidate, module)
    slots = [replace(slot, kept_both=True) for slot in case.slots]
    slots += [
        _second(item)
        for item in (*acts["repeats"], *acts["completions"])
        if item["candidate"] == candidate and item["task"] in MODULES[module]
    ]
    looks = [item for item in acts["third_looks"] if (item["candidate"], item["module"]) == (candidate, module)]
    for look in looks:
        for place, slot in enumerate(slots):
            if slot.task in look["sheets"]:
                version = slot.sheets[0].rubric
                name = next(key for key, ref in VERSION.items() if ref == version)
                levels = _listed(slot.task, look["sheets"][slot.task])
                slots[place] = replace(slot, third=(sample_sheet(slot.task, candidate, look["by"], levels, name),))
    return replace(case, slots=tuple(slots), third_look="closed" if looks else "none")
