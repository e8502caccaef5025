"""Whether an outcome would be given again, in one sentence for a person who decides."""

from __future__ import annotations

from dataclasses import replace

from assess.agreement.results import Estimate
from assess.agreement.words import hundred

__all__ = ["told"]

_WHO = {
    "overall": "candidates like these",
    "near": "candidates whose mean lies within a quarter of a level of the line",
    "in_band": "candidates in the rubric's band",
    "clear": "candidates further than a quarter of a level from the line",
}


def told(estimate: Estimate) -> Estimate:
    """The same share with its sentence: of whom, how sure, and on how many it rests."""
    who = _WHO[estimate.name]
    if estimate.estimate is None:
        return replace(estimate, sentence=f"For {who}: {estimate.undefined}.")
    said = f"Of 100 {who}, about {hundred(estimate.estimate)} would get the same outcome again"
    return replace(estimate, sentence=f"{said} ({_sure(estimate)}{estimate.n} candidates).")


def _sure(estimate: Estimate) -> str:
    if estimate.ci95 is None:
        return "how sure that is cannot be said; "
    return f"95 % interval {hundred(estimate.ci95[0])} to {hundred(estimate.ci95[1])}; "
