"""Did they choose drills that treat it: fit to the panel's reference, and fit to the candidate's own diagnosis.

Right logic from a wrong diagnosis is one error, not two; so both values are kept, apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assess.lesson import fit
from assess.lesson.credit import Names, names_for
from assess.lesson.drill_fit_words import drill_fit_sentences
from assess.lesson.results import Basis, DrillFitReading, FittedDrill
from assess.lesson.technique import DoneDrill, Technique, technique
from assess.lesson.voids import ended_void, violated_void
from assess.records.catalogue import Catalogue
from assess.records.practice import LearnerReference, Lesson
from assess.records.reading_settings import Settings

__all__ = ["Aims", "counted_drills", "fitted", "lesson_fit", "own_targets", "read_drill_fit"]

ERROR = "no error is known: the constants are judgement, and treating one thing at a time is no fault"


@dataclass(frozen=True)
class Aims:
    """What is to be treated: targets with their weights (at least one), along one learner's chains."""

    weights: Mapping[str, float]
    chains: tuple[tuple[str, ...], ...]
    ability: float


def counted_drills(drills: Sequence[DoneDrill], settings: Settings) -> tuple[DoneDrill, ...]:
    """The drills with the most minutes of practice, longest first; of equal ones the earlier."""
    longest = sorted(drills, key=lambda done: -(done.given.practice_min or 0.0))
    return tuple(longest[: settings.longest])


def own_targets(names: Names) -> dict[str, float]:
    """The candidate's own targets with equal weights: counted names called a root, without any the first name."""
    own = names.roots or names.counted[:1]
    return {name: 1 / len(own) for name in own}


def fitted(done: DoneDrill, aims: Aims, catalogue: Catalogue) -> FittedDrill:
    """The fit of one drill to the aims, with its factors."""
    settings, drill = catalogue.settings, done.drill
    parts = {
        "level": fit.level(drill.difficulty, aims.ability, settings),
        "slope": fit.slope(done.given.slope, drill.slope, aims.ability, settings),
        "snow": fit.snow(done.given.snow, drill, settings),
        "prepared": fit.prepared(done, settings),
        "harm": fit.harm(drill, aims.weights, settings),
        "fresh": fit.fresh(done.given.tired, settings),
    }
    aim = max(fit.aim(drill, target, aims.chains, catalogue) for target in aims.weights)
    suits = (
        parts["level"] ** settings.exp_level * parts["slope"] * parts["snow"] ** settings.exp_snow
        * parts["prepared"] ** settings.exp_prereq * parts["harm"] * parts["fresh"]
    )  # fmt: skip
    return FittedDrill(id=drill.id, fit=aim * suits, suits=suits, aim=aim, **parts)


def lesson_fit(
    drills: Sequence[DoneDrill], aims: Aims, managed: Sequence[str], catalogue: Catalogue
) -> tuple[float, tuple[FittedDrill, ...], dict[str, float]]:
    """(value, each drill's fit, best fit per target) of at least one drill.

    A cause outside technique that was met by an action is treated by it, whatever the drills.
    """
    settings = catalogue.settings
    fits = tuple(fitted(done, aims, catalogue) for done in drills)

    def best(target: str) -> float:
        if target in catalogue.root_by_id and target in managed:
            return settings.managed
        return max(
            fit.aim(done.drill, target, aims.chains, catalogue) * one.suits
            for done, one in zip(drills, fits, strict=True)
        )

    treated = {target: best(target) for target in aims.weights}
    best_part = sum(weight * treated[target] for target, weight in aims.weights.items())
    mean = sum(one.fit for one in fits) / len(fits)
    return settings.best_share * best_part + (1 - settings.best_share) * mean, fits, treated


def read_drill_fit(
    lesson: Lesson, reference: LearnerReference, ability: float, catalogue: Catalogue
) -> DrillFitReading:
    """The reading of one lesson for the learner of `reference`.

    Void when a safety item that rules it out is violated, when the lesson was ended for safety, without a drill
    of technique, and when nobody on the panel diagnosed the learner.
    """
    settings = catalogue.settings
    done = technique(lesson.drills, ability, catalogue)
    reason = violated_void(lesson, settings) or ended_void(lesson)
    if reason is None and not done.drills:
        reason = "not judged: no drill of technique was recorded"
    if reason is None and not reference.roots:
        reason = "nobody on the panel diagnosed this learner, so there is nothing the drills could fit"
    if reason is not None:
        return _void(lesson, done, reason)
    counted = counted_drills(done.drills, settings)
    aims = Aims({root.id: root.w for root in reference.roots}, reference.chains, ability)
    value, fits, treated = lesson_fit(counted, aims, lesson.managed, catalogue)
    names = names_for(lesson.named, reference.id, settings)
    own = own_targets(names)
    own_value = None
    if own:
        own_value = lesson_fit(counted, Aims(own, reference.chains, ability), lesson.managed, catalogue)[0]
    why = drill_fit_sentences(lesson, counted, fits, aims.weights, treated, own_value, catalogue)
    return _reading(lesson, done, counted, value, own_value, fits, (*why, *done.unknown_sentences))


def _reading(
    lesson: Lesson,
    done: Technique,
    counted: Sequence[DoneDrill],
    value: float,
    own_value: float | None,
    fits: tuple[FittedDrill, ...],
    why: tuple[str, ...],
) -> DrillFitReading:
    return DrillFitReading(
        void=None,
        value=value,
        own_value=own_value,
        drills=fits,
        not_counted=tuple(other.drill.id for other in done.drills if other not in counted),
        drills_per_ten_minutes=_per_ten_minutes(lesson),
        practice_minutes=_practice_minutes(lesson),
        why=why,
        basis=Basis(len(counted), "drills", _coverage(done, counted), ERROR),
    )


def _void(lesson: Lesson, done: Technique, reason: str) -> DrillFitReading:
    return DrillFitReading(
        void=reason,
        value=None,
        own_value=None,
        drills=(),
        not_counted=tuple(other.drill.id for other in done.drills),
        drills_per_ten_minutes=_per_ten_minutes(lesson),
        practice_minutes=_practice_minutes(lesson),
        why=(reason, *done.unknown_sentences),
        basis=Basis(0, "drills", 0.0, ERROR),
    )


def _coverage(done: Technique, counted: Sequence[DoneDrill]) -> float:
    return len(counted) / (len(done.drills) + len(done.unknown))


def _per_ten_minutes(lesson: Lesson) -> float:
    return 10 * len(lesson.drills) / lesson.minutes


def _practice_minutes(lesson: Lesson) -> float | None:
    minutes = [drill.practice_min for drill in lesson.drills if drill.practice_min is not None]
    return sum(minutes) if minutes else None
