"""A self-assessment in a trainee's words."""

from __future__ import annotations

from dataclasses import replace

from assess.lesson.results.trainee import SelfAssessment

__all__ = ["self_sentence"]

SMALL, KIND = 0.25, 0.5


def self_sentence(found: SelfAssessment) -> SelfAssessment:
    """The same with its sentence: how kind one is to oneself, and whether one tells strong parts from weak ones."""
    if found.bias is None:
        return replace(found, sentence="there is no criterion that both have scored")
    return replace(found, sentence=f"{_kindness(found.bias)}, and {_order(found)}")


def _kindness(bias: float) -> str:
    size = abs(bias)
    if size < SMALL:
        return "on the whole you see your lesson as the other does"
    amount = "about one level" if size > KIND + SMALL else "about half a level" if size > SMALL else "a little"
    return f"you are {amount} too {'kind to' if bias > 0 else 'hard on'} yourself"


def _order(found: SelfAssessment) -> str:
    if found.tau is None:
        return "one of you gave everything the same level, so your order cannot be compared"
    if found.tau_needed is None:
        return f"{found.n} criteria are too few to say whether you tell your strong parts from your weak ones"
    if found.tau >= found.tau_needed:
        return "you tell your strong parts from your weak ones"
    said = "it is not shown that you tell your strong parts from your weak ones"
    return f"{said} (n too small: {found.n} criteria need {found.tau_needed:.2f}, you have {found.tau:.2f})"
