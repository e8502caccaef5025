"""How near the chance of the same outcome comes to what really repeats, and how often its interval holds it.

Seeded simulation. A candidate's own level, what suits them in a performance and on a criterion, an error of the whole
sheet and one of each mark, all normal; marks are rounded to levels of 1 to 6. Every performance is marked twice, and
once more where the rule asks for a third look; then all of it again. The share of equal outcomes of very many
candidates is the truth.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cache

import numpy as np

from assess.agreement.again import Judged, same_again
from assess.agreement.mark_model import ModuleMarks, SheetMarks
from assess.agreement.scores import Floats
from assess.agreement.whole_rule import THIRD_LOOK, RuleOfMany, SheetOfMany, WrittenRule

__all__ = ["rows"]

RULE = WrittenRule(Fraction(7, 2), Fraction(5, 2), True, 3, Fraction("0.46") ** 2, 1, 6, {})
SIZES = ((10, 3, 100), (10, 2, 100), (24, 2, 60))
"""Candidates, performances of four criteria each, and how many data sets are drawn."""
CRITERIA, MEAN = 4, 3.8
CANDIDATE, PERFORMANCE, CRITERION, SHEET, MARK = 0.5, 0.3, 0.3, 0.35, 0.6
MANY = 8000
DRAWS = 300
WORDS = ("not_passed", "passed", "third_look")


def rows(sets: int | None = None) -> Iterator[str]:
    """One line for each size; sets: how many data sets of each, else as `SIZES` says."""
    yield f"{'same outcome again':28}{'truth':>8}{'mean':>8}{'sd':>8}{'interval holds it':>20}"
    for candidates, tasks, many in SIZES:
        truth, rng = _truth(tasks), np.random.default_rng(candidates * 10 + tasks)
        courses = (_course(rng, candidates, tasks)[0] for _ in range(sets or many))
        found = [same_again("m", course, replicates=DRAWS).overall for course in courses]
        told = [(one.estimate, one.ci95) for one in found if one.estimate is not None and one.ci95 is not None]
        means = [mean for mean, _ in told]
        held = sum(low <= truth <= high for _, (low, high) in told)
        name = f"{candidates} candidates, {tasks} tasks"
        share = f"{held} of {len(told)}"
        yield f"{name:28}{truth:>8.3f}{np.mean(means):>8.3f}{np.std(means):>8.3f}{share:>20}"


@cache
def _truth(tasks: int) -> float:
    return float(np.mean(_course(np.random.default_rng(99), MANY, tasks)[1]))


def _course(rng: np.random.Generator, candidates: int, tasks: int) -> tuple[list[Judged], list[bool]]:
    """Judged candidates, and whether a second marking of each gave the same outcome."""
    judged, same = [], []
    for number in range(candidates):
        own = MEAN + rng.normal(0, CANDIDATE) + rng.normal(0, PERFORMANCE, (tasks, 1))
        own = own + rng.normal(0, CRITERION, (tasks, CRITERIA))
        marks = _marks(rng, own, 2)
        first, final = _outcome(rng, own, marks)
        same.append(final == _outcome(rng, own, _marks(rng, own, 2))[1])
        mean = Fraction(int(marks.sum()), marks.size)
        in_band = RULE.band_squared is not None and (mean - RULE.line) ** 2 * 2 * tasks <= RULE.band_squared
        judged.append(Judged(_module(f"C{number:04}", marks), RULE, WORDS[first], mean, in_band))
    return judged, same


def _marks(rng: np.random.Generator, own: Floats, markers: int) -> Floats:
    """Shape (markers, tasks, criteria)."""
    seen = own + rng.normal(0, SHEET, (markers, len(own), 1)) + rng.normal(0, MARK, (markers, *own.shape))
    return np.asarray(np.clip(np.rint(seen), 1, 6), dtype=np.float64)


def _outcome(rng: np.random.Generator, own: Floats, marks: Floats) -> tuple[int, int]:
    """What the two markers give, and what stands after the third look, if the rule asks for one."""
    rule, sheets = RuleOfMany(RULE), _sheets(marks)
    ends = [_sheets(np.full((1, *own.shape), float(level))) for level in (1, 6)]
    first = int(rule.outcomes(sheets, *ends)[0])
    if first != THIRD_LOOK:
        return first, first
    return first, int(rule.without_look([*sheets, *_sheets(_marks(rng, own, 1))])[0])


def _sheets(marks: Floats) -> list[SheetOfMany]:
    return [
        SheetOfMany(tuple((f"T{task}", f"k{k}") for k in range(CRITERIA)), levels[None].astype(np.int64))
        for marker in marks
        for task, levels in enumerate(marker)
    ]


def _module(candidate: str, marks: Floats) -> ModuleMarks:
    sheets = tuple(
        SheetMarks(f"T{task}", f"T{task}", f"A{who}", {f"k{k}": Fraction(int(level)) for k, level in enumerate(levels)})
        for who, marker in enumerate(marks)
        for task, levels in enumerate(marker)
    )
    criteria = {f"T{task}": tuple(f"k{k}" for k in range(CRITERIA)) for task in range(marks.shape[1])}
    return ModuleMarks(candidate, sheets, criteria, {})
