"""Decisions: what the rules propose, what stands in the way, and the signature of a named person.

The program signs nothing. `sign` writes a decision in the name of the director at the desk, after the rules of who
may decide; there is no other way to one.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.desk.later_ledgers import entry_name, need_director, need_outcomes, reason_given, write_decision
from assess.records.errors import Refusal
from assess.records.facts import Decision
from assess.records.text import recorded

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView
    from assess.desk.session import Desk
    from assess.marking.results import ModuleResult
    from assess.records.decision_facts import DecisionKind
    from assess.records.ledger import Entry

__all__ = ["Proposal", "Signed", "decisions", "proposal", "proposals", "result_bytes", "sign", "standing_decision"]

FOLLOWS: dict[str, DecisionKind] = {"passed": "grant", "not_passed": "refuse", "open": "open"}
"""What may be signed on an outcome without a further word; `void` is a signed act, never computed."""
WITHOUT_NUMBERS = frozenset({"void", "suspend", "withdraw", "renew"})


@dataclass(frozen=True)
class Signed:
    """A decision as it was signed: its entry's name, when, by whom, for whom."""

    name: str
    at: str
    by: str
    candidate: str
    fact: Decision


@dataclass(frozen=True)
class Proposal:
    """What the rules give for one module, and whether it can be signed.

    follows: the decision that follows from the outcome, None while nothing does. waits: what stands in the way of
    anybody signing. against: why this person may not sign it. standing: what was signed last; `stale` when it does
    not rest on what stands now. otherwise: what was signed of it elsewhere in another way, neither standing in for the
    other; sign one that stands in for both. mean: as printed, on its own side of the line.
    """

    candidate: str
    module: str
    result: ModuleResult
    follows: DecisionKind | None
    waits: tuple[str, ...]
    against: tuple[str, ...]
    mean: str | None = None
    standing: Signed | None = None
    stale: bool = False
    otherwise: tuple[Signed, ...] = ()


WORDING = ("reasons", "band_note")
"""What of a result is told by its other values and is said here in words: another wording makes no other result."""


