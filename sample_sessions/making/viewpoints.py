"""From where each assessor watched a task."""

from __future__ import annotations

from typing import get_args

from assess.records.facts import View, Viewpoint
from making.acts import Act, on_sheet
from making.moments import SECOND, at_clock, slot_start, uneven
from making.source import told

__all__ = ["viewpoint_in", "views"]


def _places(task: str, who: str) -> list[tuple[int, str]]:
    """Where somebody stood from when on, in order; empty when it was not noted."""
    hill, course = told("on-the-hill"), told("course-plan")
    first = hill["viewpoints"].get(task, {}).get(who)
    if first is None:
        return []
    day = next(item["day"] for item in course["tasks"] if item["id"] == task)
    starts = [at_clock(day, slot["at"]) for slot in course["allocation"] if slot["task"] == task]
    places = [(min(starts) - uneven(60, 150, "view", task, who), first)]
    places += [
        (at_clock(day, move["at"]) + uneven(0, 20, "moved", task, who), move["to"])
        for move in hill["moved"]
        if (move["task"], move["assessor"]) == (task, who)
    ]
    return places


def viewpoint_in(task: str, candidate: str, who: str) -> str | None:
    """From where somebody watched a slot, as it stands in its sheet; None when it was not noted."""
    before = [place for since, place in _places(task, who) if _noted_in(task, candidate, since)]
    return before[-1] if before else None


def _noted_in(task: str, candidate: str, since: int) -> bool:
    """True when a place taken at `since` is noted in this sheet: its slot was still to come."""
    return slot_start(task, candidate) > since - 30 * SECOND


def views(task: str, who: str, candidates: list[str]) -> list[Act]:
    """Where somebody stands, noted in the sheets of all candidates still to come, one after the other."""
    acts = []
    for since, place in _places(task, who):
        if place not in get_args(Viewpoint):
            raise ValueError(f"{place} is no viewpoint")
        fact = View.model_validate({"viewpoint": place})
        ahead = [candidate for candidate in candidates if _noted_in(task, candidate, since)]
        acts += [on_sheet(since + step, (task, candidate), who, fact) for step, candidate in enumerate(ahead)]
    return acts
