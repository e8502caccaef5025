"""Late evidence: logged by its digest, shown to no marker before the lock, admitted or not by a named rule."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assess.desk.later_ledgers import known_slot, need_director, reason_given, write_decision
from assess.records.errors import Refusal
from assess.records.facts import LateEvidence, LateEvidenceRuling
from assess.records.text import recorded

if TYPE_CHECKING:
    from assess.desk.course_view import CourseView
    from assess.desk.session import Desk
    from assess.records.ledger import Entry

__all__ = ["Late", "admitted", "digest_of", "late_evidence", "log_late", "rule_on_late"]


@dataclass(frozen=True)
class Late:
    """One piece of late evidence and what became of it; `ruling` is None while nobody has ruled."""

    candidate: str
    fact: LateEvidence
    at: str
    ruling: LateEvidenceRuling | None


def digest_of(path: Path) -> str:
    """`sha256:` and the digest of a file, read in pieces. Raises OSError."""
    with path.open("rb") as file:
        return "sha256:" + hashlib.file_digest(file, "sha256").hexdigest()


def late_evidence(desk: CourseView, candidate: str) -> tuple[Late, ...]:
    """What came in about a candidate, by time; of a slot not locked by all only a director is told."""
    entries = [pair for pair in desk.shelf.entries("decision") if pair[0].header.candidate == candidate]
    rulings = {e.fact.digest: e.fact for _, e in entries if isinstance(e.fact, LateEvidenceRuling)}
    return tuple(
        Late(candidate, entry.fact, entry.at, rulings.get(entry.fact.digest))
        for _, entry in entries
        if isinstance(entry.fact, LateEvidence)
        and (desk.role == "director" or desk.sight.slot_open(entry.fact.slot, candidate))
    )


def admitted(desk: CourseView, task: str, candidate: str) -> frozenset[str]:
    """The digests of late evidence admitted for a slot."""
    return frozenset(
        item.fact.digest
        for item in late_evidence(desk, candidate)
        if item.fact.slot == task and item.ruling is not None and item.ruling.admitted
    )


def log_late(desk: Desk, slot: str, digest: str, what: str) -> Entry:
    """Log something that came in about a performance. It changes no mark; the thing itself is not kept here."""
    need_director(desk, "logs late evidence")
    task, candidate = known_slot(desk, slot)
    known = {item.fact.digest for item in late_evidence(desk, candidate)}
    if digest in known:
        raise Refusal("this is logged already", todo="nothing needs to change")
    return write_decision(desk, candidate, LateEvidence(slot=task, digest=digest, what=recorded(what) or None))


def rule_on_late(desk: Desk, candidate: str, digest: str, *, admit: bool, rule: str, reason: str) -> Entry:
    """Admit it or not, by a rule that is named; what was scored before stays apart from it."""
    need_director(desk, "rules on late evidence")
    found = next((item for item in late_evidence(desk, candidate) if item.fact.digest == digest), None)
    if found is None:
        raise Refusal("no such evidence is logged", todo="log it first")
    if not desk.sight.slot_open(found.fact.slot, candidate):
        raise Refusal(f"{found.fact.slot}.{candidate} is not locked by everybody", todo="rule when it is")
    fact = LateEvidenceRuling(
        digest=digest, admitted=admit, rule=reason_given(rule, "a ruling"), reason=reason_given(reason, "a ruling")
    )
    return write_decision(desk, candidate, fact)
