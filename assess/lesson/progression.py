"""Did one thing lead to the next: parts of a progression, each 0 to 1, and their weighted value.

Background, not computed: learning is best at a matched challenge (Guadagnoli & Lee 2004, J Mot Behav 36, 212-224);
feedback after every single run for ever does not help retention (Salmoni, Schmidt & Walter 1984, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from statistics import fmean

from assess.lesson.challenge import steps
from assess.lesson.last_bit import above, below
from assess.lesson.progression_words import progression_sentences
from assess.lesson.results import Basis, ProgressionParts, ProgressionReading, Step
from assess.lesson.technique import DoneDrill, technique
from assess.lesson.voids import ended_void
from assess.records.catalogue import Catalogue
from assess.records.practice import Lesson, TimeSplit
from assess.records.reading_settings import Settings

__all__ = ["dose_worth", "part_weights", "practice_share", "progression_value", "read_progression"]

ERROR = "no error is known: the weights are judgement"


def practice_share(time: TimeSplit | None) -> float | None:
    """Share of the lesson spent practising; None when the split was not recorded or is empty."""
    return time.practise / time.total if time is not None and time.total > 0 else None


def dose_worth(done: DoneDrill, settings: Settings) -> float:
    """1 from the lower bound of the drill's own dose on, less below, 0 for far too much or a tired learner.

    Runs are first cut to what the minutes of practice allow; minutes not recorded cut nothing.
    """
    dose, n = done.drill.dose, done.given.n
    if dose.unit == "runs" and done.given.practice_min is not None:
        n = min(n, done.given.practice_min / settings.run_minutes / dose.sides)
    tired = done.given.tired is not None and done.given.tired >= settings.tired_stop
    if tired or above(n, settings.overdose * dose.max):
        return 0.0
    return min(1.0, n / dose.min)


def part_weights(settings: Settings) -> dict[str, float]:
    """Weight of each part, by the part's name, in the order of `ProgressionParts`."""
    return {part.name: getattr(settings, f"w_{part.name}") for part in fields(ProgressionParts)}


def _weights(parts: ProgressionParts, settings: Settings) -> dict[str, float]:
    there = {name: w for name, w in part_weights(settings).items() if getattr(parts, name) is not None}
    return {name: w / sum(there.values()) for name, w in there.items()}


def progression_value(parts: ProgressionParts, share: float | None, settings: Settings) -> tuple[float, bool]:
    """(value, whether it was capped for too little practice). A part that is None leaves its weight to the others."""
    value: float = sum(weight * getattr(parts, name) for name, weight in _weights(parts, settings).items())
    capped = share is not None and below(share, settings.practice_low) and value > settings.practice_cap
    return (settings.practice_cap if capped else value), capped


def read_progression(lesson: Lesson, ability: float, catalogue: Catalogue) -> ProgressionReading:
    """The reading of one lesson. Void without a drill of technique, and when the lesson was ended for safety."""
    settings = catalogue.settings
    done = technique(lesson.drills, ability, catalogue)
    reason = ended_void(lesson)
    if reason is None and not done.drills:
        reason = "not judged: no drill of technique was recorded"
    known = len(done.drills) / (len(done.drills) + len(done.unknown)) if done.drills else 0.0
    if reason is not None:
        why = (reason, *done.unknown_sentences)
        return ProgressionReading(reason, None, None, (), False, why, Basis(0, "drills", 0.0, ERROR))
    managed = any(name in catalogue.root_by_id for name in lesson.managed)
    taken = steps(done.drills, ability, managed, settings)
    parts = _parts(lesson, done.drills, taken, settings)
    share = practice_share(lesson.time)
    value, capped = progression_value(parts, share, settings)
    gains = {name: weight * (1 - getattr(parts, name)) for name, weight in _weights(parts, settings).items()}
    doses = [dose_worth(one, settings) for one in done.drills]
    why = progression_sentences(lesson, done.drills, taken, parts, gains, doses, catalogue)
    basis = Basis(len(done.drills), "drills", known, ERROR)
    return ProgressionReading(None, value, parts, taken, capped, (*why, *done.unknown_sentences), basis)


def _parts(lesson: Lesson, drills: Sequence[DoneDrill], taken: Sequence[Step], settings: Settings) -> ProgressionParts:
    share = practice_share(lesson.time)
    return ProgressionParts(
        orderly=fmean(not done.missing for done in drills),
        step=fmean(step.worth for step in taken),
        whole=(lesson.flow.whole_first + lesson.flow.whole_last) / 2,
        demo=fmean(done.given.demo for done in drills),
        dose=fmean(dose_worth(done, settings) for done in drills),
        feedback=fmean(settings.feedback[done.given.fb] for done in drills),
        check=fmean(done.given.check for done in drills),
        remeasure=float(lesson.flow.remeasure),
        practice=None if share is None else 1.0 if share >= settings.practice_full else share / settings.practice_full,
    )
