"""What is wrong or doubtful in a file of practice lessons, held against the catalogue its ids belong to.

What the file's own form settles (keys, ranges of slopes and minutes, events in the order of time) is refused when it is
read; here is what only the catalogue or the rest of the lesson can tell. A doubt leaves the readings as they are.
Must-not ids belong to a rubric, which a practice file does not name; they are not looked up.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from difflib import get_close_matches
from itertools import pairwise
from typing import TYPE_CHECKING

from assess.records.errors import Problem

if TYPE_CHECKING:
    from assess.records.catalogue import Catalogue
    from assess.records.practice import GivenDrill, LearnerReference, Lesson, Scenario
    from assess.store.practice_file import LessonFile

__all__ = ["check_practice"]

_BIT = 1e-6
_NO_TRAFFIC = frozenset({"", "none", "no", "empty"})


def check_practice(file: LessonFile, catalogue: Catalogue) -> list[Problem]:
    """Everything wrong or doubtful in a file of practice lessons, in file order; empty when nothing."""
    found = _Found(file, catalogue)
    for number, scenario in enumerate(file.practice.scenarios):
        here = ("scenarios", number)
        _situation(found, here, scenario)
        _reference(found, here, scenario)
        for at, lesson in enumerate(scenario.lessons):
            place = (*here, "lessons", at)
            _named(found, place, scenario, lesson)
            _given(found, place, scenario, lesson)
            _safety(found, place, scenario, lesson)
            _minutes(found, place, lesson)
    return sorted(found.problems)


Place = tuple[str | int, ...]


class _Found:
    """Collects findings; a place is the way to it in the file."""

    def __init__(self, file: LessonFile, catalogue: Catalogue) -> None:
        self.problems: list[Problem] = []
        self.catalogue = catalogue
        self._doc = file.doc

    def problem(self, place: Place, what: str, todo: str, *, doubt: bool = False) -> None:
        self.problems.append(Problem(self._doc.shown, self._doc.line(*place), what, todo, doubt))

    def doubt(self, place: Place, what: str, todo: str) -> None:
        self.problem(place, what, todo, doubt=True)

    def known(self, place: Place, names: Iterable[str], kind: str, among: Collection[str], owner: str) -> None:
        for name in names:
            if name not in among:
                close = get_close_matches(name, sorted(among), n=1, cutoff=0.6)
                todo = f"did you mean {close[0]}?" if close else "write an id that is there, or take it out"
                self.problem(place, f"{owner}: there is no {kind} {name}", todo)


def _situation(found: _Found, here: Place, scenario: Scenario) -> None:
    vocab, ground = found.catalogue.vocab, scenario.conditions
    place = (*here, "conditions")
    found.known((*place, "snow"), [ground.snow], "snow", vocab.snow_ids, scenario.id)
    for key, word, known in (("vis", ground.vis, vocab.visibility), ("wind", ground.wind, vocab.wind)):
        if word not in known:
            what = f"{scenario.id}: {key} is '{word}', no word of vocab.yaml"
            found.doubt((*place, key), what, f"known: {', '.join(known)}")


def _reference(found: _Found, here: Place, scenario: Scenario) -> None:
    names, reference = found.catalogue.names, scenario.reference
    group = [reference.group_target] if reference.group_target is not None else []
    found.known((*here, "reference", "group_target"), group, "fault or cause", names, scenario.id)
    for number, learner in enumerate(reference.learners):
        place = (*here, "reference", "learners", number)
        owner = f"{scenario.id}, {learner.id}"
        found.known((*place, "roots"), [target.id for target in learner.roots], "fault or cause", names, owner)
        found.known((*place, "tolerated"), learner.tolerated, "fault or cause", names, owner)
        found.known((*place, "harmful"), learner.harmful, "fault or cause", names, owner)
        for at, chain in enumerate(learner.chains):
            found.known((*place, "chains", at), chain, "fault or cause", names, owner)
            _edges(found, (*place, "chains", at), chain, owner)
        _contradictions(found, place, learner, owner)


def _edges(found: _Found, place: Place, chain: tuple[str, ...], owner: str) -> None:
    for cause, effect in pairwise(chain):
        fault = found.catalogue.fault_by_id.get(effect)
        if fault is not None and cause in found.catalogue.names and cause not in fault.caused_by:
            what = f"{owner}: {cause} > {effect} is no step of the cause graph"
            found.problem(place, what, f"{effect} is caused by {', '.join(fault.caused_by) or 'nothing'}")
        elif effect in found.catalogue.root_by_id:
            what = f"{owner}: {effect} is a cause outside technique and follows {cause}"
            found.problem(place, what, "begin the chain with it")


def _contradictions(found: _Found, place: Place, learner: LearnerReference, owner: str) -> None:
    targets = {target.id for target in learner.roots}
    for key, given in (("tolerated", learner.tolerated), ("harmful", learner.harmful)):
        for name in [name for name in given if name in targets]:
            found.doubt((*place, key), f"{owner}: {name} is a target and {key}", "take it out of one of the two")


def _named(found: _Found, place: Place, scenario: Scenario, lesson: Lesson) -> None:
    learners = [learner.id for learner in scenario.reference.learners]
    for at, named in enumerate(lesson.named):
        here = (*place, "named", at)
        found.known(here, [named.fault], "fault or cause", found.catalogue.names, lesson.id)
        found.known(here, [named.learner], "learner", learners, lesson.id)
    roots = found.catalogue.root_by_id
    found.known((*place, "managed"), lesson.managed, "cause outside technique", roots, lesson.id)
    for key in ("seen_alone", "spoken_to", "improved") if lesson.group else ():
        found.known((*place, "group", key), getattr(lesson.group, key), "learner", learners, lesson.id)


def _given(found: _Found, place: Place, scenario: Scenario, lesson: Lesson) -> None:
    catalogue, steepest = found.catalogue, max(scenario.conditions.available_slopes, default=60.0)
    for at, given in enumerate(lesson.drills):
        here = (*place, "drills", at)
        found.known(here, [given.id], "drill", catalogue.drill_by_id, lesson.id)
        found.known(here, [given.snow], "snow", catalogue.vocab.snow_ids, lesson.id)
        if given.slope > steepest:
            what = f"{lesson.id}: {given.id} on {given.slope:g} degrees, and the steepest ground told is {steepest:g}"
            found.doubt(here, what, "look at the slope, or at available_slopes")
        _amount(found, here, lesson, given)
    known = {*catalogue.drill_by_id, *catalogue.names, *(hazard.id for hazard in scenario.hazards)}
    for at, event in enumerate(lesson.events):
        refs = [event.ref] if event.ref else []
        found.known((*place, "events", at), refs, "drill, fault or hazard", known, lesson.id)
    for side in ("before", "after"):
        snow = getattr(lesson.outcome, side).snow
        found.known((*place, "outcome", side, "snow"), [snow], "snow", catalogue.vocab.snow_ids, lesson.id)


def _amount(found: _Found, place: Place, lesson: Lesson, given: GivenDrill) -> None:
    """A dose in minutes that is longer than the practice; runs are looked at with the lesson's other minutes."""
    drill = found.catalogue.drill_by_id.get(given.id)
    if drill is None or given.practice_min is None or drill.dose.unit != "minutes":
        return
    needed = given.n * drill.dose.sides
    if needed > given.practice_min + _BIT:
        what = f"{lesson.id}: {given.id} was done for {needed:g} min and practised for {given.practice_min:g}"
        found.doubt(place, what, "look at n and practice_min")


