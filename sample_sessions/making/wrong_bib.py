"""Digits given to the wrong one of two candidates who look alike, and moved: both sheets keep what happened."""

from __future__ import annotations

from assess.records.facts import MovedIn, MovedOut, Score
from making.acts import Act, Later, on_sheet, sheet_name
from making.scores import score, sheet_rows
from making.source import told
from making.viewpoints import viewpoint_in

__all__ = ["moved_digits"]


def moved_digits(task: str, candidate: str, who: str, acts: list[Act]) -> list[Act]:
    """The acts of a sheet with its first digits given to the other candidate first, then moved here."""
    for swap in told("on-the-hill")["wrong_bib"]:
        if (swap["task"], swap["meant"], swap["assessor"]) == (task, candidate, who):
            return _moved(task, who, candidate, swap["taken_for"], int(swap["digits"]), acts)
    return acts


def _moved(task: str, who: str, meant: str, other: str, count: int, acts: list[Act]) -> list[Act]:
    first, rest = acts[:count], acts[count:]
    rows = sheet_rows(task, meant, who)[:count]
    label = f"{task}.{other}.{who}.wrong-bib"
    # The move is made between the digits already given and the next one.
    moved_at = rest[0].at_ms - 1400
    wrong = [Act(act.at_ms, who, "sheet", (task, other), act.fact, label) for act in first]
    marks = [score(row, viewpoint=viewpoint_in(task, meant, who)) for row in rows]
    here = [on_sheet(moved_at, (task, meant), who, _arrived(label, sheet_name(task, other, who)))]
    here += [on_sheet(moved_at + 1 + n, (task, meant), who, _copy(mark, label, n)) for n, mark in enumerate(marks)]
    gone = on_sheet(moved_at + 10, (task, other), who, _left(label, sheet_name(task, meant, who)))
    return [*wrong, *here, gone, *rest]


def _arrived(label: str, source: str) -> Later:
    return lambda _ledger, numbers: MovedIn(source=source, of=numbers[label])


def _left(label: str, to: str) -> Later:
    return lambda _ledger, numbers: MovedOut(to=to, of=numbers[label])


def _copy(mark: Score, label: str, place: int) -> Later:
    return lambda _ledger, numbers: mark.model_copy(update={"moved_from": numbers[label][place]})
