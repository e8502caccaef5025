"""Erasing one person from a course: what would go, what stands against it, and the act. GDPR, article 17."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from assess.desk.ordinary_words import ordinary_words
from assess.desk.person_record import PersonRole, only_a_director, person_role
from assess.desk.tellable import Teller
from assess.records.concerning import kept_on
from assess.records.errors import Problem, Refusal, StorageTrouble
from assess.records.facts import CaseClosed, CaseOpened, Erasure
from assess.records.ledger import Header, live_entries
from assess.records.naming import Names, everybody_named
from assess.records.retention import records_until
from assess.records.text import recorded

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.store.disk import Disk
    from assess.store.erasure_plan import ErasurePlan, Mention

__all__ = ["Erased", "Objection", "erase_person", "erasure_told", "objections"]


@dataclass(frozen=True)
class Objection:
    """A reason not to erase: its code as the erasure records it, and what it is."""

    code: str
    text: str


@dataclass(frozen=True)
class Erased:
    """What an erasure takes out, or has taken out, as far as the director may be told.

    files: records whose text about the person goes. mentions: other places that name them. removed: files that go.
    hidden: slots not everybody has locked: their text goes too, and nothing of it is told. left: what a person has
    to settle. done: false after a dry run. nothing: there was nothing to erase.
    """

    person: str
    role: PersonRole
    listed: bool
    files: tuple[str, ...]
    mentions: tuple[Mention, ...]
    removed: tuple[str, ...]
    hidden: tuple[tuple[str, str], ...]
    left: tuple[Problem, ...]
    against: tuple[Objection, ...]
    done: bool = False
    nothing: bool = False


def erasure_told(desk: Desk, person: str, keep: Collection[tuple[str, int]] = ()) -> Erased:
    """What an erasure would do; nothing is changed.

    keep: (file, line) of mentions that mean somebody else. Raises Refusal for anybody but a director and when
    versions of a record have to be compared first, UsageError for an id nobody has.
    """
    only_a_director(desk, "erases what is kept about a person")
    role = person_role(desk.course, desk.people, person)
    plan = _plan(desk, person, keep)
    _refuse_unsettled(desk, plan)
    return _told(desk, person, role, plan)


def erase_person(
    desk: Desk, person: str, reason: str, *, although: bool = False, keep: Collection[tuple[str, int]] = (),
    disk: Disk | None = None,
) -> Erased:  # fmt: skip
    """Erase a person from the course; the desk is of no use afterwards, as its files have changed.

    Text and salts become null, their digests stay and every chain still verifies; the entry in people.yaml goes and
    the id stays as a pseudonym. Raises Refusal as `erasure_told` does, without a reason, and for what stands against
    it unless `although`; StorageTrouble when the disk gives up, and then the same act finishes the work.
    """
    from assess.store.erasure import erase_person as erase
    from assess.store.writer import Writer

    told = erasure_told(desk, person, keep)
    names = _names(desk, person)
    if not reason.strip():
        raise Refusal("an erasure needs a reason", todo="say why with --reason: it is kept")
    if names.found(reason):
        raise Refusal("the reason names the person", todo=f"write {person} instead: the reason is kept")
    if told.against and not although:
        todo = "wait until then, or say --although when something stronger asks for it"
        raise Refusal("; ".join(each.text for each in told.against), todo=todo)
    if told.nothing:
        return told
    if not desk.drain(10):
        raise StorageTrouble(f"not saved: {desk.save_state().why}", todo="make room on the disk and try again")
    fact = Erasure(
        person=person, role=told.role, although=tuple(each.code for each in told.against), reason=recorded(reason)
    )
    today = Header(
        kind="day", course=desk.course.id, by=desk.who, date=desk.today(), device=desk.device, opened=desk.now()
    )
    erase(desk.folder.root, fact, today, names, keep, lambda: Writer(clock=desk.clock), disk=disk)
    return _replaced(told)


def _replaced(told: Erased) -> Erased:
    from dataclasses import replace

    return replace(told, done=True)


def objections(desk: Desk, person: str) -> tuple[Objection, ...]:
    """What stands against erasing a person now: an open case, sheets still open, a date not reached, a hold."""
    return tuple(_objections(desk, person, date.fromisoformat(desk.today())))


def _objections(desk: Desk, person: str, today: date) -> Iterator[Objection]:
    if any(_open_case(desk, person)):
        yield Objection("open-case", f"a case about {person} is open: everything is needed to answer it")
    slots = [each for each in desk.course.allocation if person in (each.candidate, *each.learners, *each.assessors)]
    unlocked = [each for each in slots if not desk.sight.slot_open(each.task, each.candidate)]
    if unlocked:
        names = ", ".join(f"{each.task} {each.candidate}" for each in unlocked)
        yield Objection("not-finished", f"the course is not finished for {person}: not everybody has locked {names}")
    for hold in desk.course.retention.holds:
        if hold.who == person and (hold.until is None or today <= date.fromisoformat(hold.until)):
            until = f" until {hold.until}" if hold.until else ""
            yield Objection("hold", f"what is kept about {person} is held{until}: {hold.why}")
    kept = records_until(desk.course.retention, desk.course.days)
    if today <= kept:
        yield Objection("kept-until", f"the records of this course are kept until {kept} (retention in course.yaml)")


def _open_case(desk: Desk, person: str) -> Iterator[bool]:
    """One item for each case about the person that was opened and not closed."""
    opened: dict[str, bool] = {}
    for ledger in desk.shelf.of_kind("case"):
        for entry in live_entries(ledger) if kept_on(ledger.header, person) else ():
            case = ledger.header.case or ""
            if isinstance(entry.fact, CaseOpened):
                opened.setdefault(case, True)
            elif isinstance(entry.fact, CaseClosed):
                opened[case] = False
    return (True for each in opened.values() if each)


def _names(desk: Desk, person: str) -> Names:
    everybody = everybody_named(desk.people)
    others = [each for each in everybody if each.id != person]
    own = [each for each in everybody if each.id == person]
    return Names(own, spared=others, ordinary=ordinary_words(desk))


def _plan(desk: Desk, person: str, keep: Collection[tuple[str, int]]) -> ErasurePlan:
    from assess.store.erasure_plan import plan_erasure

    return plan_erasure(desk.folder, person, _names(desk, person), keep)


def _refuse_unsettled(desk: Desk, plan: ErasurePlan) -> None:
    if not plan.unsettled:
        return
    told = Teller(desk).tell(plan.unsettled)
    what = "what differs between versions of a record cannot be compared once its text is gone"
    where = ", ".join(problem.file for problem in told) or "of a slot that is not locked: its marker settles it"
    raise Refusal(f"{what} ({where})", todo="settle them first with `assess merge COURSE --settle`")


def _told(desk: Desk, person: str, role: PersonRole, plan: ErasurePlan) -> Erased:
    teller = Teller(desk)
    slots = [each for each in desk.course.allocation if person in (each.candidate, *each.learners)]
    hidden = tuple((a.task, a.candidate) for a in slots if not desk.sight.slot_open(a.task, a.candidate))
    return Erased(
        person,
        role,
        plan.listed,
        tuple(sorted(name for name in plan.own if teller.may_tell(name))),
        tuple(sorted(each for each in plan.mentions if teller.may_tell(each.file))),
        tuple(sorted(name for name in plan.removes if teller.may_tell(name))),
        hidden,
        teller.tell(plan.left),
        objections(desk, person),
        # Whether a sheet that is not locked holds text is not to be told from this.
        nothing=plan.empty and not hidden,
    )
