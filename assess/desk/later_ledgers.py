"""The ledgers of the later steps, and who may write what into them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assess.records.errors import Refusal
from assess.records.ledger import Entry, Header, Ledger
from assess.records.text import recorded

if TYPE_CHECKING:
    from collections.abc import Mapping

    from assess.desk.course_view import CourseView
    from assess.desk.session import Desk
    from assess.records.facts import Observation, SomeFact

__all__ = [
    "entry_name",
    "known_slot",
    "need_director",
    "need_outcomes",
    "reason_given",
    "words_of",
    "write_decision",
    "write_moderation",
]


def entry_name(ledger: Ledger, entry: Entry) -> str:
    """How another entry names this one: `decisions/C06.D1.d31kq 3`, of a sheet or a day without its folder."""
    from assess.store.course_files import folder_of, recorded_name

    return f"{recorded_name(folder_of(ledger.header.kind), ledger.name)} {entry.n}"


def need_outcomes(desk: CourseView) -> None:
    """Raise Refusal in a trainee's season: what somebody thinks of their own lesson decides nothing, ever."""
    from assess.records.season import NO_RESULT

    if desk.folder.season is not None:
        root = desk.folder.root
        raise Refusal(NO_RESULT, where=str(root), todo=f"see `assess film {root}`")


def need_director(desk: Desk, act: str) -> str:
    """The director at this desk. Raises Refusal for anybody else: `act` says who does what."""
    if desk.role != "director" or desk.who is None:
        raise Refusal(f"only a director {act}", todo="say who you are with --as ID")
    return desk.who


def reason_given(text: str, what: str) -> str:
    """The reason as it is kept. Raises Refusal without one."""
    if not text.strip():
        raise Refusal(f"{what} needs a reason", todo="say why; it is kept and printed")
    return recorded(text)


def known_slot(desk: Desk, name: str) -> tuple[str, str]:
    """Task and candidate of a slot written `T2.C06`. Raises Refusal when the course has no such slot."""
    task, _, candidate = name.partition(".")
    if desk.course.slot(task, candidate) is None:
        raise Refusal(f"{name} is no slot of this course", todo="write it like T2.C06: task, then candidate")
    return task, candidate


def write_decision(desk: Desk, candidate: str, fact: SomeFact) -> Entry:
    """Append to this person's decision ledger of a candidate.

    Raises Refusal for a candidate the course lacks, and in a season of one's own films.
    """
    need_outcomes(desk)
    if candidate not in desk.course.candidates:
        raise Refusal(f"{candidate} is no candidate of this course", todo="see the candidates in course.yaml")
    header = Header(
        kind="decision", course=desk.course.id, candidate=candidate, by=desk.who, device=desk.device, opened=desk.now()
    )
    return desk.append(desk.live(header), fact)


def write_moderation(desk: Desk, task: str, candidate: str, fact: SomeFact) -> Entry:
    """Append to this person's moderation ledger of a slot. Raises Refusal in a season of one's own films."""
    need_outcomes(desk)
    header = Header(
        kind="moderation", course=desk.course.id, task=task, candidate=candidate, by=desk.who, device=desk.device,
        opened=desk.now(),
    )  # fmt: skip
    return desk.append(desk.live(header), fact)


def words_of(fact: Observation, labels: Mapping[str, str]) -> str:
    """An observation as it is read: its words; without any what it speaks for or against; `(erased)` when erased."""
    if fact.text:
        return fact.text
    if "text" in fact.erased:
        return "(erased)"
    about = ", ".join(labels.get(name, name) for name in fact.criteria)
    said = f"seen {fact.direction}" if fact.direction else "seen"
    return f"{said}: {about}" if about else ", ".join(fact.tags) or said
