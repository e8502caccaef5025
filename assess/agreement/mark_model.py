"""Where marks come from: a candidate's own level, what suits them in a task and criterion, and two kinds of error.

A mark is the mean of its task and criterion, plus what the candidate is better by, plus what they are better by in this
performance and on this criterion of it, plus an error of the whole sheet (severity and halo), plus an error of the one
mark. All parts are normal; their variances come from the marks by restricted maximum likelihood.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np

from assess.agreement.reml import TooMany, fit, model_of, told_apart
from assess.agreement.scores import Floats, Ints

__all__ = ["MarkModel", "ModuleMarks", "SheetMarks", "TrueLevels", "mark_model"]

SOURCES = ("candidate", "performance", "criterion", "sheet")
FEWEST_CANDIDATES = 5
FEWEST_TURNS = 10
_FACETS = (frozenset({0}), frozenset({0, 1}), frozenset({0, 1, 2}), frozenset({0, 1, 3}))


@dataclass(frozen=True, slots=True)
class SheetMarks:
    """One observed sheet: the levels as given, by criterion. slot: the performance (`T2-2`); task: whose it is.

    third: it came in by a third look, so a marking afresh has it only where the rule asks for a look again.
    """

    slot: str
    task: str
    assessor: str
    levels: Mapping[str, Fraction]
    third: bool = False


@dataclass(frozen=True, slots=True)
class ModuleMarks:
    """A candidate's module as it was marked.

    criteria: of every performance, those somebody could mark. agreed: (performance, criterion) -> the level the
    markers agreed on, which stands in place of theirs in the rule.
    """

    candidate: str
    sheets: tuple[SheetMarks, ...]
    criteria: Mapping[str, tuple[str, ...]]
    agreed: Mapping[tuple[str, str], Fraction]

    @property
    def cells(self) -> tuple[tuple[str, str, str], ...]:
        """(performance, task, criterion) of everything that could be marked, in order."""
        task = {sheet.slot: sheet.task for sheet in self.sheets}
        return tuple((slot, task[slot], k) for slot, held in sorted(self.criteria.items()) for k in held)


_Layout = tuple[tuple[int, ...], ...]
"""The performance of each cell; of each mark its cell and its sheet."""


@dataclass(frozen=True, eq=False)
class TrueLevels:
    """What the marks say of a candidate's own levels, cell by cell as in ModuleMarks.cells.

    mean: (cells,); root: (cells, cells), whose product with standard normal numbers has the spread that is left.
    """

    mean: Floats
    root: Floats


@dataclass(frozen=True, eq=False)
class MarkModel:
    """means: of every (task, criterion). The variances are in squared levels."""

    means: Mapping[tuple[str, str], float]
    candidate: float
    performance: float
    criterion: float
    sheet: float
    mark: float
    _known: dict[_Layout, tuple[Floats, Floats]] = field(default_factory=dict)

    def true_levels(self, module: ModuleMarks) -> TrueLevels:
        """The candidate's own levels given the marks: the normal posterior, variances and means taken as known."""
        cells = module.cells
        centre = np.array([self.centre(task, criterion) for _, task, criterion in cells])
        at = {(slot, criterion): number for number, (slot, _, criterion) in enumerate(cells)}
        slots = sorted(module.criteria)
        cell = [at[sheet.slot, k] for sheet in module.sheets for k in sheet.levels]
        layout = (
            tuple(slots.index(slot) for slot, _, _ in cells),
            tuple(cell),
            tuple(number for number, sheet in enumerate(module.sheets) for _ in sheet.levels),
        )
        if layout not in self._known:
            self._known[layout] = self._weights(*(np.array(part, dtype=np.int64) for part in layout))
        weights, root = self._known[layout]
        marks = np.array([float(level) for sheet in module.sheets for level in sheet.levels.values()]) - centre[cell]
        return TrueLevels(centre + weights @ marks, root)

    def _weights(self, slot: Ints, cell: Ints, sheet: Ints) -> tuple[Floats, Floats]:
        """What each mark moves each own level by, and the root of the covariance that is left."""
        own = self._own(slot)
        of_marks = own[np.ix_(cell, cell)] + self.sheet * (sheet[:, None] == sheet)
        of_marks[np.diag_indices_from(of_marks)] += max(self.mark, 1e-9)
        weights = np.linalg.solve(of_marks, own[cell]).T
        left = own - weights @ own[cell]
        values, vectors = np.linalg.eigh((left + left.T) / 2)
        return weights, vectors * np.sqrt(np.maximum(values, 0.0))

    def centre(self, task: str, criterion: str) -> float:
        """The mean of a task and criterion; of one nobody marked, that of its task, or of all."""
        if (task, criterion) in self.means:
            return self.means[task, criterion]
        beside = [mean for (other, _), mean in self.means.items() if other == task] or list(self.means.values())
        return float(np.mean(beside))

    def _own(self, slot: Ints) -> Floats:
        """Covariance of the candidate's own levels."""
        n = len(slot)
        own = self.candidate + self.performance * (slot[:, None] == slot) + self.criterion * np.eye(n)
        return np.asarray(own, dtype=np.float64)


