"""Locks: task by task when the block is over, each after the last thing written in its sheet."""

from __future__ import annotations

from collections.abc import Sequence

from assess.records.facts import Lock, SomeFact
from assess.store.live import LiveLedger
from assess.store.seals import seal_of
from making.acts import Act, Numbers
from making.moments import SECOND, at_clock, uneven
from making.source import told

__all__ = ["locks"]


def locks(acts: Sequence[Act]) -> list[Act]:
    """One lock for every sheet that has an act, in the running order of its task."""
    last: dict[tuple[str, str, str], int] = {}
    for act in acts:
        if act.kind == "sheet":
            key = (act.about[0], act.who, act.about[1])
            last[key] = max(last.get(key, 0), act.at_ms)
    course, hill = told("course-plan"), told("on-the-hill")
    days = {task["id"]: task["day"] for task in course["tasks"]}
    found = []
    for task, starts in hill["locking"].items():
        for who, clock in starts.items():
            at = at_clock(days[task], clock)
            for slot in course["allocation"]:
                if slot["task"] == task and who in slot["assessors"]:
                    at = max(
                        at + uneven(6, 15, "lock", task, who, slot["order"]),
                        last[task, who, slot["candidate"]] + 5 * SECOND,
                    )
                    found.append(Act(at, who, "sheet", (task, slot["candidate"]), _lock))
    return found


def _lock(ledger: LiveLedger, _numbers: Numbers) -> SomeFact:
    heads = {ledger.name: ledger.head}
    return Lock(heads=heads, seal=seal_of(heads))
