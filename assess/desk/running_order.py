"""The running order as it happened: the allocation's order with the day's changes applied."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from assess.records.facts import OrderChange

__all__ = ["Place", "Standing", "running_order"]

Standing = Literal["", "late", "absent", "withdrawn"]


@dataclass(frozen=True)
class Place:
    """A candidate's place in the running order and what is known of them: late, absent, withdrawn."""

    candidate: str
    standing: Standing = ""


def running_order(planned: Sequence[str], task: str, changes: Iterable[OrderChange]) -> tuple[Place, ...]:
    """Candidates in the order they go, after the changes in time order.

    `late` puts somebody last, `now` and `moved` to a place (1 is first; `now` without one: first),
    `back` takes `late`, `absent` or `withdrawn` off. `withdrawn` holds in every task.
    """
    order = list(planned)
    standing: dict[str, Standing] = {}
    for change in changes:
        who = change.candidate
        if who not in order or (change.task != task and change.change not in ("withdrawn", "back")):
            continue
        if change.change == "back":
            standing.pop(who, None)
        elif change.change in ("absent", "withdrawn"):
            standing[who] = "absent" if change.change == "absent" else "withdrawn"
        else:
            order.remove(who)
            place = len(order) + 1 if change.change == "late" else (change.place or 1)
            order.insert(max(0, place - 1), who)
            if change.change == "late":
                standing[who] = "late"
            else:
                standing.pop(who, None)
    return tuple(Place(who, standing.get(who, "")) for who in order)
