"""Courses by date: a talk is advised only when the same effect of the same assessor shows in two courses running."""

from __future__ import annotations

from collections.abc import Sequence

from assess.agreement.rater_words import NEVER
from assess.agreement.results.raters import Advice, Effect, RaterCourse, Raters

__all__ = ["raters_over"]


def raters_over(
    courses: Sequence[RaterCourse],
    *,
    same_assessors: bool = False,
    together: RaterCourse | None = None,
    warnings: Sequence[str] = (),
) -> Raters:
    """The courses by date (equal dates by id), and what follows from every flag of an assessor's last one.

    same_assessors: an id means the same person in all of them; without it every course stands alone. Running: the
    last course the assessor marked in and the one before it, whatever lies between them, with the effect on the same
    side in both.
    """
    ordered = tuple(sorted(courses, key=lambda course: (course.date, course.course)))
    advice = []
    if same_assessors:
        everybody = sorted({rater.id for course in ordered for rater in course.raters})
        for who in everybody:
            advice += _advice(who, [course for course in ordered if course.rater(who) is not None])
    else:
        for course in ordered:
            for rater in course.raters:
                advice += _advice(rater.id, [course])
    return Raters(ordered, together, tuple(advice), NEVER, tuple(warnings))


def _advice(who: str, marked: Sequence[RaterCourse]) -> list[Advice]:
    made = []
    last = marked[-1].rater(who)
    for effect in last.effects if last is not None else ():
        if effect.verdict != "look":
            continue
        running = _running(effect, who, marked)
        if len(running) > 1:
            shown = " and ".join(running[-2:]) if len(running) == 2 else f"{', '.join(running[:-1])} and {running[-1]}"
            said = f"Shown in {shown} running: a talk is advised, over the sheets and not over the number."
            made.append(Advice(who, effect.name, marked[-1].course, "talk", running, said))
        else:
            said = f"Shown in {running[0]}: wait for the next course."
            if len(marked) > 1:
                said = f"Shown in {running[0]} and not in the course before: wait for the next course."
            made.append(Advice(who, effect.name, marked[-1].course, "wait for the next course", running, said))
    return made


def _running(effect: Effect, who: str, marked: Sequence[RaterCourse]) -> tuple[str, ...]:
    """The courses, ending with the last, that show this effect without one between them that does not; by date."""
    found: list[str] = []
    for course in reversed(marked):
        rater = course.rater(who)
        other = rater.effect(effect.name) if rater is not None else None
        same = other is not None and other.verdict == "look"
        if not same or other is None or ((other.estimate or 0.0) > 0) != ((effect.estimate or 0.0) > 0):
            break
        found.append(course.course)
    return tuple(reversed(found))
