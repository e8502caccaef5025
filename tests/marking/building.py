"""Rubrics, ledgers and cases for the marking tests; every number in the rubric can be set."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from typing import Any

from assess.marking.case import ModuleCase, SlotCase
from assess.marking.fold import fold_sheet
from assess.marking.results import Sheet
from assess.records.facts import Fact, Lock, Observation, Score
from assess.records.ledger import Entry, Header, Ledger
from assess.records.rubric import Rubric
from assess.records.times import instant

REF = "sha256:" + "a" * 64
START = 1_800_000_000_000

Given = int | str


def rubric(tasks: Mapping[str, Sequence[str]] | None = None, **changes: Any) -> Rubric:
    """A rubric with one module `m` over all tasks (default T1: a b c d, T2: a e f g), line 3.5 on 1..6."""
    tasks = tasks or {"T1": ("a", "b", "c", "d"), "T2": ("a", "e", "f", "g")}
    criteria = sorted({criterion for held in tasks.values() for criterion in held})
    words = {level: f"level {level}" for level in range(1, 7)}
    whole: dict[str, Any] = {
        "id": "r-test",
        "title": "A rubric for tests",
        "activity": "any",
        "language": "en",
        "scale": {"min": 1, "max": 6, "pass_line": "3.5", "words": words},
        "areas": {"x": {"title": "Area"}},
        "modules": {"m": {"area": "x", "tasks": list(tasks)}},
        "tasks": {t: {"area": "x", "title": t, "minutes": 5, "criteria": list(held)} for t, held in tasks.items()},
        "criteria": {k: {"area": "x", "label": k[:24], "text": k, "levels": words} for k in criteria},
        "coverage": "0.75",
        "evidence_needed": {"below": "3.5", "also": [6]},
        "minimum": {"value": "2.5"},
        "below_line": {"m": 2},
        "two_markers": {"sheet_apart": "0.75", "criterion_apart": 2},
        "band": {"z": "1", "sheet_error": {"m": sheet_error("0.5")}},
        "must_nots": [
            {"id": "past-a-rope", "text": "goes past a rope", "closes": ["m"]},
            {"id": "elsewhere", "text": "closes another module", "closes": ["other"]},
        ],
    }
    return Rubric.model_validate({**whole, **changes})


def sheet_error(value: str) -> dict[str, Any]:
    return {"value": value, "source": "invented", "date": "2025-01-01", "n_pairs": 40, "ci95": ["0.4", "0.6"]}


def ledger(
    facts: Sequence[Fact | tuple[int, Fact]],
    *,
    task: str = "T1",
    candidate: str = "C01",
    assessor: str = "A1",
    device: str = "d1x",
    ref: str = REF,
    start: int = 0,
) -> Ledger:
    """A ledger with one entry per fact, a second apart after `start` seconds, or at the second given with it."""
    header = Header(
        kind="sheet", course="K-1", task=task, candidate=candidate, assessor=assessor, rubric=ref, device=device,
        opened=instant(START),
    )  # fmt: skip
    entries: list[Entry] = []
    for n, item in enumerate(facts, 1):
        second, fact = item if isinstance(item, tuple) else (start + n, item)
        at = instant(START + 1000 * second)
        before = entries[-1].chain if entries else header.name
        chain = hashlib.sha256(f"{before} {n} {at} {fact.payload()}".encode()).hexdigest()[:16]
        entries.append(Entry(n, at, fact, chain))  # type: ignore[arg-type]
    return Ledger(header.name, header, tuple(entries))


def locked(own: Ledger, *others: Ledger, second: int = 3600) -> Ledger:
    """The ledger with a lock that covers it and the others as they stand."""
    heads = {item.name: item.head for item in (own, *others)}
    lock = Lock(heads=heads, seal="sha256:" + "0" * 64)
    return Ledger(
        own.name,
        own.header,
        (*own.entries, Entry(len(own.entries) + 1, instant(START + 1000 * second), lock, "f" * 16)),
    )


def scores(marks: Mapping[str, Given], run: int = 1) -> list[Fact]:
    """One score per criterion: a level, `not-observed` or `not-applicable`."""
    return [
        Score(run=run, criterion=k, level=given)
        if isinstance(given, int)
        else Score(run=run, criterion=k, status=given)
        for k, given in marks.items()
    ]


def seen(*criteria: str, **more: Any) -> Observation:
    return Observation(text="seen", criteria=criteria, **more)


def sheet(
    rules: Rubric,
    marks: Mapping[str, Given],
    *,
    task: str = "T1",
    assessor: str = "A1",
    candidate: str = "C01",
    ref: str = REF,
    lock: bool = True,
) -> Sheet:
    """A folded sheet with these marks, locked unless told otherwise."""
    own = ledger(scores(marks), task=task, candidate=candidate, assessor=assessor, ref=ref)
    return fold_sheet([locked(own) if lock else own], rubric=rules)


def slot(rules: Rubric, task: str, sheets: Mapping[str, Mapping[str, Given]], **more: Any) -> SlotCase:
    """A slot of C01 with one locked sheet per assessor."""
    folded = tuple(sheet(rules, marks, task=task, assessor=who) for who, marks in sheets.items())
    return SlotCase(task=task, candidate="C01", allocated=tuple(sheets), sheets=folded, **more)


def case(rules: Rubric, *slots: SlotCase, **more: Any) -> ModuleCase:
    return ModuleCase(rubric=rules, module="m", candidate="C01", slots=slots, **more)


def flat(rules: Rubric, task: str, level: Given) -> dict[str, Given]:
    """The same mark on every criterion of a task."""
    return dict.fromkeys(rules.tasks[task].criteria, level)


def even(rules: Rubric, level: int, **more: Any) -> ModuleCase:
    """Two markers in every task, all marks the same."""
    slots = (slot(rules, t, {"A1": flat(rules, t, level), "A2": flat(rules, t, level)}) for t in rules.tasks)
    return case(rules, *slots, **more)
