"""Appeals and complaints: opened, acknowledged, reviewed from outside, found on, closed; with their clocks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, Literal, get_args

from assess.desk.deciding import standing_decision
from assess.desk.later_ledgers import need_director, reason_given
from assess.records.errors import Refusal
from assess.records.facts import (
    CaseAcknowledged,
    CaseChecked,
    CaseClosed,
    CaseFinding,
    CaseOpened,
    CaseReviewer,
    SomeFact,
)
from assess.records.ledger import Header
from assess.records.text import recorded

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.ledger import Entry

__all__ = [
    "Case", "acknowledge", "case_of", "cases", "check_claim", "close_case", "excluded", "find_on", "next_case",
    "open_case", "set_reviewer",
]  # fmt: skip


Result = Literal["upheld", "partly", "rejected", "not-admissible"]


@dataclass(frozen=True)
class Case:
    """A case as it stands. state: `open`, `acknowledged`, `in review`, `found` or `closed`.

    due: what is to be done next and until when; overdue: that day has passed.
    """

    id: str
    candidate: str
    opened: CaseOpened
    state: str
    due: str = ""
    until: str = ""
    overdue: bool = False
    reviewer: str = ""
    checked: tuple[CaseChecked, ...] = ()
    finding: CaseFinding | None = None
    closed: CaseClosed | None = None


def cases(desk: Desk) -> tuple[Case, ...]:
    """Every case of the course, by id. Raises Refusal to all but a director."""
    need_director(desk, "sees the cases")
    ids = sorted({ledger.header.case or "" for ledger in desk.shelf.of_kind("case")})
    return tuple(case for name in ids if (case := _case(desk, name)) is not None)


def case_of(desk: Desk, name: str) -> Case:
    """One case. Raises Refusal when there is none."""
    found = next((case for case in cases(desk) if case.id == name), None)
    if found is None:
        raise Refusal(f"there is no case {name}", todo="see `assess case` on the course")
    return found


def _case(desk: Desk, name: str) -> Case | None:
    entries = [pair for pair in desk.shelf.entries("case") if pair[0].header.case == name]
    facts = [entry.fact for _, entry in entries]
    opened = next((fact for fact in facts if isinstance(fact, CaseOpened)), None)
    if opened is None:
        return None
    candidate = next((led.header.candidate for led, _ in entries if led.header.candidate), "")
    reviewer = next((fact.reviewer for fact in reversed(facts) if isinstance(fact, CaseReviewer)), "")
    finding = next((fact for fact in reversed(facts) if isinstance(fact, CaseFinding)), None)
    closed = next((fact for fact in reversed(facts) if isinstance(fact, CaseClosed)), None)
    told = any(isinstance(fact, CaseAcknowledged) for fact in facts)
    state = (
        "closed" if closed else "found" if finding else "in review" if reviewer else "acknowledged" if told else "open"
    )
    due, until = _next(desk, state, opened.received)
    return Case(
        name, candidate, opened, state, due, until, bool(until) and desk.today() > until, reviewer,
        tuple(fact for fact in facts if isinstance(fact, CaseChecked)), finding, closed,
    )  # fmt: skip


def _next(desk: Desk, state: str, received: str) -> tuple[str, str]:
    rules = desk.course.appeals
    days = {
        "open": ("acknowledge it", rules.acknowledge_days),
        "acknowledged": ("name a reviewer", rules.find_days),
        "in review": ("find on it", rules.find_days),
        "found": ("tell the finding and close it", rules.find_days),
    }
    if state not in days:
        return "", ""
    words, number = days[state]
    return words, (date.fromisoformat(received) + timedelta(days=number)).isoformat()


def next_case(desk: Desk, candidate: str) -> str:
    """The id of the candidate's next case: `C08-1`."""
    taken = {ledger.header.case for ledger in desk.shelf.of_kind("case")}
    return next(name for number in range(1, 100) if (name := f"{candidate}-{number}") not in taken)


def excluded(desk: Desk, candidate: str) -> dict[str, tuple[str, ...]]:
    """Who may not review a case of this candidate, and why: whoever had any part in the course's results of them."""
    why: dict[str, list[str]] = {}

    def add(who: str | None, words: str) -> None:
        if who and words not in why.setdefault(who, []):
            why[who].append(words)

    for who in (*desk.course.assessors, *desk.course.directors):
        add(who, "belongs to the course")
    for slot in desk.course.allocation:
        if slot.candidate == candidate:
            for who in (*slot.assessors, *slot.shadows):
                add(who, "marked the candidate")
    for item in desk.people.trained:
        if item.candidate == candidate:
            add(item.assessor, "trained the candidate")
    for conflict in desk.people.conflicts:
        if conflict.candidate == candidate:
            add(conflict.assessor, "declared a conflict")
    words = {"decision": "signed a decision or a finding", "moderation": "moderated", "case": "kept the case"}
    for kind, said in words.items():
        for ledger in desk.shelf.of_kind(kind):
            if ledger.header.candidate == candidate:
                add(ledger.header.author, said)
    return {who: tuple(said) for who, said in sorted(why.items())}


