"""How likely an effect is by chance, and which effects are but the mirror of somebody else's.

The chance p is Student's t with the jackknife's error over candidates and one degree of freedom fewer than the
assessor's candidates, because resamples of ten candidates are over-confident.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from scipy.special import stdtr

from assess.agreement.bootstrap import Patterns, jackknife_variance
from assess.agreement.rater_partners import Partners, Question, partners_of
from assess.agreement.results.raters import Effect, EffectName
from assess.agreement.scores import Floats
from assess.agreement.sheets import MarkedSheet, sheets_of

__all__ = ["FEW", "chance", "errors", "patterns_of", "still", "without_mirrors"]

FEW = 5
"""With fewer candidates than this in it an effect is not tested."""
HARMFUL: dict[EffectName, int] = {"flat": 1, "spread": -1, "central": 1, "repeat": 1, "line": -1}
"""The side on which an effect is one; both sides for the others."""
MIRRORED: tuple[EffectName, ...] = ("severity", "drift", "days", "contrast")
"""Measured against partners, so that of two who work together either may be the one who is apart."""
_ALONE = 0.05
_STILL = 1e-18

Ask = Callable[[Partners], Question]


def still(estimate: float, variance: float) -> bool:
    """True when no candidate moves the estimate: there is no error to divide by."""
    return variance <= _STILL * max(1.0, estimate * estimate)


def chance(name: EffectName, estimate: float, variance: float, n: int, n_sheets: int) -> float:
    """Two-sided p with n candidates; 1 on the side that harms nobody.

    Where every candidate says the same there is no error to divide by: if only chance decided whose of two sheets of a
    performance shows more, all would do so as often as n_sheets coins fall alike.
    """
    harmful = HARMFUL.get(name)
    if harmful is not None and estimate * harmful <= 0:
        return 1.0
    if still(estimate, variance):
        return 1.0 if abs(estimate) <= 1e-12 else float(2.0 ** (1 - n_sheets))
    return float(2.0 * stdtr(n - 1, -abs(estimate) / variance**0.5))


def patterns_of(question: Question) -> Patterns:
    """The candidates who have a say."""
    patterns = Patterns(question.rows, np.ones(len(question.rows), dtype=np.int64))
    return patterns.saying() if len(question.rows) else patterns


def errors(question: Question, patterns: Patterns) -> Floats:
    """Jackknife variance of the estimate of each assessor; NaN where it does not exist without some candidate."""
    return jackknife_variance(patterns, lambda sums: question.numbers(sums)[:, 0])


def without_mirrors(
    effects: Sequence[Effect], records: Sequence[MarkedSheet], levels: Sequence[float], asks: Sequence[Ask]
) -> list[Effect]:
    """The effects, and of those to look at the ones that are seen beside somebody else alone no longer to look at.

    An assessor who is far apart pushes all partners a little to the other side. The largest effect of a kind stands; a
    smaller one on the other side stands only if it is there, p at most .05, without the sheets of those larger ones.
    Of two assessors nothing can be said, and nothing is changed.
    """
    judged = {(effect.assessor, effect.name): effect for effect in effects}
    if len({effect.assessor for effect in effects}) < 3:
        return list(effects)
    for ask in asks:
        kept: list[Effect] = []
        for effect in _by_size(effects, ask):
            other_way = [one for one in kept if (one.estimate or 0.0) * (effect.estimate or 0.0) < 0]
            if other_way and not _there_without(effect, {one.assessor for one in other_way}, records, levels, ask):
                names = ", ".join(sorted(one.assessor for one in other_way))
                mirror = replace(effect, verdict="nothing to say", mirror_of=names)
                judged[effect.assessor, effect.name] = mirror
            else:
                kept.append(effect)
    return list(judged.values())


def _by_size(effects: Sequence[Effect], ask: Ask) -> list[Effect]:
    found = [one for one in effects if one.name == ask.__name__ and one.verdict == "look" and one.name in MIRRORED]
    return sorted(found, key=lambda one: (-abs(one.estimate or 0.0), one.assessor))


def _there_without(
    effect: Effect, others: set[str], records: Sequence[MarkedSheet], levels: Sequence[float], ask: Ask
) -> bool:
    sheets = sheets_of([record for record in records if record.assessor not in others], levels)
    question = ask(partners_of(sheets))
    number = sheets.assessors.index(effect.assessor)
    patterns = patterns_of(question)
    n = int(question.n_candidates[number])
    if patterns.n == 0 or question.why[number] is not None or n < FEW:
        return False
    estimate = float(question.numbers(patterns.total())[0, 0, number])
    variance = float(errors(question, patterns)[number])
    if not (np.isfinite(estimate) and np.isfinite(variance)) or estimate * (effect.estimate or 0.0) <= 0:
        return False
    return chance(effect.name, estimate, variance, n, int(question.n[number])) <= _ALONE
