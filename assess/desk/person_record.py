"""Everything a course holds about one person, gathered as far as a director may read it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from assess.desk.tellable import Teller
from assess.records.concerning import about, kept_on, moved_away, names_id
from assess.records.errors import Refusal, UsageError

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.marking.results import Mark
    from assess.records.course import Course, People
    from assess.records.ledger import Entry, Ledger

__all__ = ["PersonRecord", "PersonRole", "only_a_director", "person_record", "person_role"]

PersonRole = Literal["candidate", "assessor", "director", "reviewer", "learner"]


@dataclass(frozen=True)
class PersonRecord:
    """What is kept about one person, as plain data with every name still in it.

    held: their licences, whom they trained or who trained them, and what was agreed for them.
    entry: their part of people.yaml; consents, conflicts, slots, events: what names their id in the two files.
    ledgers: by `sheets/...` name, header and the entries about them (for who works on the course also those they
    wrote). marks: the scores on sheets about them, or of theirs. left_out: slots not everybody has locked.
    """

    id: str
    role: PersonRole
    entry: dict[str, Any]
    consents: tuple[dict[str, Any], ...]
    conflicts: tuple[dict[str, Any], ...]
    slots: tuple[dict[str, Any], ...]
    events: tuple[dict[str, Any], ...]
    ledgers: tuple[dict[str, Any], ...]
    marks: tuple[dict[str, str], ...]
    left_out: tuple[tuple[str, str], ...]
    newest: str
    held: dict[str, tuple[dict[str, Any], ...]] = field(default_factory=dict)


def person_role(course: Course, people: People, person: str) -> PersonRole:
    """What somebody is in a course. Raises UsageError for an id nobody has."""
    lists: tuple[tuple[PersonRole, Sequence[str]], ...] = (
        ("candidate", [*course.candidates, *(each.id for each in people.candidates)]),
        ("assessor", [*course.assessors, *(each.id for each in people.assessors)]),
        ("director", [*course.directors, *(each.id for each in people.directors)]),
        ("reviewer", [each.id for each in people.reviewers]),
        ("learner", [*(each.id for each in people.learners), *(who for a in course.allocation for who in a.learners)]),
    )
    found = next((role for role, ids in lists if person in ids), None)
    if found is None:
        raise UsageError(f"{person} is nobody of this course", todo="see the ids in people.yaml and course.yaml")
    return found


def only_a_director(desk: Desk, what: str) -> None:
    """Raises Refusal for anybody but a director: what is kept about a person goes through who answers for it."""
    if desk.role != "director":
        raise Refusal(f"only a director {what}", todo="say who you are with --as ID")


def person_record(desk: Desk, person: str) -> PersonRecord:
    """Everything about a person that a director may read. Raises UsageError for an id nobody has."""
    role = person_role(desk.course, desk.people, person)
    ledgers = tuple(_ledgers(desk, person, role))
    times = [entry["at"] for ledger in ledgers for entry in ledger["entries"]]
    return PersonRecord(
        person,
        role,
        _entry(desk.people, person),
        tuple(_dumped(each) for each in desk.people.consents if each.who == person),
        tuple(_dumped(each) for each in desk.people.conflicts if person in (each.assessor, each.candidate)),
        tuple(_dumped(each) for each in desk.course.allocation if person in _people_of(each)),
        tuple(_dumped(each) for each in desk.course.events if _about_event(each, person)),
        ledgers,
        tuple(_marks(desk, person, role)),
        tuple((a.task, a.candidate) for a in desk.course.allocation if _hidden(desk, a, person)),
        max(times, default=""),
        _held(desk.people, person),
    )


def _held(people: People, person: str) -> dict[str, tuple[dict[str, Any], ...]]:
    trained = (each for each in people.trained if person in (each.assessor, each.candidate))
    return {
        "licences": tuple(_dumped(each) for each in people.licences if each.assessor == person),
        "trained": tuple(_dumped(each) for each in trained),
        "accommodations": tuple(_dumped(each) for each in people.accommodations if each.candidate == person),
    }


def _dumped(part: Any) -> dict[str, Any]:
    made: dict[str, Any] = part.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    return made


def _entry(people: People, person: str) -> dict[str, Any]:
    listed: tuple[Any, ...] = (
        *people.candidates, *people.assessors, *people.directors, *people.reviewers, *people.learners,
    )  # fmt: skip
    return next((_dumped(each) for each in listed if each.id == person), {})


def _people_of(slot: Any) -> tuple[str, ...]:
    return (slot.candidate, *slot.assessors, *slot.shadows, *slot.learners)


def _about_event(event: Any, person: str) -> bool:
    words = event.about.replace("/", " ").replace(",", " ").split()
    named = () if event.candidates == "all" else event.candidates
    return person in (event.by, event.who, *named, *words)


def _hidden(desk: Desk, slot: Any, person: str) -> bool:
    return person in _people_of(slot) and not desk.sight.slot_open(slot.task, slot.candidate)


def _ledgers(desk: Desk, person: str, role: PersonRole) -> Iterator[dict[str, Any]]:
    teller = Teller(desk)
    for file in (*desk.folder.ledgers, *desk.folder.forks):
        shown = f"{file.path.parent.name}/{file.path.name}"
        header = file.ledger.header
        if header.kind == "sheet" and not teller.may_tell(shown):
            continue
        entries = _entries(file.ledger, person, role)
        if entries or kept_on(header, person) or header.author == person:
            used = file in desk.folder.ledgers and not file.bad
            yield {"file": shown, "used": used, "header": header.payload(), "entries": entries}


def _entries(ledger: Ledger, person: str, role: PersonRole) -> list[dict[str, Any]]:
    away = moved_away(ledger)
    theirs = {entry.n for entry in about(ledger, person)}
    if role in ("assessor", "director", "reviewer") and ledger.header.author == person:
        theirs = {entry.n for entry in ledger.entries}
    elif kept_on(ledger.header, person):
        # Marks that were given to this candidate by mistake are somebody else's.
        theirs = {n for n in theirs if n not in away or names_id(ledger.entries[n - 1].fact, person)}
    return [_told(entry) for entry in ledger.entries if entry.n in theirs]


def _told(entry: Entry) -> dict[str, Any]:
    said = entry.fact.payload()
    # Which entries lost their text would tell how many there were, also in sheets that are not locked.
    return {"n": entry.n, "at": entry.at, **{key: item for key, item in said.items() if key != "entries"}}


def _marks(desk: Desk, person: str, role: PersonRole) -> Iterator[dict[str, str]]:
    for task, candidate, assessor in desk.shelf.sheet_keys():
        theirs = person == (candidate if role == "candidate" else assessor)
        known = desk.course.task(task) is not None
        if theirs and known and desk.sight.sheet(task, candidate, assessor):
            sheet = desk.folded(task, candidate, assessor)
            # Marks given here by mistake are somebody else's.
            mine = [mark for mark in sheet.history if role != "candidate" or mark.state != "moved away"]
            yield from (_mark(task, candidate, assessor, mark) for mark in mine)


def _mark(task: str, candidate: str, assessor: str, mark: Mark) -> dict[str, str]:
    return {
        "task": task,
        "candidate": candidate,
        "assessor": assessor,
        "run": "" if mark.run is None else str(mark.run),
        "criterion": mark.criterion,
        "status": mark.status,
        "level": "" if mark.level is None else str(mark.level),
        "why": mark.why or "",
        "at": mark.at,
        "state": mark.state,
    }
