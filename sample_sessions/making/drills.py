"""Drills and practice: begun with one key while the lesson runs, their details then or in the minutes after."""

from __future__ import annotations

from typing import Any

from assess.records.facts import Drill, Interval
from making.acts import Act, Later, on_sheet
from making.moments import SECOND, minutes, uneven

__all__ = ["drills"]

# A1 and A3 keep their eyes on the snow and name the drills afterwards; A2 names them and leaves it there.
DETAILS_LATER = ("A1", "A3")
NO_DETAILS = ("A2",)
EXPLAINED_S = (18, 34)


def drills(said: dict[str, Any], task: str, candidate: str, who: str, origin: int) -> list[Act]:
    """The drills of one lesson as one assessor wrote them down, with practice on and off where times were kept."""
    acts: list[Act] = []
    after = origin + uneven(25 * 60 + 8, 25 * 60 + 20, "details", task, candidate, who)
    ended = said.get("ended")
    if ended:
        after = origin + minutes(ended["minute"]) + uneven(150, 170, "details", task, candidate, who)
    for number, (begins, ends, drill, slope, success) in enumerate(said["drills"]):
        at = origin + minutes(begins) + uneven(-2, 7, "drill", number, task, candidate, who)
        whole = {"drill": drill, "slope_deg": slope, "success": success}
        if who in NO_DETAILS:
            whole = {"drill": drill}
        slot, label = (task, candidate), f"drill.{number}"
        shown = {} if who in DETAILS_LATER else whole
        acts.append(on_sheet(at, slot, who, Drill.model_validate({**shown, "minute_ms": at - origin}), label))
        if who in DETAILS_LATER:
            after += uneven(6, 11, "detail", number, task, candidate, who)
            acts.append(on_sheet(after, slot, who, _details(whole, acts[-1].label)))
        if who in said.get("time", []):
            acts += _practice(slot, who, origin, at + uneven(*EXPLAINED_S, "explained", number, task, candidate), ends)
    return acts


def _details(whole: dict[str, Any], label: str) -> Later:
    return lambda _ledger, numbers: Drill.model_validate({**whole, "of": numbers[label][-1]})


def _practice(slot: tuple[str, str], who: str, origin: int, begins: int, ends: str) -> list[Act]:
    stops = origin + minutes(ends) + uneven(-4, 4, "practice", *slot, who, ends)
    return [
        on_sheet(at, slot, who, Interval(use="practise", on=on, minute_ms=at - origin))
        for on, at in ((True, begins), (False, max(stops, begins + 20 * SECOND)))
    ]
