"""Third looks: how far one can move a module, ordering one, who marks it, closing it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from assess.desk.later_ledgers import entry_name, known_slot, need_director, reason_given, write_decision
from assess.records.errors import Refusal
from assess.records.facts import ThirdLook, ThirdLookClosed

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView
    from assess.desk.session import Desk
    from assess.marking.results import Reach
    from assess.records.ledger import Entry

__all__ = [
    "CLEAR_PER_TWO", "Look", "ReachTold", "close_look", "look_of", "looks", "order_look", "reach_of", "reach_table",
    "third_markers",
]  # fmt: skip

CLEAR_PER_TWO = 2
"""At least one clear slot is mixed in for so many that are on the line."""


@dataclass(frozen=True)
class Look:
    """A third look as ordered: its entry's name, whose it is, and whether its sheets have joined the others."""

    name: str
    candidate: str
    fact: ThirdLook
    closed: bool

    @property
    def slots(self) -> tuple[tuple[str, str], ...]:
        """(task, candidate) of everything its marker marks, those mixed in included."""
        mixed = (name.partition(".") for name in self.fact.mixed)
        return (*((task, self.candidate) for task in self.fact.slots), *((task, who) for task, _, who in mixed))


@dataclass(frozen=True)
class ReachTold:
    """The reach of a third look over some slots; `why_not`: empty, or why none is offered."""

    candidate: str
    module: str
    slots: tuple[str, ...]
    lowest: str
    highest: str
    outcomes: tuple[str, ...]
    why_not: str = ""


def looks(desk: CourseView) -> tuple[Look, ...]:
    """Every third look a director ordered, in the order of their times; of one module the latest counts."""
    known = desk.looks
    if known is None or known[0] != desk.shelf.version:
        known = desk.looks = (desk.shelf.version, _looks(desk))
    return known[1]


def _looks(desk: CourseView) -> tuple[Look, ...]:
    entries = desk.shelf.entries("decision")
    directors = desk.course.directors
    closed = {entry.fact.of for _, entry in entries if isinstance(entry.fact, ThirdLookClosed)}
    found = {}
    for ledger, entry in entries:
        if isinstance(entry.fact, ThirdLook) and ledger.header.author in directors:
            name, who = entry_name(ledger, entry), ledger.header.candidate or ""
            found[who, entry.fact.module] = Look(name, who, entry.fact, name in closed)
    return tuple(found.values())


def look_of(desk: CourseView, candidate: str, module: str) -> Look | None:
    """The third look of one module, or None."""
    return next((look for look in looks(desk) if (look.candidate, look.fact.module) == (candidate, module)), None)


def third_markers(desk: CourseView, task: str, candidate: str) -> tuple[str, ...]:
    """Who marks this slot for a third look, also one that is only mixed in; never somebody who marks it anyway."""
    first = desk.seats.allocated(task, candidate)
    found = {look.fact.marker for look in looks(desk) if (task, candidate) in look.slots}
    return tuple(sorted(who for who in found if who not in first))


def reach_of(desk: CourseView, candidate: str, module: str, slots: Sequence[str] | None = None) -> ReachTold:
    """How far a third look over these slots (all, while nobody knows which can be seen) can move the module."""
    from dataclasses import replace

    from assess.desk.outcomes import module_case
    from assess.marking.outcome import module_result
    from assess.marking.reach import reach
    from assess.marking.rounding import fair
    from assess.marking.rule import module_rule
    from assess.marking.values import counted_sheets

    case = replace(module_case(desk, candidate, module), third_look="none", third_tasks=tuple(slots) if slots else None)
    result = module_result(case)
    if result.outcome == "open" or result.mean is None:
        return ReachTold(candidate, module, (), "", "", (), "; ".join(result.reasons) or "open")
    told: Reach = reach(counted_sheets(case), case, module_rule(case.rubric, module))
    ends = (fair(told.lowest, result.line), fair(told.highest, result.line))
    why = "" if told.crosses else "it cannot change the outcome"
    if result.outcome != "third_look" and not _asked_for(desk, candidate, told.tasks):
        why = "its outcome asks for none, and no moderation does"
    if not told.tasks:
        why = "nothing of it can be seen again"
    if result.breach is not None and result.breach.state == "confirmed":
        why = "a confirmed breach closes the module, whatever the numbers"
    return ReachTold(candidate, module, told.tasks, *ends, told.outcomes, why)


def _asked_for(desk: CourseView, candidate: str, slots: Sequence[str]) -> bool:
    """True when the moderation of one of these slots came to a third look."""
    from assess.desk.moderating import standing_moderation

    found = (standing_moderation(desk, slot, candidate).standing for slot in slots)
    return any(item is not None and item.fact.outcome == "third-look" for item in found)


