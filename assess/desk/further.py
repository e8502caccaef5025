"""Further performances: a repeat for everybody in the band, a completion of what nobody could see, a resit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from assess.desk.later_ledgers import entry_name, need_director, reason_given
from assess.records.errors import Refusal
from assess.records.facts import ExtraSlot, RepeatOffer
from assess.records.ids import base_task, repeat_number
from assess.records.text import recorded

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.facts import Resit
    from assess.records.ledger import Entry

__all__ = ["add_slot", "in_the_band", "next_performance", "offer_repeat", "offers"]

MARKERS = 2


def in_the_band(desk: Desk, module: str) -> tuple[str, ...]:
    """The candidates whose mean lies in the band of a module, a third look already closed or not."""
    from assess.desk.outcomes import HiddenModule, module_result_of

    found = []
    for candidate in desk.course.candidates:
        result = module_result_of(desk, candidate, module)
        if isinstance(result, HiddenModule) or result.mean is None or result.band_squared is None:
            continue
        if (result.mean - result.line) ** 2 <= result.band_squared and result.outcome != "open":
            found.append(candidate)
    return tuple(found)


def offers(desk: Desk, task: str) -> tuple[tuple[str, RepeatOffer], ...]:
    """Every repeat of a task that a director offered: its entry's name, and the offer."""
    return tuple(
        (entry_name(ledger, entry), entry.fact)
        for ledger, entry in desk.shelf.entries("day")
        if isinstance(entry.fact, RepeatOffer)
        and entry.fact.task == task
        and ledger.header.author in desk.course.directors
    )


def offer_repeat(desk: Desk, task: str, module: str, reason: str) -> Entry:
    """Offer a new performance of a task to every candidate in the band of its module, or to none.

    Raises Refusal when nobody is in the band, and for a task that is not the module's.
    """
    need_director(desk, "offers a repeat")
    if module not in desk.rubric_for(task).modules_of(task):
        raise Refusal(f"{task} is no task of {module}", todo="name a task of that module")
    candidates = in_the_band(desk, module)
    if not candidates:
        raise Refusal(f"nobody is in the band of {module}", todo="a repeat is for those in the band")
    fact = RepeatOffer(module=module, task=task, candidates=candidates, reason=reason_given(reason, "a repeat"))
    return desk.day_book.append(fact)


def next_performance(desk: Desk, task: str, candidate: str) -> str:
    """The slot id of a candidate's next performance of a task: `T2-2`. Raises Refusal after the ninth."""
    known = {item.id for item in desk.course.tasks}
    if task not in known:
        raise Refusal(f"{task} is no task of this course", todo=f"use one of {', '.join(sorted(known))}")
    held = [slot.task for slot in desk.course.allocation if slot.candidate == candidate]
    last = max((repeat_number(name, known) for name in held if base_task(name, known) == task), default=0)
    if last >= 9:
        raise Refusal(f"{candidate} has shown {task} nine times", todo="nobody is helped by a tenth")
    return f"{task}-{last + 1}" if last else task


def add_slot(
    desk: Desk,
    task: str,
    candidate: str,
    *,
    why: Literal["repeat", "completion", "resit"],
    assessors: Sequence[str],
    reason: str = "",
    at: str | None = None,
) -> Entry:
    """Give a candidate a further performance of a task, before two markers.

    A repeat answers an offer that names the candidate; a completion is for a task nobody could observe; a resit for
    a module that was opened again. Raises Refusal otherwise, and for markers who may not mark.
    """
    need_director(desk, "adds a performance")
    offer = _grounds(desk, task, candidate, why)
    who = tuple(dict.fromkeys(assessors))
    if len(who) != MARKERS:
        raise Refusal(f"{', '.join(who) or 'nobody'}: a performance has two markers", todo="name two: --by A1,A4")
    if why == "resit":
        _somebody_new(desk, task, candidate, who)
    slot = next_performance(desk, task, candidate)
    _may_all_mark(desk, who, slot, candidate)
    place = 1 + sum(item.task == slot for item in desk.course.allocation)
    fact = ExtraSlot(
        task=slot, candidate=candidate, assessors=who, why=why, order=place, offer=offer, at_wall=at,
        reason=recorded(reason.strip()) or None,
    )  # fmt: skip
    return desk.day_book.append(fact)


def _grounds(desk: Desk, task: str, candidate: str, why: str) -> str | None:
    """The offer a repeat answers; None for the others. Raises Refusal when there are no grounds for one."""
    if why == "repeat":
        named = [name for name, offer in offers(desk, task) if candidate in offer.candidates]
        if not named:
            raise Refusal(f"no repeat of {task} was offered to {candidate}", todo="offer it to all in the band first")
        return named[-1]
    if why == "completion":
        from assess.desk.outcomes import HiddenModule, module_result_of

        modules = desk.rubric_for(task).modules_of(task)
        results = [module_result_of(desk, candidate, module) for module in modules]
        if not any(not isinstance(found, HiddenModule) and task in found.open_needs for found in results):
            raise Refusal(f"{task} of {candidate} lacks nothing", todo="a completion is for what nobody could see")
        return None
    if _resit(desk, task, candidate) is None:
        raise Refusal(f"no resit of {task} is open for {candidate}", todo="open it after the decision")
    return None


def _resit(desk: Desk, task: str, candidate: str) -> Resit | None:
    from assess.desk.resits import resit_of

    return next((item for item in reversed(resit_of(desk, candidate)) if task in item.tasks), None)


def _somebody_new(desk: Desk, task: str, candidate: str, assessors: Sequence[str]) -> None:
    """Raise Refusal when too few of a resit's markers are new in its module."""
    found = _resit(desk, task, candidate)
    if found is None:
        return
    tasks = desk.rubric_for(task).modules[found.module].tasks
    known = {item.id for item in desk.course.tasks}
    seen = {
        who for name, whose, who in desk.shelf.sheet_keys() if whose == candidate and base_task(name, known) in tasks
    }
    new = [who for who in assessors if who not in seen]
    if len(new) < found.fresh_assessors:
        what = (
            f"{len(new) or 'nobody'} new: a resit has at least {found.fresh_assessors} who marked nothing of it before"
        )
        raise Refusal(what, todo="name somebody who has no sheet in this module")


def _may_all_mark(desk: Desk, assessors: Sequence[str], slot: str, candidate: str) -> None:
    from assess.desk.eligible import may_mark

    for who in assessors:
        if who not in desk.course.assessors:
            raise Refusal(f"{who} is no assessor of this course", todo=f"use {', '.join(desk.course.assessors)}")
        against = may_mark(desk, who, slot, candidate)
        if against:
            raise Refusal(f"{who} may not mark {candidate}: {against[0]}", todo="choose somebody else")