def _safety(found: _Found, place: Place, scenario: Scenario, lesson: Lesson) -> None:
    hazards = [hazard.id for hazard in scenario.hazards]
    found.known((*place, "hazards_handled"), lesson.hazards_handled, "hazard of this situation", hazards, lesson.id)
    traffic = scenario.conditions.traffic.strip()
    if lesson.safety.look_up == "na" and traffic.casefold() not in _NO_TRAFFIC:
        what = f"{lesson.id}: look-up is not applicable, and the traffic is '{traffic}'"
        found.doubt((*place, "safety"), what, "looking before setting off applies wherever others move: done or missed")


def _minutes(found: _Found, place: Place, lesson: Lesson) -> None:
    """What the readings call inconsistent, and a report after the end of the lesson."""
    from assess.lesson.consistency import contradictions

    for sentence in contradictions(lesson, found.catalogue):
        found.doubt(place, f"{lesson.id}: {sentence.removeprefix('inconsistent: ')}", "look at these minutes")
    for at, breach in enumerate(lesson.reported_breaches):
        if breach.minute > lesson.minutes + _BIT:
            what = f"{lesson.id}: {breach.must_not} is reported at minute {breach.minute:g} of {lesson.minutes:g}"
            found.doubt((*place, "reported_breaches", at), what, "look at the minute")
