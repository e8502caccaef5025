"""Moderation: the differences between markers, ordered by what they change, and what people agree on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.desk.later_ledgers import entry_name, known_slot, need_outcomes, reason_given, write_moderation
from assess.records.errors import Refusal
from assess.records.facts import Moderated

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView
    from assess.desk.session import Desk
    from assess.marking.results import SlotDifference
    from assess.records.ledger import Entry
    from assess.records.moderation_facts import Moderation

__all__ = [
    "Difference", "Moderating", "Standing", "differences", "keep_idle", "moderate", "moderations",
    "standing_moderation",
]  # fmt: skip


@dataclass(frozen=True)
class Standing:
    """One moderation that no later one stands in for: its entry's name, when, and what was agreed."""

    name: str
    at: str
    fact: Moderated


@dataclass(frozen=True)
class Difference:
    """A slot whose markers differ: due or listed, what it can change, in which module of whom."""

    candidate: str
    module: str
    found: SlotDifference

    @property
    def slot(self) -> str:
        """`T2.C06`."""
        return f"{self.found.task}.{self.candidate}"


@dataclass(frozen=True)
class Moderating:
    """What the moderation of a slot comes to. `trouble`: why what was written cannot stand, and is to be settled."""

    standing: Standing | None = None
    trouble: str = ""


def moderations(desk: CourseView, task: str, candidate: str) -> tuple[Standing, ...]:
    """Every moderation of a slot that none stands in for, by time."""
    entries = [
        (ledger, entry)
        for ledger, entry in desk.shelf.entries("moderation")
        if isinstance(entry.fact, Moderated) and (ledger.header.task, ledger.header.candidate) == (task, candidate)
    ]
    replaced = {entry.fact.supersedes for _, entry in entries if isinstance(entry.fact, Moderated)}
    return tuple(
        Standing(name, entry.at, entry.fact)
        for ledger, entry in entries
        if isinstance(entry.fact, Moderated) and (name := entry_name(ledger, entry)) not in replaced
    )


def standing_moderation(desk: CourseView, task: str, candidate: str) -> Moderating:
    """What stands of a slot's moderation; equal outcomes on two devices are one."""
    found = moderations(desk, task, candidate)
    said = {(item.fact.outcome, tuple(sorted(item.fact.values.items()))) for item in found}
    if len(said) > 1:
        return Moderating(trouble=f"{task} was moderated in two ways")
    standing = found[-1] if found else None
    if standing and (out := _out_of_range(desk, task, candidate, standing.fact.values)) and not standing.fact.evidence:
        return Moderating(trouble=f"{task} was moderated outside its marks: {', '.join(out)}")
    return Moderating(standing)


def differences(desk: Desk) -> tuple[Difference, ...]:
    """Every difference this person may see: due ones first, and of them first those that can change most."""
    from assess.desk.outcomes import HiddenModule, course_modules, module_result_of

    need_outcomes(desk)
    found = []
    for candidate in desk.course.candidates:
        for module in course_modules(desk):
            result = module_result_of(desk, candidate, module)
            if not isinstance(result, HiddenModule):
                found += [Difference(candidate, module, item) for item in result.differences]
    weight = {"alone": 0, "together": 1, "later": 2, "nothing": 3}
    return tuple(sorted(found, key=lambda item: (not item.found.due, weight[item.found.effect])))


def moderate(
    desk: Desk,
    slot: str,
    outcome: Moderation,
    *,
    present: Sequence[str],
    reason: str,
    values: Mapping[str, int] | None = None,
    evidence: Sequence[str] = (),
    together: bool = False,
) -> Entry:
    """Write down what was agreed on one slot; it stands in for whatever was agreed before.

    values: criterion -> level, of `agree-value` alone; each within the range of the sheets unless admitted late
    evidence (by its digest) is named. Raises Refusal while a sheet is not locked, without a reason or anybody
    present, after a decision was signed, for a value out of range, and to anybody who does not mark or direct it.
    """
    task, candidate = known_slot(desk, slot)
    _may_moderate(desk, task, candidate)
    kept = reason_given(reason, "a moderation")
    who = _present(desk, present)
    agreed = dict(values or {})
    if (outcome == "agree-value") != bool(agreed):
        todo = "name the levels agreed: --agree edging=4"
        raise Refusal("a value is agreed by naming it, and by nothing else", todo=todo)
    _in_range(desk, task, candidate, agreed, evidence)
    before = moderations(desk, task, candidate)
    fact = Moderated(
        outcome=outcome, values=agreed, present=who, seals=_seals(desk, task, candidate), evidence=tuple(evidence),
        together=together, supersedes=before[-1].name if before else None, reason=kept,
    )  # fmt: skip
    entry = write_moderation(desk, task, candidate, fact)
    for extra in before[:-1]:
        # One entry stands in for one other; of several that clash each is answered with the same words.
        entry = write_moderation(desk, task, candidate, fact.model_copy(update={"supersedes": extra.name}))
    return entry


