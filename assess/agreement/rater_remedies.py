"""What each effect cannot tell, and what helps an assessor who shows it. Common practice, no source.

Marking together, writing the observation before the digit and marking a clip again are what assessors' own training
uses; none of it is a sanction.
"""

from __future__ import annotations

from assess.agreement.results.raters import EffectName

__all__ = ["limit_of", "todo_of"]

_SIDES = "Measured against partners: what both do alike is not seen, and a partner going the other way looks the same."
_LIMITS: dict[EffectName, str] = {
    "severity": "The group is its own measure: that all of it is hard or mild is not seen.",
    "drift": _SIDES, "days": f"{_SIDES} Tasks change with the days, too.", "contrast": _SIDES,
    "flat": "Some performances are even; partners on the same ones are the measure.",
    "spread": "Some performances are even; partners on the same ones are the measure.",
    "central": "Candidates who are alike lead everybody to few levels.",
    "repeat": "", "line": "It says that the sides differ, not who is right.",
}  # fmt: skip
_TODO: dict[EffectName, str] = {
    "severity": "Mark two clips together, one of them near the pass line, and say aloud which words of the descriptor"
    " fit.",
    "drift": "Mark one reference clip before the first candidate and again after the last; take a break in the middle.",
    "days": "Begin each day with the same reference clip and compare it with the day before.",
    "flat": "Write the observation before the digit, one criterion at a time.",
    "spread": "Write the observation before the digit, and ask of each criterion what one level more would look like.",
    "central": "Read the descriptors at both ends of the scale before a task; mark a strong and a weak clip together.",
    "contrast": "Read the descriptor before each digit; what is marked is its words, not the candidate before.",
    "repeat": "Mark a few clips twice, some days apart, and talk over those that moved.",
    "line": "Look together at the performances on which the sides differ, with both sheets' observations.",
}


def limit_of(name: EffectName, n_assessors: int) -> str:
    """What an effect of this name cannot tell; "" when there is nothing to add."""
    if name == "severity" and n_assessors == 2:
        return "Of two assessors each is the other's mirror: which of them is apart is not seen."
    return _LIMITS[name]


def todo_of(name: EffectName) -> str:
    """What helps."""
    return _TODO[name]
