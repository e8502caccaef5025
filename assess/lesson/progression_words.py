"""The reasons of a progression reading in plain words, and what would have changed it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from assess.lesson.last_bit import below
from assess.lesson.results import ProgressionParts, Step
from assess.lesson.rounding import rounded
from assess.lesson.technique import DoneDrill
from assess.records.catalogue import Catalogue
from assess.records.practice import Lesson

__all__ = ["progression_sentences"]

FULL = 0.9995
UNITS = {"runs": "runs", "reps": "repetitions", "minutes": "minutes"}


def progression_sentences(
    lesson: Lesson,
    drills: Sequence[DoneDrill],
    taken: Sequence[Step],
    parts: ProgressionParts,
    gains: Mapping[str, float],
    doses: Sequence[float],
    catalogue: Catalogue,
) -> tuple[str, ...]:
    """Sentences for every part that is not full.

    gains: by part, what the value would gain were that part full. doses: worth of each drill's dose.
    """
    told = _about_order(drills, taken, gains, catalogue)
    told += _about_whole(lesson, gains)
    told += _about_drills(drills, parts, gains, catalogue)
    told += _about_doses(drills, doses, catalogue)
    if parts.practice is None:
        told.append("time split not recorded: the part for practice is left out and the others weigh more")
    elif parts.practice < FULL and lesson.time is not None:
        settings = catalogue.settings
        share = lesson.time.practise / lesson.time.total
        full = _percent(settings.practice_full)
        told.append(f"{_percent(share)} of the time was practice; {full} {_added(gains['practice'])}")
        if below(share, settings.practice_low):
            low = _percent(settings.practice_low)
            told.append(f"below {low} of practice the whole is never above {settings.practice_cap:g}")
    return tuple(told) or ("every part is full",)


def _about_order(
    drills: Sequence[DoneDrill], taken: Sequence[Step], gains: Mapping[str, float], catalogue: Catalogue
) -> list[str]:
    early = [done for done in drills if done.missing]
    told = [
        f"{done.drill.name} came before what it builds on: "
        + ", ".join(catalogue.drill_words(name) for name in done.missing)
        for done in early
    ]
    if early:
        told.append(f"drills in the order they build on each other {_added(gains['orderly'])}")
    steps = [_about_step(step, catalogue) for step in taken if step.worth < FULL]
    if steps:
        told += [*steps, f"steps that each go a little up {_added(gains['step'])}"]
    return told


def _about_step(step: Step, catalogue: Catalogue) -> str:
    way = "down" if step.delta < 0 else "up" if step.delta > 0 else "on at the same level"
    size = f" by {rounded(abs(step.delta), 1):g} points of challenge" if step.delta else ""
    return f"the step to {catalogue.drill_words(step.drill)} went {way}{size}: {rounded(step.worth, 2):g} of 1"


def _about_whole(lesson: Lesson, gains: Mapping[str, float]) -> list[str]:
    flow, told = lesson.flow, []
    if not (flow.whole_first and flow.whole_last):
        when = "not at the end" if flow.whole_first else "not at the start"
        if not (flow.whole_first or flow.whole_last):
            when = "neither at the start nor at the end"
        told.append(f"the whole task was seen {when}; seeing it at both ends {_added(gains['whole'])}")
    if not flow.remeasure:
        told.append(f"nothing was measured again at the end; measuring as before {_added(gains['remeasure'])}")
    return told


def _about_drills(
    drills: Sequence[DoneDrill], parts: ProgressionParts, gains: Mapping[str, float], catalogue: Catalogue
) -> list[str]:
    count, told = len(drills), []
    if parts.demo < FULL:
        shown = sum(done.given.demo for done in drills)
        told.append(f"drills shown: {shown} of {count}; showing each {_added(gains['demo'])}")
    if parts.check < FULL:
        checked = sum(done.given.check for done in drills)
        told.append(f"drills checked: {checked} of {count}; a check after each {_added(gains['check'])}")
    if parts.feedback < FULL:
        specific = sum(done.given.fb == "specific" for done in drills)
        told.append(f"drills with specific feedback: {specific} of {count}; in each it {_added(gains['feedback'])}")
    if parts.dose < FULL:
        told.append(f"a full dose of each drill {_added(gains['dose'])}")
    return told


def _about_doses(drills: Sequence[DoneDrill], doses: Sequence[float], catalogue: Catalogue) -> list[str]:
    told = []
    for done, worth in zip(drills, doses, strict=True):
        if worth >= FULL:
            continue
        dose, given = done.drill.dose, done.given
        said = f"{done.drill.name}: {given.n:g} {UNITS[dose.unit]}{' a side' if dose.per_side else ''}"
        if given.practice_min is not None and dose.unit == "runs":
            said += f" in {given.practice_min:g} minutes"
        if given.tired is not None and given.tired >= catalogue.settings.tired_stop:
            told.append(
                f"{said}, with a learner too tired (from {catalogue.settings.tired_stop:g} of 5) for it to count"
            )
        elif worth == 0 and given.n > dose.max:
            told.append(f"{said}, more than {catalogue.settings.overdose:g} times its {dose.max:g}: counts as nothing")
        else:
            told.append(f"{said}; its dose is {dose.min:g} to {dose.max:g}: {rounded(worth, 2):g} of 1")
    return told


def _added(gain: float) -> str:
    return f"would have added {rounded(gain, 2):.2f}"


def _percent(share: float) -> str:
    return f"{rounded(100 * share, 0):.0f} %"
