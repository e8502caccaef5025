"""Where a lesson's record contradicts itself, or speaks of things the catalogue and the scenario do not know.

The readings are shown all the same; these sentences stand beside them.
"""

from __future__ import annotations

from itertools import pairwise

from assess.records.catalogue import Catalogue
from assess.records.practice import GivenDrill, Lesson, Scenario

__all__ = ["contradictions", "reference_doubts", "unknown_ids"]

MINUTE_SLACK = 1.0
# Minutes are typed with one or two decimals; their sum must not be found too long by the last bit of a float.
BIT = 1e-6


def contradictions(lesson: Lesson, catalogue: Catalogue) -> tuple[str, ...]:
    """One sentence for each way the minutes of the record cannot all be right."""
    told = []
    practised = sum(drill.practice_min or 0.0 for drill in lesson.drills)
    if practised > lesson.minutes + BIT:
        told.append(f"inconsistent: drills add up to {practised:g} minutes, the lesson lasted {lesson.minutes:g}")
    if lesson.time is not None and abs(lesson.time.total - lesson.minutes) > MINUTE_SLACK + BIT:
        told.append(
            f"inconsistent: talk, practice, waiting and lift add up to {lesson.time.total:g} minutes,"
            f" the lesson lasted {lesson.minutes:g}"
        )
    told += [sentence for drill in lesson.drills for sentence in _too_many_runs(drill, catalogue)]
    told += [
        f"inconsistent: minute {event.t:g} ({event.do}) is after the end of the lesson at {lesson.minutes:g}"
        for event in lesson.events
        if event.t > lesson.minutes + MINUTE_SLACK
    ]
    for what, ending in (("stopped", lesson.stopped_by_assessor), ("ended", lesson.ended_for_safety)):
        if ending is not None and ending.minute > lesson.minutes + MINUTE_SLACK:
            told.append(f"inconsistent: {what} at minute {ending.minute:g} of a lesson of {lesson.minutes:g}")
    return tuple(told)


def _too_many_runs(given: GivenDrill, catalogue: Catalogue) -> list[str]:
    drill = catalogue.drill_by_id.get(given.id)
    if drill is None or drill.dose.unit != "runs" or given.practice_min is None:
        return []
    needed = given.n * drill.dose.sides * catalogue.settings.run_minutes
    if needed <= given.practice_min + BIT:
        return []
    runs = f"{given.n:g} runs{' on each side' if drill.dose.per_side else ''}"
    return [f"inconsistent: {drill.name}: {runs} take at least {needed:g} minutes, {given.practice_min:g} are recorded"]


def unknown_ids(lesson: Lesson, scenario: Scenario, catalogue: Catalogue) -> tuple[str, ...]:
    """One sentence for each id of the lesson nobody knows, with what the readings make of it."""
    learners = {learner.id for learner in scenario.reference.learners}
    hazards = {hazard.id for hazard in scenario.hazards}
    known = set(catalogue.names)
    told = {
        f"{item.fault} is no fault of the catalogue: read as a name without ground": None
        for item in lesson.named
        if item.fault not in known
    }
    told |= {
        f"{item.learner} is none of the learners with a reference: what was named for them is not read": None
        for item in lesson.named
        if item.learner not in learners
    }
    told |= {
        f"{name} is no cause outside technique: managing it has no effect on a reading": None
        for name in lesson.managed
        if name not in catalogue.root_by_id
    }
    for drill in lesson.drills:
        if drill.id not in catalogue.drill_by_id:
            told[f"{drill.id} is no drill of the catalogue: left out of the readings"] = None
        if drill.snow not in catalogue.vocab.snow_ids:
            told[f"{drill.snow} is no snow of the vocabulary: read as snow that changes nothing"] = None
    told |= {
        f"{name} is no hazard of this place: without effect": None
        for name in lesson.hazards_handled
        if name not in hazards
    }
    if lesson.group is not None:
        members = (*lesson.group.seen_alone, *lesson.group.spoken_to, *lesson.group.improved)
        told |= {f"{name} is none of the learners of this group": None for name in members if name not in learners}
    return tuple(told)


def reference_doubts(scenario: Scenario, catalogue: Catalogue) -> tuple[str, ...]:
    """One sentence for each step of a chain that is no edge of the cause graph, and each id the catalogue lacks."""
    known, told = set(catalogue.names), []
    for learner in scenario.reference.learners:
        names = (
            *(root.id for root in learner.roots), *(name for chain in learner.chains for name in chain),
            *learner.tolerated, *learner.harmful,
        )  # fmt: skip
        told += [f"{learner.id}: {name} is not in the catalogue" for name in dict.fromkeys(names) if name not in known]
        for chain in learner.chains:
            for cause, effect in pairwise(chain):
                fault = catalogue.fault_by_id.get(effect)
                if fault is not None and cause not in fault.caused_by:
                    told.append(f"{learner.id}: {cause} is no cause of {effect} in the catalogue (caused_by)")
    if scenario.reference.group_target not in (None, *known):
        told.append(f"group target {scenario.reference.group_target} is not in the catalogue")
    if scenario.conditions.snow not in catalogue.vocab.snow_ids:
        told.append(f"{scenario.conditions.snow} is no snow of the vocabulary")
    return tuple(told)
