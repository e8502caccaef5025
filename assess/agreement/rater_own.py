"""One assessor's part of the results, with nothing in it that belongs to another assessor."""

from __future__ import annotations

from dataclasses import replace

from assess.agreement.rater_words import rater_sentence, sentence_of
from assess.agreement.results.raters import Rater, RaterCourse, Raters

__all__ = ["only"]


def only(raters: Raters, who: str, *, you: bool) -> Raters:
    """The courses in which this assessor has a sheet that can be compared, with this assessor alone in them.

    you: said to the assessor; then no other assessor is named, and how many of the others are flagged is not told.
    """
    courses = [course for one in raters.courses if (course := _only(one, who, you)) is not None]
    together = None if raters.together is None else _only(raters.together, who, you)
    advice = tuple(advice for advice in raters.advice if advice.assessor == who)
    return replace(raters, courses=tuple(courses), together=together, advice=advice)


def _only(course: RaterCourse, who: str, you: bool) -> RaterCourse | None:
    rater = course.rater(who)
    if rater is None:
        return None
    if not you:
        return replace(course, raters=(rater,))
    rater = _spoken(rater, course.n_assessors)
    looks = sum(effect.verdict == "look" for effect in rater.effects)
    said = (
        f"{course.family}: {course.n_tests} are looked at together, so that chance alone seldom makes one stand out;"
        f" {looks if looks else 'none'} of yours {'does' if looks == 1 else 'do'}."
    )
    groups = tuple(group for group in course.groups if who in group)
    return replace(course, raters=(rater,), n_flagged=looks, family_sentence=said, groups=groups)


def _spoken(rater: Rater, n_assessors: int) -> Rater:
    effects = tuple(
        replace(effect, sentence=sentence_of(effect, n_assessors, you=True), mirror_of="") for effect in rater.effects
    )
    return replace(rater, effects=effects, sentence=rater_sentence(rater, n_assessors, you=True))
