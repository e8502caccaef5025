"""A self-assessment in a trainee's words."""

from __future__ import annotations

from dataclasses import replace

from assess.lesson.results.trainee import SelfAssessment

__all__ = ["kindness", "self_sentence"]

SMALL, KIND, FAR, ONE_AND_A_HALF = 0.25, 0.5, 0.75, 1.5
COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def self_sentence(found: SelfAssessment) -> SelfAssessment:
    """The same with its sentence: how kind one is to oneself, and whether one tells strong parts from weak ones."""
    if found.bias is None:
        return replace(found, sentence="there is no criterion that both have scored")
    return replace(found, sentence=f"{kindness(found)}, and {_order(found)}")


def kindness(found: SelfAssessment) -> str:
    """How kind one is to oneself on the whole, as a clause; "" where no criterion has both levels."""
    if found.bias is None or found.mean_distance is None:
        return ""
    size = abs(found.bias)
    if size < SMALL:
        if found.mean_distance >= FAR:
            return "you are neither too kind nor too hard on the whole, yet far off in single criteria"
        return "on the whole you see your lesson as the other does"
    if size >= ONE_AND_A_HALF:
        whole = round(size)
        amount = f"about {COUNTS[whole] if whole < len(COUNTS) else whole} levels"
    else:
        amount = "about one level" if size > KIND + SMALL else "about half a level" if size > SMALL else "a little"
    return f"you are {amount} too {'kind to' if found.bias > 0 else 'hard on'} yourself"


def _order(found: SelfAssessment) -> str:
    if found.tau is None:
        return "one of you gave everything the same level, so your order cannot be compared"
    if found.tau_needed is None:
        return f"{found.n} criteria are too few to say whether you tell your strong parts from your weak ones"
    if found.tau >= found.tau_needed:
        return "you tell your strong parts from your weak ones"
    said = "it is not shown that you tell your strong parts from your weak ones"
    return f"{said} (n too small: {found.n} criteria need {found.tau_needed:.2f}, you have {found.tau:.2f})"
