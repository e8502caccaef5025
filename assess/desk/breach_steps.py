"""A reported breach heard and found: the candidate's account first, then a finding on the written standard."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from assess.desk.breaches import breach_states, reports_of
from assess.desk.later_ledgers import need_director, reason_given, write_decision
from assess.records.errors import Refusal
from assess.records.facts import BreachAccount, BreachFinding, Decision
from assess.records.text import recorded

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assess.desk.session import Desk
    from assess.records.ledger import Entry

__all__ = ["STANDARD", "find", "hear"]

STANDARD = "more likely than not, on first-hand evidence"


def hear(desk: Desk, candidate: str, must_not: str, account: str = "", *, declined: bool = False) -> Entry:
    """Write down the candidate's account of a reported breach, in their words, or that they declined to give one.

    Raises Refusal when nobody reported it, and when there is neither an account nor a refusal of one.
    """
    need_director(desk, "hears a candidate on a breach")
    _reported(desk, candidate, must_not)
    if bool(account.strip()) == declined:
        raise Refusal("an account, or that the candidate declined: one of them", todo="write --account or --declined")
    return write_decision(
        desk, candidate, BreachAccount(must_not=must_not, declined=declined, account=recorded(account) or None)
    )


def find(
    desk: Desk,
    candidate: str,
    must_not: str,
    state: Literal["confirmed", "not-confirmed"],
    *,
    reason: str,
    modules: Sequence[str] = (),
) -> Entry:
    """Confirm a reported breach or not, for the modules its must-not closes (or for fewer, named).

    Raises Refusal before the candidate was heard or declined, to whoever reported it, to whoever decided one of
    those modules, and without a reason.
    """
    who = need_director(desk, "finds on a breach")
    reports = _reported(desk, candidate, must_not)
    kept = reason_given(reason, "a finding")
    if not _heard(desk, candidate, must_not):
        raise Refusal("the candidate has not been heard", todo="write down the account, or that they declined, first")
    if who in {assessor for _, assessor in reports}:
        raise Refusal(f"{who} reported it and cannot find on it", todo="another director does")
    closes = next(state.modules for state in breach_states(desk, candidate) if state.must_not == must_not)
    wanted = tuple(modules) or closes
    strange = [module for module in wanted if module not in closes]
    if strange:
        raise Refusal(f"{must_not} does not close {', '.join(strange)}", todo=f"it closes {', '.join(closes)}")
    if who in _deciders(desk, candidate, wanted):
        raise Refusal(f"{who} decided one of these modules and cannot find on it", todo="another director does")
    fact = BreachFinding(
        must_not=must_not,
        state=state,
        modules=wanted,
        reports=tuple(f"{task}.{candidate}.{by}" for task, by in reports),
        standard=STANDARD,
        reason=kept,
    )
    return write_decision(desk, candidate, fact)


def _reported(desk: Desk, candidate: str, must_not: str) -> list[tuple[str, str]]:
    found = reports_of(desk, candidate).get(must_not)
    if not found:
        todo = "a marker reports it on their sheet; it is read once the slot is locked by all"
        raise Refusal(f"nobody reported {must_not} of {candidate}", todo=todo)
    return found


def _heard(desk: Desk, candidate: str, must_not: str) -> bool:
    return any(
        isinstance(entry.fact, BreachAccount)
        and (ledger.header.candidate, entry.fact.must_not) == (candidate, must_not)
        for ledger, entry in desk.shelf.entries("decision")
    )


def _deciders(desk: Desk, candidate: str, modules: tuple[str, ...]) -> set[str]:
    return {
        ledger.header.author
        for ledger, entry in desk.shelf.entries("decision")
        if isinstance(entry.fact, Decision)
        and ledger.header.candidate == candidate
        and entry.fact.module in modules
        and entry.fact.decision != "open"
    }
