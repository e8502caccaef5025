"""Resits: after a signed refusal its module, and no other, is opened again; the rest is carried until its date."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from assess.desk.deciding import decisions, standing_decision
from assess.desk.later_ledgers import need_director, reason_given, write_decision
from assess.records.errors import Refusal
from assess.records.facts import Resit
from assess.records.text import recorded

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.ledger import Entry

__all__ = ["open_resit", "resit_of"]


def resit_of(desk: Desk, candidate: str, module: str | None = None) -> tuple[Resit, ...]:
    """Every resit a director opened for a candidate, by time."""
    return tuple(
        entry.fact
        for ledger, entry in desk.shelf.entries("decision")
        if isinstance(entry.fact, Resit)
        and ledger.header.candidate == candidate
        and ledger.header.author in desk.course.directors
        and module in (None, entry.fact.module)
    )


def open_resit(
    desk: Desk,
    candidate: str,
    module: str,
    *,
    opens: str,
    closes: str,
    max_tries: int,
    tasks: Sequence[str] = (),
    reason: str = "",
) -> Entry:
    """Open one module again after a signed refusal; the modules granted are carried, each until its own date.

    tasks: all of the module's unless some are named. Raises Refusal without a standing refusal, after the last try,
    for dates that do not follow each other, and for a task that is not the module's.
    """
    need_director(desk, "opens a resit")
    signed = standing_decision(desk, candidate, module)
    if signed is None or signed.fact.decision != "refuse":
        raise Refusal(f"{candidate} {module} was not refused", todo="a resit follows from a signed refusal")
    _dates_follow(signed.at[:10], opens, closes)
    attempt = 2 + len(resit_of(desk, candidate, module))
    if attempt > max_tries:
        raise Refusal(f"{candidate} has had {max_tries} tries of {module}", todo="the written rule allows no more")
    own = next(
        desk.rubric_for(task.id).modules[module].tasks
        for task in desk.course.tasks
        if module in desk.rubric_for(task.id).modules_of(task.id)
    )
    strange = [task for task in tasks if task not in own]
    if strange:
        raise Refusal(f"{', '.join(strange)}: no task of {module}", todo=f"use {', '.join(own)}")
    fact = Resit(
        module=module, decision=signed.name, tasks=tuple(tasks) or tuple(own), opens=opens, closes=closes,
        attempt=attempt, max_tries=max_tries, carried=_carried(desk, candidate, module),
        reason=recorded(reason.strip()) or None,
    )  # fmt: skip
    if attempt > 2:
        reason_given(reason, "a further try")
    return write_decision(desk, candidate, fact)


def _dates_follow(signed: str, opens: str, closes: str) -> None:
    try:
        days = [date.fromisoformat(day) for day in (signed, opens, closes)]
    except ValueError:
        raise Refusal(f"{opens} to {closes}: not two dates", todo="write them like 2027-03-01") from None
    if sorted(days) != days:
        raise Refusal(f"{opens} to {closes} does not follow the decision of {signed}", todo="check the dates")


def _carried(desk: Desk, candidate: str, module: str) -> dict[str, str]:
    """The other modules that stand granted, each with the day until which it is carried."""
    found = {item.fact.module: item for item in decisions(desk, candidate)}
    return {
        name: item.fact.valid_to
        for name, item in sorted(found.items())
        if name != module and item.fact.decision in ("grant", "renew") and item.fact.valid_to
    }
