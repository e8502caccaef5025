"""What to train, as a letter tells it: the actions a director wrote; without any, what stands furthest down."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from assess.desk.feedback import actions, observations_of
from assess.desk.letter_seen import Basis, module_title
from assess.reports.letter import DrillTold, ToTrain

if TYPE_CHECKING:
    from fractions import Fraction

    from assess.desk.session import Desk
    from assess.records.catalogue import Drill
    from assess.records.facts import Action

__all__ = ["to_train"]

MOST_NOTES = 2


def to_train(desk: Desk, bases: Sequence[Basis], missing: list[str]) -> tuple[ToTrain, ...]:
    """One to three things to train, each with what was seen and what the next level shows.

    missing: told when no action was written, and when one names another person and is left out.
    """
    by_decision = {basis.signed.name: basis for basis in bases}
    candidate = bases[0].signed.candidate
    found = [
        told
        for _, action in actions(desk, candidate)
        if action.decision in by_decision and (told := _planned(desk, by_decision[action.decision], action, missing))
    ]
    if not found:
        missing.append("nothing to train is written down (`assess action`): the letter says what stands furthest down")
        found = list(_furthest_down(desk, bases))
    return tuple(found)


def _planned(desk: Desk, basis: Basis, action: Action, missing: list[str]) -> ToTrain | None:
    texts = [action.behaviour or "", action.practice or "", action.checked_by or ""]
    if any(text and not basis.said(text) for text in texts):
        missing.append("something to train names another person and is left out: write it anew without the name")
        return None
    known = observations_of(desk, basis.signed.candidate)
    seen = [known[name] for name in action.evidence if name in known]
    notes = tuple(dict.fromkeys(fact.text for fact in seen if fact.text and basis.tells(fact)))
    if not notes:
        missing.append("the evidence of something to train cannot be told in words: it names somebody, or has no text")
    criterion = action.criterion if action.criterion in basis.rubric.criteria else None
    standing = next((item for item in basis.standings if item.criterion == criterion and not item.single), None)
    return ToTrain(
        module_title(desk, basis.signed.fact.module),
        basis.rubric.criteria[criterion].label if criterion else "",
        basis.descriptor(standing.criterion, standing.value) if standing else "",
        basis.descriptor(standing.criterion, standing.value, 1) if standing else "",
        notes[:MOST_NOTES],
        texts[0],
        texts[1],
        tuple(_drills(desk, action.drills)),
        texts[2],
        action.by_when,
    )


def _drills(desk: Desk, wanted: Sequence[str]) -> Iterator[DrillTold]:
    from assess.desk.sheet_readings import course_catalogue

    catalogue = course_catalogue(desk) if wanted else None
    for name in wanted:
        drill: Drill | None = catalogue.drill_by_id.get(name) if catalogue else None
        if drill is not None:
            yield DrillTold(drill.name, drill.purpose, drill.check, (*drill.must, *drill.care))


def _furthest_down(desk: Desk, bases: Sequence[Basis]) -> Iterator[ToTrain]:
    """In each module not passed what stands furthest down (two, if there is one such); otherwise one of all."""
    open_to = [basis for basis in bases if not basis.closed_by_breach]
    refused = [basis for basis in open_to if basis.signed.fact.decision == "refuse"]
    groups = [[basis] for basis in refused]
    if not groups and len(open_to) == len(bases):  # after a breach the rule that was broken is the next step
        groups = [[basis for basis in open_to if basis.signed.fact.decision in ("grant", "open")]]
    for group in groups:
        ranked = [
            (item.value, place, item.criterion)
            for place, basis in enumerate(group)
            for item in basis.standings
            if not item.single and basis.descriptor(item.criterion, item.value, 1)
        ]
        for value, place, criterion in sorted(ranked)[: 2 if len(refused) == 1 else 1]:
            yield _step(desk, group[place], criterion, value)


def _step(desk: Desk, basis: Basis, criterion: str, value: Fraction) -> ToTrain:
    return ToTrain(
        module_title(desk, basis.signed.fact.module),
        basis.rubric.criteria[criterion].label,
        basis.descriptor(criterion, value),
        basis.descriptor(criterion, value, 1),
        tuple(words for _, words in list(basis.notes(criterion, "against"))[:1]),
    )