def reach_table(desk: Desk) -> tuple[ReachTold, ...]:
    """The reach for every module whose outcome asks for a third look, in the order of the course.

    Among those of one urgency the order is that of the course; which come first is for people to say.
    """
    from assess.desk.outcomes import HiddenModule, course_modules, module_result_of

    need_director(desk, "sees how far a third look can reach")
    rows = []
    for candidate in desk.course.candidates:
        for module in course_modules(desk):
            result = module_result_of(desk, candidate, module)
            if isinstance(result, HiddenModule) or result.outcome != "third_look":
                continue
            look = look_of(desk, candidate, module)
            rows.append(reach_of(desk, candidate, module, look.fact.slots if look else None))
    return tuple(rows)


def order_look(
    desk: Desk,
    candidate: str,
    module: str,
    *,
    marker: str,
    slots: Sequence[str],
    source: Literal["film", "present"],
    mixed: Sequence[str] = (),
    reason: str = "",
) -> Entry:
    """Order a third look over everything a third person can see of a module.

    Raises Refusal when it cannot change the outcome, when the marker is not fresh, when a slot is none of the
    module's, or when too few clear slots are mixed in.
    """
    need_director(desk, "orders a third look")
    kept = reason_given(reason, "a third look")
    before = look_of(desk, candidate, module)
    if before is not None:
        raise Refusal(f"{candidate} {module} has its third look already", todo="close that one when it is locked")
    chosen = tuple(dict.fromkeys(slots))
    if not chosen:
        raise Refusal("no slot is named that a third person can see", todo="name them: --slots T1,T3")
    told = reach_of(desk, candidate, module, chosen)
    if told.why_not:
        raise Refusal(f"no third look of {candidate} {module}: {told.why_not}", todo="the rule without it decides")
    strange = [slot for slot in chosen if slot not in told.slots]
    if strange:
        raise Refusal(f"{', '.join(strange)} cannot be seen again in {module}", todo=f"use {', '.join(told.slots)}")
    along = [known_slot(desk, name) for name in mixed]
    _fresh(desk, marker, [*((slot, candidate) for slot in chosen), *along])
    _clear_enough(desk, len(chosen), along)
    fact = ThirdLook(
        module=module, slots=chosen, marker=marker, source=source, reach=(told.lowest, told.highest),
        outcomes=told.outcomes, mixed=tuple(f"{task}.{who}" for task, who in along), reason=kept,
    )  # fmt: skip
    return write_decision(desk, candidate, fact)


def _fresh(desk: Desk, marker: str, slots: Sequence[tuple[str, str]]) -> None:
    """Raise Refusal unless the marker has no sheet, no conflict and no part in the moderation of any of them."""
    from assess.desk.eligible import may_mark

    for task, who in slots:
        against = may_mark(desk, marker, task, who)
        if marker in desk.markers(task, who) or desk.shelf.sheet((task, who, marker)):
            against = ("has a sheet there", *against)
        if marker in _moderated_by(desk, task, who):
            against = ("was at its moderation", *against)
        if against:
            raise Refusal(f"{marker} is not fresh for {task}.{who}: {against[0]}", todo="choose somebody who is")


def _moderated_by(desk: CourseView, task: str, candidate: str) -> set[str]:
    from assess.desk.moderating import moderations

    return {who for item in moderations(desk, task, candidate) for who in item.fact.present}


def _clear_enough(desk: Desk, on_the_line: int, mixed: Sequence[tuple[str, str]]) -> None:
    """Raise Refusal when fewer clear slots are mixed in than one for two, or one of them is not clear."""
    from assess.desk.outcomes import HiddenModule, course_modules, module_result_of

    for task, who in mixed:
        modules = [name for name in course_modules(desk) if name in desk.rubric_for(task).modules_of(task)]
        results = [module_result_of(desk, who, name) for name in modules]
        if any(not isinstance(found, HiddenModule) and found.outcome == "third_look" for found in results):
            raise Refusal(f"{task}.{who} is not clear: a third look is due there too", todo="mix in a clear one")
    wanted = -(-on_the_line // CLEAR_PER_TWO)
    if len(set(mixed)) < wanted:
        what = f"{on_the_line} on the line and {len(set(mixed))} clear: the marker would know which are which"
        raise Refusal(what, todo=f"mix in {wanted}: --mix T1.C03")


def close_look(desk: Desk, candidate: str, module: str) -> Entry:
    """Let the third sheets join the others, once all of them are locked. Raises Refusal before."""
    need_director(desk, "closes a third look")
    look = look_of(desk, candidate, module)
    todo = "see `assess look` on the course"
    if look is None:
        raise Refusal(f"{candidate} {module} has no third look", todo=todo)
    if look.closed:
        raise Refusal(f"the third look of {candidate} {module} is closed already", todo=todo)
    waiting = [f"{task}.{who}" for task, who in look.slots if not desk.locked(task, who, look.fact.marker)]
    if waiting:
        todo = "wait until they are locked"
        raise Refusal(f"{look.fact.marker} has not locked {', '.join(waiting)}", todo=todo)
    seals = {task: desk.lock_seal(task, candidate, look.fact.marker) for task in look.fact.slots}
    return write_decision(desk, candidate, ThirdLookClosed(module=module, of=look.name, seals=seals))
