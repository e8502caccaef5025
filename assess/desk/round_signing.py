"""The result of a round, signed by a director into the assessor's record, and the licence that follows from it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.desk.rounds import locks_of, round_of, slots_of
from assess.records.errors import Refusal
from assess.records.facts import CalibrationSigned
from assess.records.ledger import Header
from assess.records.licence import Licence
from assess.records.quality import months_after

if TYPE_CHECKING:
    from assess.desk.rounds import AssessorRound
    from assess.desk.session import Desk
    from assess.marking.qualification import Unmet
    from assess.records.round import Round, RoundResult

__all__ = ["SignedResult", "add_licences", "licence_for", "may_sign", "sign_round", "signed_result"]


@dataclass(frozen=True)
class SignedResult:
    """What was done for one assessor. new: False where the same stood signed already.

    added: into the people of the course that was named; why_not: why not.
    """

    assessor: str
    name: str
    result: RoundResult
    licence: Licence | None
    file: str
    new: bool
    added: bool = False
    why_not: str = ""


def licence_for(this: Round, assessor: str, result: RoundResult) -> Licence | None:
    """The licence that follows from a result, from the day of the round; None where none does."""
    terms = this.licence
    months = {"current": terms.months, "mark-again": terms.again_months, "train": 0}[result]
    if months == 0:
        return None
    begins = date.fromisoformat(this.date)
    ends = date.fromordinal(months_after(begins, months).toordinal() - 1)
    return Licence(
        assessor=assessor, activity=this.activity, areas=terms.areas or (this.area,), valid_from=this.date,
        valid_to=ends.isoformat(), last_calibration=this.date, source=f"calibration round {this.id}",
        conditions=terms.again_conditions if result == "mark-again" else (),
    )  # fmt: skip


def signed_result(desk: Desk, assessor: str) -> tuple[CalibrationSigned | None, bool]:
    """What a director signed last for an assessor, and whether it no longer rests on what stands here."""
    found = [
        entry.fact
        for ledger, entry in desk.shelf.entries("licence")
        if isinstance(entry.fact, CalibrationSigned)
        and ledger.header.assessor == assessor
        and ledger.header.by in round_of(desk).directors
    ]
    if not found:
        return None, False
    return found[-1], (found[-1].heads, found[-1].round_file) != (_heads(desk, assessor), _round_file(desk))


def sign_round(desk: Desk, assessors: tuple[AssessorRound, ...]) -> tuple[SignedResult, ...]:
    """Sign the result the rule gives for these assessors, each into a ledger of its own.

    What is signed already and rests on the same sheets and rule is not signed again. Raises Refusal for anybody but
    a director, for a director who would sign a result of their own, and where the rule gives no result.
    """
    this = may_sign(desk)
    if not assessors:
        done = [each.marker for each in locks_of(desk) if not each.panel and each.done]
        waits = "nobody has locked everything" if not done else "there is no result to sign"
        raise Refusal(waits, todo="sign when the assessors have locked")
    mine = next((found for found in assessors if found.assessor == desk.who), None)
    if mine is not None:
        raise Refusal(f"{desk.who} would sign a result of their own", todo="another director does; name the others")
    undecided = [found.assessor for found in assessors if found.judged is None]
    if undecided:
        raise Refusal(f"the rule gives no result for {', '.join(undecided)}", todo="correct the rule in round.yaml")
    return tuple(_sign(desk, this, found) for found in assessors)


def may_sign(desk: Desk) -> Round:
    """The round at this desk. Raises Refusal unless a director of it sits there."""
    this = round_of(desk)
    if desk.who not in this.directors:
        raise Refusal("only a director of the round signs its results", todo="say who you are with --as ID")
    return this


def _sign(desk: Desk, this: Round, found: AssessorRound) -> SignedResult:
    from assess import __version__
    from assess.store.seals import seal_of

    if found.judged is None:
        raise ValueError(f"{found.assessor} has no result")
    result, heads = found.judged.result, _heads(desk, found.assessor)
    licence = licence_for(this, found.assessor, result)
    header = Header(
        kind="licence", course=this.id, assessor=found.assessor, by=desk.who, device=desk.device, opened=desk.now()
    )
    file = f"licences/{header.name}.yaml"
    fact = CalibrationSigned(
        result=result, day=this.date, licence=licence, because=tuple(_because(each) for each in found.judged.unmet),
        round_file=_round_file(desk), heads=heads, seal=seal_of(heads), tool=__version__,
    )  # fmt: skip
    known, stale = signed_result(desk, found.assessor)
    new = known is None or stale or (known.result, known.licence) != (result, licence)
    if new:
        desk.append(desk.live(header), fact)
    return SignedResult(found.assessor, found.name, result, licence, file, new)


def _because(unmet: Unmet) -> str:
    reached = "nothing to count" if unmet.reached is None else f"{float(unmet.reached):.2f}"
    return f"{unmet.condition} {float(unmet.asked):g}: {reached}"


def _heads(desk: Desk, assessor: str) -> dict[str, str]:
    """The heads of all sheets the result rests on: the assessor's and the panel's."""
    return {
        ledger.name: ledger.head
        for marker in (assessor, *round_of(desk).panel)
        for task, slot in slots_of(desk, marker)
        for ledger in desk.shelf.sheet((task, slot, marker))
    }


def _round_file(desk: Desk) -> str:
    return f"sha256:{desk.folder.course_doc.sha256}"


def add_licences(desk: Desk, course: Path, signed: tuple[SignedResult, ...]) -> tuple[SignedResult, ...]:
    """Put the licences that follow into the people of a course; comments stay, its revision goes up by one.

    An assessor the course does not have, or has under another name, is left out and told so; a licence that stands
    there already is not added again. Raises Refusal when the person at the desk is no director of that course,
    InputError when its files cannot be used, StorageTrouble when they cannot be written.
    """
    from assess.store.course_folder import load_course
    from assess.store.yaml_edit import edit_yaml

    there = load_course(course)
    if desk.who not in there.course.directors or there.people.name(desk.who) != desk.name(desk.who):
        raise Refusal(f"{desk.who} is no director of {course}", todo="a director of both signs, or edit people.yaml")
    told = []
    for item in signed:
        why = _why_not(item, desk.name(item.assessor), there.people.name(item.assessor), there.course.assessors)
        if not why and item.licence in there.people.licences:
            why = "stands there already"
        told.append(replace(item, added=not why, why_not=why))
    new = [item.licence for item in told if item.added and item.licence is not None]

    def change(people: Any) -> None:
        people.setdefault("licences", [])
        people["licences"] += [licence.model_dump(mode="json", exclude_defaults=True) for licence in new]
        people["revision"] += 1

    if new:
        edit_yaml(course / "people.yaml", "people", change)
    return tuple(told)


def _why_not(item: SignedResult, name: str, there: str, assessors: tuple[str, ...]) -> str:
    if item.licence is None:
        return "no licence follows"
    if item.assessor not in assessors:
        return "is no assessor of that course"
    return "" if name == there else f"is {there} in that course and {name} here"
