"""Would the same outcome be given again: the same performances marked afresh, through the whole written rule.

For each candidate the own levels are drawn as the marks leave them open (mark_model.py), new sheets are drawn with the
errors markers were seen to make, rounded to levels, and mean, minimum, count, band and third look are applied
(whole_rule.py). Both outcomes of a comparison rest on the same own levels, so the share is one of repeats and not of
luck. It is the share P(second outcome = first), as decision consistency is defined by Hambleton & Novick (1973), J.
Educ. Meas. 10, 159-170 (from memory), with the rule in place of a cut.

Simulated (`python -m tests.bench again`): of ten candidates the mean of 100 estimates was .836 where .840 repeats
(three tasks), .833 where .834 does (two); the intervals held the truth in 96 and 92 of 100, of 24 candidates 59 of 60.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isfinite, lcm, sqrt

import numpy as np

from assess.agreement.again_words import told
from assess.agreement.bootstrap import Cancelled, Progress
from assess.agreement.jackknife import around
from assess.agreement.mark_model import MarkModel, ModuleMarks, mark_model
from assess.agreement.results import Estimate
from assess.agreement.results.again import Again, CandidateAgain, MarkSpread
from assess.agreement.scores import Floats
from assess.agreement.whole_rule import (
    NOT_PASSED,
    PASSED,
    THIRD_LOOK,
    Codes,
    RuleOfMany,
    SheetOfMany,
    Whole,
    WrittenRule,
)

__all__ = ["NEAR", "Judged", "chance_of_same", "same_again"]

NEAR = 0.25
FEWEST = 5
# Left out at a time: one candidate of twenty, more of more; every group is a whole analysis again.
GROUPS, GROUPS_OF_MANY, MANY = 20, 10, 100
REPLICATES = 1000
MOST_DRAWS = 100_000
FEWEST_DRAWS = 100
# Rounding to whole levels adds 1/12 to the variance of what is rounded (Sheppard's correction), and it is in the
# error already that was estimated from rounded marks.
ROUNDING = 1 / 12
CODES = {"passed": PASSED, "not_passed": NOT_PASSED, "third_look": THIRD_LOOK}
INTERVAL = "t over candidates left out in groups (jackknife), everything estimated again each time"


@dataclass(frozen=True, slots=True)
class Judged:
    """A candidate's module with the outcome the numbers gave: `passed`, `not_passed` or `third_look`."""

    marked: ModuleMarks
    rule: WrittenRule
    outcome: str
    mean: Fraction
    in_band: bool

    @property
    def away(self) -> float:
        """Module mean less the line."""
        return float(self.mean - self.rule.line)

    @property
    def near(self) -> bool:
        """True within NEAR of the line, compared exactly."""
        return abs(self.mean - self.rule.line) <= Fraction(NEAR)