def mark_model(modules: Sequence[ModuleMarks]) -> MarkModel | str:
    """The model of the marks of several candidates, or, as a sentence, why there is none."""
    turns = sum(_twice(module) for module in modules)
    if len(modules) < FEWEST_CANDIDATES or turns < FEWEST_TURNS:
        return (
            f"not estimable (n={len(modules)} candidates, {turns} turns marked twice): at least {FEWEST_CANDIDATES} "
            f"candidates and {FEWEST_TURNS} such turns are needed"
        )
    keys, value = _columns(modules)
    means, centred = _centred([key[4:] for key in keys], value)
    if not np.any(centred):
        return f"not estimable (n={len(modules)} candidates): everybody got the same marks"
    found = _variances(keys, centred)
    if isinstance(found, str):
        return f"not estimable (n={len(modules)} candidates): {found}"
    # Taking off the mean of every task and criterion took 1/n of what candidates differ by within them.
    wider = len(modules) / (len(modules) - 1)
    return MarkModel(
        means, found["candidate"], found["performance"] * wider, found["criterion"] * wider, found["sheet"],
        found["mark"],
    )  # fmt: skip


def _twice(module: ModuleMarks) -> int:
    """How many of its performances were marked by two or more."""
    slots = [sheet.slot for sheet in module.sheets]
    return sum(slots.count(slot) > 1 for slot in set(slots))


_Key = tuple[str, tuple[str, str], tuple[str, str, str], tuple[str, str, str], str, str]


def _columns(modules: Sequence[ModuleMarks]) -> tuple[list[_Key], Floats]:
    """Candidate, performance, cell, sheet, task and criterion of every mark; and its level."""
    keys, value = [], []
    for module in modules:
        who = module.candidate
        for sheet in module.sheets:
            for k, level in sheet.levels.items():
                slot = sheet.slot
                keys.append((who, (who, slot), (who, slot, k), (who, slot, sheet.assessor), sheet.task, k))
                value.append(float(level))
    return keys, np.array(value)


def _centred(cells: Sequence[tuple[str, ...]], value: Floats) -> tuple[dict[tuple[str, str], float], Floats]:
    places = {cell: number for number, cell in enumerate(sorted(set(cells)))}
    index = np.array([places[cell] for cell in cells])
    mean = np.bincount(index, weights=value) / np.bincount(index)
    return {(cell[0], cell[1]): float(mean[number]) for cell, number in places.items()}, value - mean[index]


def _variances(keys: Sequence[_Key], centred: Floats) -> dict[str, float] | str:
    """By source; one that is the same partition of the marks as another is 0, its share goes to the other."""
    found = dict.fromkeys((*SOURCES, "mark"), 0.0)
    sources: dict[str, Ints] = {}
    for number, name in enumerate(SOURCES):
        index = _numbered([key[number] for key in keys])
        alone = int(index.max()) + 1 == len(centred)
        if not alone and not any(np.array_equal(index, other) for other in sources.values()):
            sources[name] = index
    if "candidate" not in sources:
        return "no candidate has two marks"
    facets = [_FACETS[SOURCES.index(name)] for name in sources]
    columns = list(sources.values())
    if not told_apart(columns, len(centred)):
        return "the marks do not let candidates, tasks and error be told apart"
    try:
        reml = fit(model_of(columns, facets, centred))
    except TooMany as many:
        return f"too large for this analysis, {many}"
    if not reml.converged:
        return "the marks leave no error to be estimated"
    found.update(zip((*sources, "mark"), (float(variance) for variance in reml.variances), strict=True))
    return found


def _numbered(names: Sequence[object]) -> Ints:
    places: dict[object, int] = {}
    return np.array([places.setdefault(name, len(places)) for name in names], dtype=np.int64)
