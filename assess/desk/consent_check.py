"""Films the records refer to, held against what the people in them agreed to."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING, Any

from assess.records.consents import why_not_shown
from assess.records.errors import Problem
from assess.records.facts import Observation, ThirdLook
from assess.records.ledger import live_entries

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.round import Round
    from assess.store.ledger_file import LedgerFile

__all__ = ["consent_findings"]

_TODO_ROUND = "ask those in it, and write the answer into people.yaml under `consents`, `scope: [train]`"
_TODO = "ask, and write the answer into people.yaml under `consents`; until then nobody looks at the film"


def consent_findings(desk: Desk) -> Iterator[Problem]:
    """One doubt for each record that refers to a film somebody in it has not agreed to, or has withdrawn from.

    And for each child of whom a film is agreed to without a guardian.
    """
    if desk.folder.round is not None:
        yield from _of_round(desk, desk.folder.round)
    for file in () if desk.folder.round is not None else desk.folder.ledgers:
        found = next(((entry.line, use) for entry in live_entries(file.ledger) if (use := _film(entry.fact))), None)
        if found is not None:
            yield from _of_record(desk, file, found[0])
    for place, consent in enumerate(desk.people.consents):
        child = any(each.id == consent.who and each.kind == "child" for each in desk.people.learners)
        if child and consent.film and not consent.guardian and "guardian" not in consent.by.casefold():
            line = desk.folder.people_doc.line("consents", place)
            what = f"`{consent.who}` is a child, and no guardian is named"
            yield Problem("people.yaml", line, what, "a guardian agrees to films of a child: `guardian`", doubt=True)


def _of_round(desk: Desk, this: Round) -> Iterator[Problem]:
    """The films of a calibration round: whoever is in one agrees, under the lesson's id, to training."""
    day, today = date.fromisoformat(this.date), date.fromisoformat(desk.today())
    for place, lesson in enumerate(this.lessons):
        if not lesson.film:
            continue
        agreed = why_not_shown(desk.people, lesson.id, "train", day, lesson.film)
        why = agreed or _withdrawn(desk, lesson.id, max(day, today))
        if why:
            line = desk.folder.course_doc.line("lessons", place, "film")
            yield Problem("round.yaml", line, f"is a film, and {why}", _TODO_ROUND, doubt=True)


def _film(fact: Any) -> bool:
    if isinstance(fact, Observation):
        return fact.film_ms is not None or fact.viewpoint == "film"
    return isinstance(fact, ThirdLook) and fact.source == "film"


def _of_record(desk: Desk, file: LedgerFile, line: int) -> Iterator[Problem]:
    header = file.ledger.header
    candidate, shown = header.candidate or "", f"{file.path.parent.name}/{file.path.name}"
    slot = desk.course.slot(header.task or "", candidate)
    day = desk.course.held_on(header.task or "", candidate) or date.fromisoformat(header.opened[:10])
    today = max(day, date.fromisoformat(desk.today()))
    # Who films their own lesson has agreed; of a season only the learners are asked.
    filmed = () if desk.folder.season else (candidate,)
    for who in (*filmed, *(slot.learners if slot else ())):
        # Agreed to when it was made, and not taken back since.
        why = why_not_shown(desk.people, who, "assess", day) or _withdrawn(desk, who, today)
        if who and why:
            yield Problem(shown, line, f"refers to a film, and {why}", _TODO, doubt=True)


def _withdrawn(desk: Desk, who: str, today: date) -> str:
    why = why_not_shown(desk.people, who, "assess", today)
    return why if "withdrawn" in why else ""
