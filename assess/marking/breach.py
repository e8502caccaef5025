"""Which breach decides a module, or holds it open."""

from __future__ import annotations

from collections.abc import Iterable

from assess.marking.results import BreachState, BreachWord

__all__ = ["closing"]

WEIGHT: dict[BreachWord, int] = {"confirmed": 0, "reported": 1, "not-confirmed": 2}


def closing(breaches: Iterable[BreachState], module: str) -> BreachState | None:
    """The breach that decides or holds open a module: a confirmed one before an undecided one; None without either."""
    found = [b for b in breaches if module in b.modules and b.state != "not-confirmed"]
    return min(found, key=lambda b: (WEIGHT[b.state], b.must_not), default=None)
