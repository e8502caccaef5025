"""When an assessor may look at how even their own marks were: before a task or after it, never between its slots.

Whoever has just been told that they are mild marks the next candidate harder. So nothing is shown while a task of
theirs is begun and not locked to the end (as a shadow too), nor while a third look of theirs waits: that is marked
afresh.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.desk.running_order import running_order
from assess.records.facts import OrderChange

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["why_not_now"]

RULE = "this is shown before the first slot of a task or after its last lock, never between candidates"


def why_not_now(desk: Desk) -> str:
    """Empty when this assessor may see their own marks now; else why not, from what they themselves have done."""
    who = desk.who or ""
    for task in dict.fromkeys(slot.task for slot in desk.course.allocation):
        mine = [
            slot.candidate for slot in desk.course.allocation
            if slot.task == task and who in desk.seats.writers(task, slot.candidate)
        ]  # fmt: skip
        locked = [candidate for candidate in mine if desk.locked(task, candidate, who)]
        begun = [candidate for candidate in mine if desk.shelf.sheet((task, candidate, who))]
        waiting = [candidate for candidate in mine if candidate not in locked]
        if begun and any(candidate in begun or not _away(desk, task, candidate) for candidate in waiting):
            return f"{task} is begun, {len(locked)} of your {len(mine)} sheets are locked: {RULE}"
    for slot in desk.course.allocation:
        if who in desk.third_markers(slot.task, slot.candidate) and not desk.locked(slot.task, slot.candidate, who):
            return f"a third look of {slot.task} is yours and not locked: {RULE}"
    return ""


def _away(desk: Desk, task: str, candidate: str) -> bool:
    """True for a candidate who is absent or withdrawn: their sheet is waited for by nobody."""
    changes = [entry.fact for _, entry in desk.shelf.entries("day") if isinstance(entry.fact, OrderChange)]
    return running_order((candidate,), task, changes)[0].standing in ("absent", "withdrawn")
