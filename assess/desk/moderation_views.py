"""One difference laid open: both sheets side by side, what was agreed, what a third look could reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from assess.desk.late_evidence import late_evidence
from assess.desk.later_ledgers import known_slot, words_of
from assess.desk.moderating import moderations, standing_moderation
from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.desk.deciding import Proposal
    from assess.desk.late_evidence import Late
    from assess.desk.moderating import Difference, Standing
    from assess.desk.session import Desk
    from assess.desk.third_looks import ReachTold

__all__ = [
    "Seen", "SheetBeside", "SlotView", "differences_json", "proposals_json", "reach_json", "slot_view", "view_json",
]  # fmt: skip


@dataclass(frozen=True)
class Seen:
    """An observation as shown: where it stands, its wall time, its words, the criteria it is about, from where."""

    name: str
    at: str
    text: str
    criteria: tuple[str, ...]
    direction: str
    viewpoint: str


@dataclass(frozen=True)
class SheetBeside:
    """One marker's sheet: their name, their marks as words (`4`, `not seen`), and what they saw."""

    assessor: str
    name: str
    marks: dict[str, str]
    seen: tuple[Seen, ...]


@dataclass(frozen=True)
class SlotView:
    """A slot in moderation. labels: criterion -> its name on screen. trouble: why what was written cannot stand."""

    slot: str
    task: str
    candidate: str
    labels: dict[str, str]
    sheets: tuple[SheetBeside, ...]
    moderation: Standing | None
    history: tuple[Standing, ...]
    trouble: str
    late: tuple[Late, ...]
    fresh: tuple[str, ...]


def slot_view(desk: Desk, slot: str) -> SlotView:
    """Everything both markers wrote on a slot, side by side. Raises Refusal while it may not be read."""
    from assess.desk.eligible import fresh_for

    task, candidate = known_slot(desk, slot)
    hidden = [who for who in desk.markers(task, candidate) if not desk.sight.sheet(task, candidate, who)]
    if hidden or not desk.sight.slot_open(task, candidate):
        raise Refusal(f"{slot} is not locked by everybody, or not released", todo="look again when it is")
    rubric, found = desk.rubric_for(task), standing_moderation(desk, task, candidate)
    return SlotView(
        slot=slot, task=task, candidate=candidate,
        labels={item: rubric.criteria[item].label for item in desk.task(task).criteria},
        sheets=tuple(_beside(desk, task, candidate, who) for who in desk.markers(task, candidate)),
        moderation=found.standing, history=moderations(desk, task, candidate), trouble=found.trouble,
        late=tuple(item for item in late_evidence(desk, candidate) if item.fact.slot == task),
        fresh=fresh_for(desk, task, candidate),
    )  # fmt: skip


def _beside(desk: Desk, task: str, candidate: str, who: str) -> SheetBeside:
    sheet = desk.folded(task, candidate, who)
    labels = {name: desk.rubric_for(task).criteria[name].label for name in desk.task(task).criteria}
    words = {"not-observed": "not seen", "not-applicable": "not applicable"}
    marks = {mark.criterion: words.get(mark.status) or str(mark.level) for mark in sheet.marks}
    seen = tuple(
        Seen(
            str(item.ref), desk.clock_text(item.at), words_of(item.fact, labels), item.fact.criteria,
            item.fact.direction or "", item.viewpoint or item.fact.viewpoint or "",
        )
        for item in sheet.observations
    )  # fmt: skip
    return SheetBeside(who, desk.name(who), marks, seen)


def view_json(view: SlotView) -> dict[str, Any]:
    """A slot in moderation as other programs read it."""
    return {
        "slot": view.slot,
        "sheets": [
            {
                "assessor": sheet.assessor,
                "marks": sheet.marks,
                "observations": [
                    {"entry": item.name, "at": item.at, "text": item.text, "criteria": list(item.criteria)}
                    for item in sheet.seen
                ],
            }
            for sheet in view.sheets
        ],
        "moderation": None if view.moderation is None else _moderation(view.moderation),
        "history": [_moderation(item) for item in view.history],
        "trouble": view.trouble or None,
        "late_evidence": [
            {"digest": item.fact.digest, "admitted": None if item.ruling is None else item.ruling.admitted}
            for item in view.late
        ],
        "fresh": list(view.fresh),
    }


def _moderation(item: Standing) -> dict[str, Any]:
    fact = item.fact
    return {
        "entry": item.name, "at": item.at, "outcome": fact.outcome, "values": fact.values,
        "present": list(fact.present), "reason": fact.reason, "together": fact.together,
    }  # fmt: skip


def differences_json(desk: Desk, found: Sequence[Difference]) -> dict[str, Any]:
    """The differences of a course as other programs read them."""
    return {
        "course": desk.course.id,
        "differences": [
            {
                "slot": item.slot, "module": item.module, "due": item.found.due, "because": list(item.found.because),
                "apart": str(item.found.apart), "criteria": list(item.found.criteria),
                "across": list(item.found.across), "effect": item.found.effect,
            }
            for item in found
        ],
    }  # fmt: skip


def reach_json(told: Sequence[ReachTold]) -> list[dict[str, Any]]:
    """How far third looks reach, as other programs read it."""
    return [
        {
            "candidate": item.candidate, "module": item.module, "slots": list(item.slots),
            "reach": [item.lowest, item.highest] if item.slots else None, "outcomes": list(item.outcomes),
            "offered": not item.why_not, "why_not": item.why_not or None,
        }
        for item in told
    ]  # fmt: skip


def proposals_json(found: Sequence[Proposal]) -> list[dict[str, Any]]:
    """What the rules propose, as other programs read it."""
    from assess.marking.results_json import to_json

    return [
        {
            "candidate": item.candidate, "module": item.module, "follows": item.follows, "waits": list(item.waits),
            "against": list(item.against), "result": to_json(item.result),
            "signed": None
            if item.standing is None
            else {
                "entry": item.standing.name, "at": item.standing.at, "by": item.standing.by,
                "decision": item.standing.fact.decision, "stale": item.stale, "waiver": item.standing.fact.waiver,
                "otherwise": [other.name for other in item.otherwise],
            },
        }
        for item in found
    ]  # fmt: skip
