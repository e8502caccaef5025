"""How well an assessor's marks fit the many-facet model of the whole course, as a plain sentence.

Infit is 1 where marks scatter as the model foresees. It is called out below 0.7 and above 1.3 only when its z is beyond
2 as well: rules of thumb of the field (Wright & Linacre 1994, Rasch Measurement Transactions 8:3, 370, from memory), so
this is no test and belongs to no family.
"""

from __future__ import annotations

from assess.agreement.results import Measure

__all__ = ["fit_sentence"]

_LOW, _HIGH, _Z = 0.7, 1.3, 2.0


def fit_sentence(measure: Measure, *, you: bool = False) -> str:
    """One sentence about one assessor; you: said to the assessor."""
    own = "your" if you else f"{measure.id}'s"
    if measure.infit is None or measure.infit_z is None:
        return (
            f"How {own} marks fit the model of the whole course cannot be said: {measure.undefined or 'no estimate'}."
        )
    met = f"{measure.n} marks of {measure.n_candidates} candidates"
    start = f"{own[0].upper()}{own[1:]} marks"
    if abs(measure.infit_z) < _Z or _LOW <= measure.infit <= _HIGH:
        return (
            f"{start} fit the model of the whole course well enough ({measure.infit:.2f} times the scatter it"
            f" foresees; {met})."
        )
    if measure.infit < 1:
        return (
            f"{start} scatter less than the model of the whole course foresees ({measure.infit:.2f} times as much;"
            f" {met}): they follow one another more closely than separate judgements would."
        )
    return (
        f"{start} scatter more than the model of the whole course foresees ({measure.infit:.2f} times as much; {met}):"
        " some of them nobody else's marks lead one to expect."
    )