def open_case(
    desk: Desk,
    candidate: str,
    *,
    claim: str,
    grounds: Sequence[str],
    received: str,
    about: str = "appeal",
    module: str | None = None,
) -> str:
    """Open a case; its id. An appeal is against a signed decision, within the days the course gives for it.

    Raises Refusal for an appeal without a decision or grounds, or after its days.
    """
    need_director(desk, "opens a case")
    _day(received)
    decision = None
    if about == "appeal":
        if module is None or not grounds:
            raise Refusal("an appeal names a module and its grounds", todo="--module teach --grounds procedure")
        signed = standing_decision(desk, candidate, module)
        if signed is None:
            raise Refusal(f"{candidate} {module} is not decided", todo="an appeal is against a signed decision")
        last = _day(signed.at[:10]) + timedelta(days=desk.course.appeals.file_within_days)
        if _day(received) > last:
            raise Refusal(f"the days for an appeal ended on {last}", todo="a complaint can still be opened")
        decision = signed.name
    name = next_case(desk, candidate)
    fact = CaseOpened.model_validate(
        {
            "about": about, "module": module, "decision": decision, "grounds": tuple(grounds), "received": received,
            "claim": reason_given(claim, "a case"),
        }
    )  # fmt: skip
    _write(desk, name, candidate, fact)
    return name


def acknowledge(desk: Desk, name: str, on: str, text: str = "") -> Entry:
    """The person was told that it came in. Raises Refusal for a case that is further on already."""
    case = _at(desk, name, "open")
    return _write(desk, name, case.candidate, CaseAcknowledged(on=on, text=recorded(text) or None))


def set_reviewer(desk: Desk, name: str, reviewer: str, reason: str = "") -> Entry:
    """Name who looks at it: one of the reviewers in people.yaml, with no part in anything about the candidate."""
    case = _at(desk, name, "open", "acknowledged", "in review")
    against = excluded(desk, case.candidate).get(reviewer)
    if against:
        raise Refusal(f"{reviewer} may not review {name}: {', '.join(against)}", todo="somebody from outside does")
    known = [person.id for person in desk.people.reviewers]
    if reviewer not in known:
        todo = f"use one of {', '.join(known)}" if known else "write them into people.yaml under `reviewers`"
        raise Refusal(f"{reviewer} is no reviewer in people.yaml", todo=todo)
    return _write(desk, name, case.candidate, CaseReviewer(reviewer=reviewer, reason=recorded(reason) or None))


def check_claim(desk: Desk, name: str, text: str, looked_at: Sequence[str] = (), late: Sequence[str] = ()) -> Entry:
    """Write down what a claim was held against and what the record says. Late evidence stays apart from the scores."""
    case = _at(desk, name, "open", "acknowledged", "in review")
    fact = CaseChecked(looked_at=tuple(looked_at), late=tuple(late), text=reason_given(text, "a check"))
    return _write(desk, name, case.candidate, fact)


def find_on(desk: Desk, name: str, result: Any, finding: str, remedy: str = "") -> Entry:
    """Write down the reviewer's finding. An upheld one names its remedy. Raises Refusal without a reviewer."""
    case = _at(desk, name, "in review")
    if result not in get_args(Result):
        raise Refusal("a finding says what was found", todo=f"one of {', '.join(get_args(Result))}")
    if result in ("upheld", "partly") and not remedy.strip():
        raise Refusal(
            "an upheld case has a remedy", todo="name it: marked again, a resit without a try, a new decision"
        )
    fact = CaseFinding(
        result=result,
        reviewer=case.reviewer,
        finding=reason_given(finding, "a finding"),
        remedy=recorded(remedy) or None,
    )
    return _write(desk, name, case.candidate, fact)


def close_case(desk: Desk, name: str, on: str, text: str = "") -> Entry:
    """The person was told the finding. A new decision after an upheld appeal is named by its entry, if there is one."""
    case = _at(desk, name, "found")
    new = None
    if case.opened.module is not None:
        signed = standing_decision(desk, case.candidate, case.opened.module)
        new = signed.name if signed is not None and signed.name != case.opened.decision else None
    return _write(desk, name, case.candidate, CaseClosed(on=on, decision=new, text=recorded(text) or None))


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Refusal(f"{text} is no date", todo="write it like 2027-03-01") from None


def _at(desk: Desk, name: str, *states: str) -> Case:
    case = case_of(desk, name)
    if case.state not in states:
        raise Refusal(f"{name} is {case.state}", todo=f"it can be done while it is {' or '.join(states)}")
    return case


def _write(desk: Desk, name: str, candidate: str, fact: SomeFact) -> Entry:
    header = Header(
        kind="case", course=desk.course.id, case=name, candidate=candidate, by=desk.who, device=desk.device,
        opened=desk.now(),
    )  # fmt: skip
    return desk.append(desk.live(header), fact)