def keep_idle(desk: Desk, *, present: Sequence[str], reason: str) -> tuple[str, ...]:
    """Close as *keep both*, in one act, every due slot that can change no module outcome; the slots closed."""
    if desk.role != "director":
        raise Refusal("only a director closes several in one act", todo="say who you are with --as ID")
    idle = [item.slot for item in differences(desk) if item.found.due and item.found.effect == "nothing"]
    for slot in idle:
        moderate(desk, slot, "keep-both", present=present, reason=reason, together=True)
    return tuple(idle)


def _may_moderate(desk: Desk, task: str, candidate: str) -> None:
    need_outcomes(desk)
    if desk.who is None:
        raise Refusal("nobody has said who moderates", todo="say who you are with --as ID")
    if desk.role != "director" and desk.who not in desk.markers(task, candidate):
        raise Refusal(f"{desk.who} did not mark {task}.{candidate}", todo="one of its markers or a director writes it")
    if not desk.sight.slot_open(task, candidate):
        raise Refusal(f"{task}.{candidate} is not locked by everybody", todo="moderate when it is")
    observed = [who for who in desk.markers(task, candidate) if _observed(desk, task, candidate, who)]
    if len(observed) < 2:
        raise Refusal(f"{task}.{candidate} has fewer than two observed sheets", todo="there is nothing to compare")


def _observed(desk: CourseView, task: str, candidate: str, who: str) -> bool:
    from assess.marking.values import is_observed

    return is_observed(desk.folded(task, candidate, who), desk.rubric_for(task))


def _present(desk: Desk, present: Sequence[str]) -> tuple[str, ...]:
    """Who was there, the writer among them. Raises Refusal for somebody the course does not know."""
    everybody = (*desk.course.assessors, *desk.course.directors)
    strangers = [who for who in present if who not in everybody]
    if strangers:
        raise Refusal(f"{', '.join(strangers)}: nobody of this course", todo=f"use {', '.join(everybody)}")
    return tuple(dict.fromkeys((*present, desk.who or "")))


def _in_range(desk: Desk, task: str, candidate: str, agreed: Mapping[str, int], evidence: Sequence[str]) -> None:
    from assess.desk.late_evidence import admitted

    unknown = [digest for digest in evidence if digest not in admitted(desk, task, candidate)]
    if unknown:
        raise Refusal("the evidence named is not admitted for this slot", todo="rule on it first")
    rubric = desk.rubric_for(task)
    criteria = desk.task(task).criteria
    for criterion, level in agreed.items():
        if criterion not in criteria:
            raise Refusal(f"{criterion} is no criterion of {task}", todo=f"use {', '.join(criteria)}")
        if level not in rubric.scale.levels:
            raise Refusal(f"{level} is no level", todo=f"levels go from {rubric.scale.min} to {rubric.scale.max}")
    outside = _out_of_range(desk, task, candidate, agreed)
    if outside and not evidence:
        what = f"{', '.join(outside)}: outside the marks of the sheets"
        raise Refusal(what, todo="agree within them, or name new evidence that was admitted")


def _out_of_range(desk: CourseView, task: str, candidate: str, agreed: Mapping[str, int]) -> list[str]:
    """The criteria whose agreed level is not within the marks given, or that nobody marked."""
    from assess.marking.two_markers import agreed_range

    if not agreed:
        return []
    sheets = [desk.folded(task, candidate, who) for who in desk.markers(task, candidate)]
    ranges = agreed_range(sheets, desk.rubric_for(task))
    return [k for k, level in agreed.items() if k not in ranges or not ranges[k][0] <= level <= ranges[k][1]]


def _seals(desk: Desk, task: str, candidate: str) -> dict[str, str]:
    return {who: desk.lock_seal(task, candidate, who) for who in desk.markers(task, candidate)}
