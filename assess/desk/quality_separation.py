"""Who marked or decided although something stood against it, and what can bend judgement: counted, never averaged."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.desk.quality_courses import LookedAt
    from assess.desk.session import Desk
    from assess.records.quality import Threat

__all__ = ["SeparationSeen", "WaiverSeen", "separation_of"]


@dataclass(frozen=True)
class WaiverSeen:
    """A waiver that counts. turns: of how many turns it let somebody mark; 0 when it was given and never needed."""

    course: str
    about: str
    assessor: str
    candidate: str | None
    by: str
    on: str
    turns: int
    reason: str


@dataclass(frozen=True)
class SeparationSeen:
    """Conflicts and training as declared; markings under a waiver, and those something stands against.

    turns: markings allocated. standing: those among them no waiver lets count; their sheets are in no result.
    decided: decisions signed by somebody who had marked or trained the candidate, each with its reason in the record.
    """

    waivers: tuple[WaiverSeen, ...]
    conflicts: int
    trained: int
    turns: int
    waived: Counter[str]
    standing: tuple[str, ...]
    decided: int
    threats: tuple[Threat, ...]
    open_threats: tuple[Threat, ...]


def separation_of(courses: LookedAt) -> SeparationSeen:
    """Over all courses together. What stood against a marker is told by course, turn and person, without the reason."""
    waived: Counter[str] = Counter()
    standing: list[str] = []
    turns = 0
    for desk in courses.desks:
        for slot in desk.course.allocation:
            for who in desk.seats.allocated(slot.task, slot.candidate):
                turns += 1
                for bar in desk.separation.bars(who, slot.task, slot.candidate):
                    if desk.separation.waiver_for(bar, slot.task) is not None:
                        waived[bar.about] += 1
                    else:
                        standing.append(f"{desk.course.id} {slot.task}.{slot.candidate} {who}: {bar.why}")
    threats = tuple(threat for place in courses.places for threat in place.quality.threats)
    return SeparationSeen(
        tuple(seen for desk in courses.desks for seen in _waivers(desk)),
        sum(len(desk.people.conflicts) for desk in courses.desks),
        sum(len(desk.people.trained) for desk in courses.desks),
        turns, waived, tuple(standing), sum(map(_decided, courses.desks)), threats,
        tuple(threat for place in courses.places for threat in place.quality.open_threats),
    )  # fmt: skip


def _waivers(desk: Desk) -> list[WaiverSeen]:
    found = []
    for given in desk.separation.waivers():
        said = given.waiver
        turns = [
            slot
            for slot in desk.course.allocation
            if said.assessor in desk.seats.allocated(slot.task, slot.candidate)
            and any(
                desk.separation.waiver_for(bar, slot.task) == given
                for bar in desk.separation.bars(said.assessor, slot.task, slot.candidate)
            )
        ]
        reason = said.reason or "(the reason was erased)"
        found.append(
            WaiverSeen(
                desk.course.id, said.about, said.assessor, said.candidate, given.by, given.at[:10], len(turns), reason
            )
        )
    return found


def _decided(desk: Desk) -> int:
    """Decisions that stand with a waiver, or with the place of one that was erased."""
    from assess.desk.deciding import decisions

    signed = [one for candidate in desk.course.candidates for one in decisions(desk, candidate)]
    return sum(bool(one.fact.waiver) or "waiver" in one.fact.erased for one in signed)
