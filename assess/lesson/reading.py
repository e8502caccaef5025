"""All readings of written practice lessons, side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from assess.lesson.change import read_change
from assess.lesson.consistency import contradictions, unknown_ids
from assess.lesson.diagnosis import NO_GUESS, read_diagnosis
from assess.lesson.drill_fit import read_drill_fit
from assess.lesson.group import read_group
from assess.lesson.guessing import guesses
from assess.lesson.progression import read_progression
from assess.lesson.results import Guess, LessonReadings
from assess.lesson.safety import read_safety
from assess.records.catalogue import Catalogue
from assess.records.practice import Lesson, Scenario

__all__ = ["Guesses", "guesses_for", "read_lesson", "read_scenarios"]

# (scenario id, learner id) -> what a guess gets there
Guesses = Mapping[tuple[str, str], Guess]


def guesses_for(scenarios: Sequence[Scenario], catalogue: Catalogue) -> Guesses:
    """What a guess and the stock answer get on every learner of these scenarios; worked out once for all lessons."""
    places = [(scenario.id, learner) for scenario in scenarios for learner in scenario.reference.learners]
    found = guesses([learner for _, learner in places], catalogue)
    return {(scenario, learner.id): guess for (scenario, learner), guess in zip(places, found, strict=True)}


def read_lesson(
    lesson: Lesson,
    scenario: Scenario,
    catalogue: Catalogue,
    guesses: Guesses,
    ceilings: Mapping[tuple[str, str], float] | None = None,
) -> LessonReadings:
    """The readings of one lesson of a scenario.

    guesses: from `guesses_for`. ceilings: by (scenario id, learner id), what a panel gets against itself.
    Every learner with a reference is read on their own and never averaged; the lesson's own diagnosis is that of
    the reference's target learner, whose drills, progression and change are read too.
    """
    ability, target = scenario.learner.ability, scenario.reference.target_learner
    diagnoses = {
        learner.id: read_diagnosis(
            lesson.named,
            learner,
            catalogue,
            guess=guesses.get((scenario.id, learner.id), NO_GUESS),
            ceiling=(ceilings or {}).get((scenario.id, learner.id)),
        )
        for learner in scenario.reference.learners
    }
    own = diagnoses.pop(target.id)
    return LessonReadings(
        lesson=lesson.id,
        diagnosis=own,
        other_learners=tuple(diagnoses.values()),
        group=read_group(lesson, scenario, catalogue),
        drill_fit=read_drill_fit(lesson, target, ability, catalogue),
        progression=read_progression(lesson, ability, catalogue),
        safety=read_safety(lesson, scenario.hazards, catalogue.settings),
        change=read_change(
            scenario.measure, lesson.outcome, ability, catalogue.settings, ended=lesson.ended_for_safety
        ),
        inconsistent=contradictions(lesson, catalogue),
        unknown=unknown_ids(lesson, scenario, catalogue),
    )


def read_scenarios(
    scenarios: Sequence[Scenario], catalogue: Catalogue, elsewhere: Sequence[Scenario] = ()
) -> tuple[LessonReadings, ...]:
    """The readings of every lesson, in file order.

    elsewhere: scenarios of the activity's other practice files; their learners, too, make the stock answer.
    One with an id that is among `scenarios` is the same one and is not taken twice.
    """
    here = {scenario.id for scenario in scenarios}
    pool = [*scenarios, *(scenario for scenario in elsewhere if scenario.id not in here)]
    known = guesses_for(pool, catalogue)
    return tuple(
        read_lesson(lesson, scenario, catalogue, known) for scenario in scenarios for lesson in scenario.lessons
    )
