"""Talks with the candidate, what to train next, and the release of results."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from assess.desk.deciding import standing_decision
from assess.desk.later_ledgers import entry_name, need_director, reason_given, write_decision
from assess.records.errors import Refusal
from assess.records.facts import Action, Observation, Release, Talk
from assess.records.text import recorded

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.ledger import Entry

__all__ = ["MOST_ACTIONS", "actions", "interim_talk", "plan_action", "release", "result_talk", "talks"]

MOST_ACTIONS = 3


def talks(desk: Desk, candidate: str) -> tuple[Talk, ...]:
    """Every talk with a candidate that was logged, by time."""
    return tuple(
        entry.fact
        for ledger, entry in desk.shelf.entries("decision")
        if isinstance(entry.fact, Talk) and ledger.header.candidate == candidate
    )


def interim_talk(
    desk: Desk, candidate: str, minutes: int, said: Sequence[str], *, present: Sequence[str] = (), words: str = ""
) -> Entry:
    """Log a talk after a day: observations that were made in a task, and nothing else.

    It has no text of its own, so that neither a level nor an outcome can be in it. The same minutes are offered to
    every candidate: Refusal for other minutes than the talks before had, and for anything that is no observation.
    """
    _somebody(desk)
    before = {talk.minutes for who in desk.course.candidates for talk in talks(desk, who) if talk.talk == "interim"}
    if before - {minutes}:
        raise Refusal(f"interim talks of this course have {min(before)} minutes", todo="offer everybody the same")
    known = observations_of(desk, candidate)
    strange = [name for name in said if name not in known]
    if strange or not said:
        what = f"{', '.join(strange)}: no observation of {candidate} that may be told" if strange else "nothing is said"
        raise Refusal(what, todo="name observations made in a task, like `T1.C04.A2.d7h2k 3`")
    fact = Talk(
        talk="interim",
        minutes=minutes,
        present=_present(desk, present),
        said=tuple(said),
        words=recorded(words) or None,
    )
    return write_decision(desk, candidate, fact)


def observations_of(desk: Desk, candidate: str) -> dict[str, Observation]:
    """Entry name -> observation made in a task, of every sheet of the candidate this person may read."""
    found = {}
    for task, who, assessor in desk.shelf.sheet_keys():
        if who != candidate or not desk.sight.sheet(task, candidate, assessor):
            continue
        for seen in desk.folded(task, candidate, assessor).observations:
            if seen.fact.made_in_task:
                found[str(seen.ref)] = seen.fact
    return found


def result_talk(
    desk: Desk, candidate: str, minutes: int, *, present: Sequence[str] = (), words: str = "", copied: bool = False
) -> Entry:
    """Log the talk about the result: who was there, the candidate's own words, whether a copy was handed over.

    Raises Refusal before anything is signed and released to the candidate.
    """
    from assess.desk.outcomes import course_modules

    _somebody(desk)
    modules = [name for name in course_modules(desk) if standing_decision(desk, candidate, name) is not None]
    if not any(desk.sight.released(module, candidate, "candidates") for module in modules):
        raise Refusal(f"no signed result of {candidate} is released", todo="sign, then release it to candidates")
    fact = Talk(
        talk="result", minutes=minutes, present=_present(desk, present), copied=copied, words=recorded(words) or None
    )
    return write_decision(desk, candidate, fact)


def _somebody(desk: Desk) -> None:
    if desk.who is None:
        raise Refusal("nobody has said who is writing", todo="say who you are with --as ID")


def _present(desk: Desk, present: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*present, desk.who or "")))


def actions(desk: Desk, candidate: str) -> tuple[tuple[str, Action], ...]:
    """What a candidate is to train, from decisions that still stand: entry name and action, by time."""
    found = []
    for ledger, entry in desk.shelf.entries("decision"):
        if isinstance(entry.fact, Action) and ledger.header.candidate == candidate:
            found.append((entry_name(ledger, entry), entry.fact))
    return tuple(found)


def plan_action(
    desk: Desk,
    candidate: str,
    module: str,
    *,
    behaviour: str,
    evidence: Sequence[str],
    checked_by: str,
    by_when: str,
    criterion: str | None = None,
    drills: Sequence[str] = (),
    practice: str = "",
) -> Entry:
    """Add one thing to train to what follows from a signed decision; at most three for a candidate.

    Each names the observations it comes from, how it will be checked and by when.
    Raises Refusal without a signed decision, without evidence, and for a fourth.
    """
    need_director(desk, "writes what to train")
    signed = standing_decision(desk, candidate, module)
    if signed is None:
        raise Refusal(f"{candidate} {module} is not decided", todo="what to train follows from a signed decision")
    if len(actions(desk, candidate)) >= MOST_ACTIONS:
        raise Refusal(f"{candidate} has {MOST_ACTIONS} things to train", todo="more than three are none")
    known = observations_of(desk, candidate)
    if not evidence or any(name not in known for name in evidence):
        raise Refusal("what to train comes from an observation", todo="name one: --evidence `T1.C04.A2.d7h2k 3`")
    strange = [drill for drill in drills if drill not in _drills(desk)]
    if strange:
        raise Refusal(f"{', '.join(strange)}: no drill of the catalogue", todo="write it in words instead")
    fact = Action(
        decision=signed.name, behaviour=reason_given(behaviour, "an action"), criterion=criterion,
        evidence=tuple(evidence), drills=tuple(drills), practice=recorded(practice) or None,
        checked_by=reason_given(checked_by, "how it is checked"), by_when=by_when,
    )  # fmt: skip
    return write_decision(desk, candidate, fact)


def _drills(desk: Desk) -> frozenset[str]:
    from assess.desk.sheet_readings import course_catalogue

    catalogue = course_catalogue(desk)
    return frozenset(catalogue.drill_by_id) if catalogue else frozenset()


def release(
    desk: Desk, to: str, modules: Sequence[str] = (), candidates: Sequence[str] = (), reason: str = ""
) -> Entry:
    """Let assessors, or candidates, see module outcomes; without names it is all of them.

    To candidates only what is signed is released. Raises Refusal to all but a director.
    """
    from assess.desk.outcomes import course_modules

    need_director(desk, "releases results")
    known = course_modules(desk)
    strange = [name for name in modules if name not in known]
    strange += [who for who in candidates if who not in desk.course.candidates]
    if strange:
        raise Refusal(f"{', '.join(strange)}: not of this course", todo=f"modules: {', '.join(known)}")
    if to == "candidates":
        pairs = [(who, m) for who in candidates or desk.course.candidates for m in modules or known]
        unsigned = [f"{who} {m}" for who, m in pairs if standing_decision(desk, who, m) is None]
        if unsigned:
            more = f" and {len(unsigned) - 3} more" if len(unsigned) > 3 else ""
            raise Refusal(f"not signed: {', '.join(unsigned[:3])}{more}", todo="sign first, or name those to release")
    fact = Release.model_validate(
        {"to": to, "modules": tuple(modules), "candidates": tuple(candidates), "reason": recorded(reason) or None}
    )
    return desk.day_book.append(fact)