def same_again(
    module: str,
    judged: Sequence[Judged],
    *,
    replicates: int = REPLICATES,
    seed: int = 0,
    progress: Progress | None = None,
) -> Again:
    """The shares of one module, from candidates whose outcome rests on the numbers alone.

    replicates: draws for each candidate; fewer where candidates are many, the result says how many. The order of the
    candidates does not matter. Raises Cancelled when `progress` answers False.
    """
    replicates = min(replicates, max(FEWEST_DRAWS, MOST_DRAWS // max(1, len(judged))))
    everybody = sorted(judged, key=lambda item: item.marked.candidate)
    model = mark_model([item.marked for item in everybody])
    looks = sum(item.outcome == "third_look" for item in everybody)
    if isinstance(model, str):
        overall, near, band, clear = (told(_estimate(name, None, None, n, model)) for name, n in _counted(everybody))
        return Again(module, NEAR, overall, near, band, clear, looks, (), None, replicates, seed, model)
    same = _shares(everybody, model, replicates, seed)
    means = _means(everybody, same)
    errors = _errors(everybody, replicates, seed, progress)
    overall, near, band, clear = (
        told(_estimate(name, mean, error, n, ""))
        for (name, n), mean, error in zip(_counted(everybody), means, errors, strict=True)
    )
    each = tuple(
        CandidateAgain(item.marked.candidate, item.outcome, item.away, float(share))
        for item, share in zip(everybody, same, strict=True)
    )
    parts = (model.candidate, model.performance, model.criterion, model.sheet, model.mark)
    return Again(
        module, NEAR, overall, near, band, clear, looks, each, MarkSpread(*(sqrt(part) for part in parts)), replicates,
        seed, None, _warnings(everybody),
    )  # fmt: skip


def _warnings(everybody: Sequence[Judged]) -> tuple[str, ...]:
    found = []
    if len(everybody) < 2 * FEWEST:
        found.append(f"Only {len(everybody)} candidates: a hint at most.")
    if any(item.marked.agreed for item in everybody):
        found.append("Marks were moderated: the first outcome has that in it, the simulated second one has not.")
    return tuple(found)


# --- shares of candidates --------------------------------------------------------------------------

_PARTS: tuple[tuple[str, Callable[[Judged], bool]], ...] = (
    ("overall", lambda item: True),
    ("near", lambda item: item.near),
    ("in_band", lambda item: item.in_band),
    ("clear", lambda item: not item.near),
)


def _counted(everybody: Sequence[Judged]) -> list[tuple[str, int]]:
    return [(name, sum(map(belongs, everybody))) for name, belongs in _PARTS]


def _means(everybody: Sequence[Judged], same: Floats) -> list[float]:
    """The mean share of every part; NaN of a part with nobody in it."""
    inside = [np.array([belongs(item) for item in everybody], dtype=bool) for _, belongs in _PARTS]
    return [float(same[part].mean()) if part.any() else float("nan") for part in inside]


def _errors(
    everybody: Sequence[Judged], replicates: int, seed: int, progress: Progress | None
) -> list[tuple[float, int] | None]:
    """Standard error and degrees of freedom of every part, the groups of candidates left out one at a time."""
    groups = min(len(everybody), GROUPS if len(everybody) <= MANY else GROUPS_OF_MANY)
    rows = []
    for group in range(groups):
        if progress is not None and progress(group / groups) is False:
            raise Cancelled
        rest = [item for number, item in enumerate(everybody) if number % groups != group]
        model = mark_model([item.marked for item in rest])
        if isinstance(model, str):
            return [None] * len(_PARTS)
        rows.append(_means(rest, _shares(rest, model, max(FEWEST_DRAWS, replicates // 4), seed)))
    table = np.array(rows)
    found: list[tuple[float, int] | None] = []
    for column in table.T:
        if not np.isfinite(column).all():
            found.append(None)
            continue
        error = sqrt((groups - 1) / groups * float(((column - column.mean()) ** 2).sum()))
        found.append((error, groups - 1))
    return found


def _estimate(name: str, mean: float | None, error: tuple[float, int] | None, n: int, why: str) -> Estimate:
    if why or n < FEWEST or mean is None or not isfinite(mean):
        why = why or f"not estimable (n={n}): at least {FEWEST} candidates are needed"
        return Estimate(name, None, n=n, n_candidates=n, undefined=why)
    if error is None:
        return Estimate(name, mean, n=n, n_candidates=n)
    se, degrees = error
    return Estimate(name, mean, se, around(mean, se, degrees, low=0.0, high=1.0), INTERVAL, n, n)


# --- one candidate ---------------------------------------------------------------------------------


def _shares(everybody: Sequence[Judged], model: MarkModel, replicates: int, seed: int) -> Floats:
    rules: dict[tuple[int, int], RuleOfMany] = {}
    shares = []
    for item in everybody:
        key = (id(item.rule), _unit(item))
        rules.setdefault(key, RuleOfMany(item.rule, key[1]))
        shares.append(chance_of_same(item, model, rule=rules[key], replicates=replicates, seed=seed))
    return np.array(shares)


def _unit(item: Judged) -> int:
    """Into how many parts a level is cut by the marks given; 2 where runs were folded to their median."""
    levels = [*(x for sheet in item.marked.sheets for x in sheet.levels.values()), *item.marked.agreed.values()]
    return lcm(*(level.denominator for level in levels))


def chance_of_same(
    item: Judged, model: MarkModel, *, rule: RuleOfMany | None = None, replicates: int = REPLICATES, seed: int = 0
) -> float:
    """How often a second marking of the same performances has the outcome of the first.

    rule: the item's, if it was made ready before. The numbers drawn hang on the candidate's name and the seed alone,
    so that leaving others out changes none of them.
    """
    rule = rule or RuleOfMany(item.rule, _unit(item))
    name = hashlib.sha256(item.marked.candidate.encode("utf-8", "surrogatepass")).digest()
    rng = np.random.default_rng([seed, *name[:8]])
    redraw = _Redraw(item, rule, model, replicates, rng)
    first = np.full(1, CODES[item.outcome], dtype=np.int8)
    if item.outcome == "third_look":
        first = redraw.after_look(redraw.given(), item.marked.agreed)
    return float(np.mean(redraw.outcome() == first))


class _Redraw:
    """Markings of one candidate's performances by others, all with the same r draws of the candidate's own levels."""

    def __init__(
        self, item: Judged, rule: RuleOfMany, model: MarkModel, replicates: int, rng: np.random.Generator
    ) -> None:
        self.item, self.rule, self.model, self.r, self.rng = item, rule, model, replicates, rng
        cells = item.marked.cells
        self.at = {(slot, k): number for number, (slot, _, k) in enumerate(cells)}
        self.task = {slot: task for slot, task, _ in cells}
        true = model.true_levels(item.marked)
        self.own = true.mean + rng.standard_normal((replicates, len(cells))) @ true.root.T

    @property
    def unit(self) -> int:
        """Levels are counted in 1 / unit."""
        return self.rule.unit

    def outcome(self) -> Codes:
        """Of a whole new marking: the same sheets by others, and the third look where the rule asks for one."""
        first = [sheet for sheet in self.item.marked.sheets if not sheet.third]
        sheets = [self._drawn(sheet.slot, tuple(sheet.levels)) for sheet in first]
        lowest, highest = (self._third_flat(level) for level in (self.item.rule.lowest, self.item.rule.highest))
        found = self.rule.outcomes(sheets, lowest, highest)
        return np.where(found == THIRD_LOOK, self.after_look(sheets, {}), found).astype(np.int8)

    def given(self) -> list[SheetOfMany]:
        """The sheets as the rule reads them, agreed levels in place of those given; one row for all markings."""
        agreed, found = self.item.marked.agreed, []
        for sheet in self.item.marked.sheets:
            read = {**sheet.levels, **{k: level for (slot, k), level in agreed.items() if slot == sheet.slot}}
            levels = np.array([[int(level * self.unit) for level in read.values()]], dtype=np.int64)
            found.append(self._sheet(sheet.slot, tuple(read), levels))
        return found

    def after_look(self, sheets: Sequence[SheetOfMany], agreed: Mapping[tuple[str, str], Fraction]) -> Codes:
        """The outcome once third sheets over every performance have joined; agreed levels stand in them too."""
        third = []
        for slot, held in sorted(self.item.marked.criteria.items()):
            sheet = self._drawn(slot, held)
            for column, criterion in enumerate(held):
                if (slot, criterion) in agreed:
                    sheet.levels[:, column] = int(agreed[slot, criterion] * self.unit)
            third.append(sheet)
        return self.rule.without_look([*sheets, *third])

    def _sheet(self, slot: str, criteria: Sequence[str], levels: Whole) -> SheetOfMany:
        return SheetOfMany(tuple((self.task[slot], k) for k in criteria), levels)

    def _drawn(self, slot: str, criteria: Sequence[str]) -> SheetOfMany:
        """A sheet of a performance by somebody else, in whole levels."""
        own = self.own[:, [self.at[slot, k] for k in criteria]]
        mark = sqrt(max(self.model.mark - ROUNDING, 0.0))
        seen = own + sqrt(self.model.sheet) * self.rng.standard_normal((self.r, 1))
        seen = seen + mark * self.rng.standard_normal(own.shape)
        levels = np.clip(np.rint(seen), self.item.rule.lowest, self.item.rule.highest).astype(np.int64) * self.unit
        return self._sheet(slot, criteria, levels)

    def _third_flat(self, level: int) -> list[SheetOfMany]:
        """Third sheets with one level everywhere; nothing is agreed in a marking that has just been drawn."""
        return [
            self._sheet(slot, held, np.full((1, len(held)), level * self.unit, dtype=np.int64))
            for slot, held in sorted(self.item.marked.criteria.items())
        ]