def result_bytes(result: ModuleResult) -> bytes:
    """A module's result as the digest of a decision is made of: JSON without wording, keys sorted, no spaces."""
    from assess.marking.results_json import to_json

    told = {key: value for key, value in to_json(result).items() if key not in WORDING}
    told["shadows"] = [{key: shadow[key] for key in ("task", "assessor")} for shadow in told["shadows"]]
    return json.dumps(told, sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode("utf-8")


def decisions(desk: CourseView, candidate: str, module: str | None = None) -> tuple[Signed, ...]:
    """Every decision a director of the course signed for a candidate, superseded ones too, by time."""
    return tuple(
        Signed(entry_name(ledger, entry), entry.at, ledger.header.author, candidate, entry.fact)
        for ledger, entry in desk.shelf.entries("decision")
        if isinstance(entry.fact, Decision)
        and ledger.header.candidate == candidate
        and ledger.header.author in desk.course.directors
        and module in (None, entry.fact.module)
    )


def standing_decision(desk: CourseView, candidate: str, module: str) -> Signed | None:
    """The decision that none stands in for. Raises Refusal where two do that know nothing of each other."""
    standing = _loose(desk, candidate, module)
    if len({item.fact.decision for item in standing}) > 1:
        names = " and ".join(item.name for item in standing)
        raise Refusal(f"{candidate} {module} was decided in two ways: {names}", todo="sign one that stands in for both")
    return standing[-1] if standing else None


def proposal(desk: Desk, candidate: str, module: str) -> Proposal:
    """What the rules give for one module and whether this person may sign it. Raises Refusal to all but a director."""
    from assess.desk.eligible import may_decide
    from assess.desk.outcomes import HiddenModule, course_modules, module_result_of
    from assess.marking.results_json import to_json

    need_outcomes(desk)
    who = need_director(desk, "decides")
    if candidate not in desk.course.candidates or module not in course_modules(desk):
        todo = f"modules: {', '.join(course_modules(desk))}"
        raise Refusal(f"{candidate} {module} is no module of a candidate of this course", todo=todo)
    result = module_result_of(desk, candidate, module)
    if isinstance(result, HiddenModule):
        raise Refusal(f"{candidate} {module}: {result.why}", todo="a director decides")
    loose = _loose(desk, candidate, module)
    last = loose[-1] if loose else None
    return Proposal(
        candidate, module, result,
        follows=FOLLOWS.get(result.outcome),
        waits=_waits(result),
        against=may_decide(desk, who, candidate, module),
        mean=to_json(result)["mean"],
        standing=last,
        stale=last is not None and last.fact.result not in (None, _digest(result)),
        otherwise=tuple(item for item in loose if last is not None and item.fact.decision != last.fact.decision),
    )  # fmt: skip


def proposals(desk: Desk) -> tuple[Proposal, ...]:
    """One for every module of every candidate, in the order of the course."""
    from assess.desk.outcomes import course_modules

    need_outcomes(desk)
    return tuple(proposal(desk, who, module) for who in desk.course.candidates for module in course_modules(desk))


def _waits(result: ModuleResult) -> tuple[str, ...]:
    told = []
    if result.not_locked:
        told.append(f"not locked by everybody: {', '.join(result.not_locked)}")
    if result.moderation_due:
        told.append(f"due for moderation: {', '.join(result.moderation_due)}")
    if result.outcome == "third_look":
        asked = "was ordered and is not closed" if result.third_look == "ordered" else "is due"
        told.append(f"a third look {asked}")
    elif result.third_look == "ordered":
        told.append("a third look was ordered and is not closed")
    return tuple(told)


def sign(
    desk: Desk,
    candidate: str,
    module: str,
    *,
    kind: DecisionKind | None = None,
    reason: str = "",
    waiver: str = "",
    valid_to: str | None = None,
) -> Entry:
    """Sign a decision in the name of the director at the desk; the last one, if any, is superseded, never changed.

    Without `kind` it is what follows from the outcome. `waiver` is the reason why somebody who marked or trained the
    candidate, or found on a breach, decides all the same; it is counted and printed.
    Raises Refusal while something stands in the way, for a kind that does not follow from the outcome, and to a
    person who may not decide.
    """
    found = proposal(desk, candidate, module)
    chosen = kind or found.follows
    beside = chosen in WITHOUT_NUMBERS
    if found.waits and not beside:
        raise Refusal(f"{candidate} {module} cannot be signed: {'; '.join(found.waits)}", todo="see to that first")
    if chosen is None or (not beside and chosen != found.follows):
        said = found.result.outcome.replace("_", " ")
        raise Refusal(f"{chosen or 'nothing'} does not follow from {said}", todo="moderate, or sign what follows")
    if found.against and not waiver.strip():
        raise Refusal(
            f"{desk.who} may not decide {candidate}: {'; '.join(found.against)}", todo="another director does"
        )
    if beside or found.standing is not None:
        reason = reason_given(reason, f"to {chosen} a module" if beside else "a decision in place of another")
    fact = _decision(desk, found, chosen, reason=reason, waiver=waiver if found.against else "", valid_to=valid_to)
    entry = write_decision(desk, candidate, fact)
    for other in _loose(desk, candidate, module)[:-1]:
        if other.name != fact.supersedes:
            entry = write_decision(desk, candidate, fact.model_copy(update={"supersedes": other.name}))
    return entry


def _loose(desk: CourseView, candidate: str, module: str) -> list[Signed]:
    found = decisions(desk, candidate, module)
    replaced = {item.fact.supersedes for item in found}
    return [item for item in found if item.name not in replaced]


def _decision(
    desk: Desk, found: Proposal, kind: DecisionKind, *, reason: str, waiver: str, valid_to: str | None
) -> Decision:
    from assess import __version__
    from assess.desk.decision_basis import basis
    from assess.marking.results_json import to_json
    from assess.store.seals import seal_of

    told = to_json(found.result)
    heads = basis(desk, found.candidate)
    versions = {
        slot.task: pin.reference
        for slot in desk.course.allocation
        if slot.candidate == found.candidate and (pin := desk.course.pin(slot.task)) is not None
    }
    numbers = kind not in WITHOUT_NUMBERS
    return Decision(
        module=found.module, decision=kind, outcome=found.result.outcome,
        mean=told["mean"] if numbers else None, mean_exact=told["mean_exact"] if numbers else None,
        band=told["band"] if numbers else None, n_sheets=told["n_sheets"] if numbers else 0,
        because=tuple(told["reasons"]), rubric=found.result.rubric, versions=versions, heads=heads,
        seal=seal_of(heads), result=_digest(found.result), tool=__version__, valid_to=valid_to,
        supersedes=found.standing.name if found.standing else None, waiver=recorded(waiver.strip()) or None,
        reason=recorded(reason.strip()) or None,
    )  # fmt: skip


def _digest(result: ModuleResult) -> str:
    import hashlib

    return "sha256:" + hashlib.sha256(result_bytes(result)).hexdigest()
