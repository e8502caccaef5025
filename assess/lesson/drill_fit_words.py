"""The reasons of a drill-choice reading in plain words, and what would have changed it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from assess.lesson.results import FittedDrill
from assess.lesson.rounding import rounded
from assess.lesson.technique import DoneDrill
from assess.records.catalogue import Catalogue
from assess.records.practice import Lesson

__all__ = ["drill_fit_sentences"]


def drill_fit_sentences(
    lesson: Lesson,
    counted: Sequence[DoneDrill],
    fits: Sequence[FittedDrill],
    weights: Mapping[str, float],
    treated: Mapping[str, float],
    own_value: float | None,
    catalogue: Catalogue,
) -> tuple[str, ...]:
    """One sentence per counted drill, per target, and for the candidate's own diagnosis."""
    settings = catalogue.settings
    told = [_about_drill(done, one, catalogue) for done, one in zip(counted, fits, strict=True)]
    for target in weights:
        words = catalogue.words(target)
        if target in catalogue.root_by_id and target in lesson.managed:
            told.append(f"{words} was met by an action: treated")
        elif treated[target] == 0:
            told.append(f"{words}: none of the counted drills treats it; one that does would have added to the value")
        elif target in catalogue.root_by_id:
            told.append(f"{words} is met by an action, not by a drill; an action would have counted as treated")
        else:
            told.append(f"{words}: the best drill for it gets {_two(treated[target])}")
    if own_value is None:
        told.append("the candidate named nothing for this learner, so fit to their own diagnosis cannot be read")
    else:
        told.append(f"to the candidate's own diagnosis the same drills fit {_two(own_value)}")
    minutes = [drill.practice_min for drill in lesson.drills if drill.practice_min is not None]
    practised = f"{sum(minutes):g} minutes of practice in them" if minutes else "their minutes of practice not recorded"
    rate = rounded(10 * len(lesson.drills) / lesson.minutes, 1)
    told.append(f"{_drills(len(lesson.drills))} in {lesson.minutes:g} minutes ({rate:g} per 10 minutes), {practised}")
    if len(lesson.drills) > len(counted):
        told.append(f"the {settings.longest} drills of technique with the longest practice count; others earn nothing")
    return tuple(told)


def _about_drill(done: DoneDrill, one: FittedDrill, catalogue: Catalogue) -> str:
    head = f"{done.drill.name} ({done.given.slope:g}°, {done.given.snow.replace('-', ' ')}): {_two(one.fit)}"
    lost = _lost(done, one, catalogue)
    if not lost:
        return f"{head}; nothing held it back"
    # The factor that costs most first: that is what would have changed it most.
    lost.sort(key=lambda item: item[0])
    return f"{head}; held back by: " + "; ".join(words for _, words in lost)


def _lost(done: DoneDrill, one: FittedDrill, catalogue: Catalogue) -> list[tuple[float, str]]:
    settings, drill, given = catalogue.settings, done.drill, done.given
    low, high = drill.slope
    lost = []
    if one.aim < 1:
        treats = (
            "treats none of the causes"
            if one.aim == 0
            else "treats a cause only in part, or prepares for a drill that does"
        )
        lost.append((one.aim, f"{treats} (x {_two(one.aim)})"))
    if one.slope < 1:
        side = "steeper" if given.slope > high else "flatter"
        lost.append((one.slope, f"{side} than its {low:g}-{high:g}° (x {_two(one.slope)})"))
    if one.harm < 1:
        worse = ", ".join(catalogue.words(name) for name in drill.may_worsen)
        lost.append((one.harm, f"may feed {worse} (x {_two(one.harm)})"))
    for value, power, words in (
        (one.level, settings.exp_level, f"difficulty {drill.difficulty:g} for this ability"),
        (one.snow, settings.exp_snow, "snow it is to avoid"),
        (one.prepared, settings.exp_prereq, "came before what it builds on: " + ", ".join(_names(done, catalogue))),
        (one.fresh, 1.0, "learner tired"),
    ):
        if value**power < 0.995:
            lost.append((value**power, f"{words} (x {_two(value**power)})"))
    return lost


def _names(done: DoneDrill, catalogue: Catalogue) -> list[str]:
    return [catalogue.drill_words(name) for name in done.missing]


def _drills(count: int) -> str:
    return "1 drill" if count == 1 else f"{count} drills"


def _two(value: float) -> str:
    return f"{rounded(value, 2):.2f}"
