"""Scores as a many-facet Rasch model: log(P_k / P_k-1) = ability - difficulty - severity - step, facets sum to zero.

A cell is a distinct (task, criterion, assessor). Levels count 0, 1, 2, ... up the declared scale. A level's offset is
the sum of the steps up to it, 0 for the lowest and the highest, so that steps sum to zero.
Source: Linacre (1989), Many-Facet Rasch Measurement; Andrich (1978), Psychometrika 43, 561-573 (steps shared);
Masters (1982), Psychometrika 47, 149-174 (steps of each criterion).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from assess.agreement.network import pieces_of
from assess.agreement.rasch_usable import Usable
from assess.agreement.scores import Floats, Ints, Scores

__all__ = ["ASSESSOR", "CRITERION", "TASK", "Facet", "Model", "chances", "model_of"]

ASSESSOR, CRITERION, TASK = "assessor", "criterion", "task"


@dataclass(frozen=True, eq=False)
class Facet:
    """A facet: ids that take part; of_cell: which one each cell has; basis: free numbers -> values, (ids, free)."""

    name: str
    ids: tuple[str, ...]
    of_cell: Ints
    basis: Floats
    columns: slice


@dataclass(frozen=True, eq=False)
class Model:
    """The model's linear parts. free numbers: facets first, then offsets of levels, group by group.

    candidate, cell, category: of every score in use. weights: what each category counts; values: its level.
    group: the group of shared steps of each cell; groups: the criteria (or tasks) of each group, () for all.
    location: free numbers -> difficulty and severity of each cell, (cells, free); offset: -> offset of each group's
    categories, (groups, categories, free).
    """

    n_candidates: int
    candidate: Ints
    cell: Ints
    category: Ints
    weights: Floats
    values: Floats
    group: Ints
    groups: tuple[tuple[str, ...], ...]
    facets: tuple[Facet, ...]
    location: Floats
    offset: Floats
    usable: Usable
    warnings: tuple[str, ...] = ()

    @property
    def n_free(self) -> int:
        """How many free numbers."""
        return self.location.shape[1]

    @property
    def n_cells(self) -> int:
        """How many cells."""
        return len(self.group)

    @cached_property
    def incidence(self) -> Any:
        """Which cells each candidate has a score in: sparse, (candidates, cells)."""
        from scipy.sparse import csr_array

        return csr_array(
            (np.ones(len(self.cell)), (self.candidate, self.cell)), shape=(self.n_candidates, self.n_cells)
        )

    @cached_property
    def total(self) -> Floats:
        """Sum of what each candidate's scores count, shape (candidates,)."""
        total = np.bincount(self.candidate, self.weights[self.category], minlength=self.n_candidates)
        return total.astype(np.float64)

    @cached_property
    def n_each(self) -> Ints:
        """Scores in use of each candidate."""
        return np.bincount(self.candidate, minlength=self.n_candidates)

    @cached_property
    def observed(self) -> Floats:
        """Sum over all scores of the derivative of their logarithm, expectations aside, shape (free,)."""
        of_cell = np.bincount(self.cell, self.weights[self.category], minlength=self.n_cells)
        k = len(self.weights)
        counts = np.bincount(self.group[self.cell] * k + self.category, minlength=len(self.groups) * k)
        return -(of_cell @ self.location) - counts @ self.offset.reshape(-1, self.n_free)

    @cached_property
    def observed_each(self) -> Floats:
        """The same for each candidate, shape (candidates, free)."""
        from scipy.sparse import csr_array

        k, n = len(self.weights), self.n_candidates
        counted = csr_array((self.weights[self.category], (self.candidate, self.cell)), shape=(n, self.n_cells))
        place = self.group[self.cell] * k + self.category
        given = csr_array((np.ones(len(place)), (self.candidate, place)), shape=(n, len(self.groups) * k))
        return np.asarray(-(counted @ self.location) - given @ self.offset.reshape(-1, self.n_free))

    def in_order(self) -> Model:
        """The same model with the scores in the order of their candidates."""
        if (np.diff(self.candidate) >= 0).all():
            return self
        order = np.argsort(self.candidate, kind="stable")
        return replace(self, candidate=self.candidate[order], cell=self.cell[order], category=self.category[order])

    def of_candidates(self, some: Ints) -> Model:
        """The same model for these candidates alone, numbered anew in this order."""
        number = np.full(self.n_candidates, -1, dtype=np.int64)
        number[some] = np.arange(len(some))
        rows = number[self.candidate] >= 0
        return replace(
            self, n_candidates=len(some), candidate=number[self.candidate[rows]], cell=self.cell[rows],
            category=self.category[rows],
        )  # fmt: skip

    def logits(self, free: Floats, ability: Floats, cell: Ints | None = None) -> Floats:
        """Unnormalised log chance of every category: of every cell at every ability, (cells, abilities, categories).

        With `cell`: of the pairs of ability and cell, (categories, pairs).
        """
        location, offset = self.location @ free, self.offset @ free
        if cell is None:
            apart = ability[None, :] - location[:, None]
            return np.asarray(apart[:, :, None] * self.weights - offset[self.group][:, None, :])
        apart, group = ability - location[cell], self.group[cell]
        # Categories first: numpy is several times as fast along a long last axis.
        return np.stack([apart * weight - offset[group, k] for k, weight in enumerate(self.weights)])


def chances(logits: Floats) -> tuple[Floats, Floats]:
    """Chances from logits, (categories, pairs), written over them; and the logarithm of what they were divided by."""
    top = logits.max(axis=0)
    logits -= top
    np.exp(logits, out=logits)
    whole = logits.sum(axis=0)
    logits /= whole
    return logits, np.log(whole) + top


def model_of(scores: Scores, usable: Usable, partial_credit: bool) -> Model:
    """The model for the scores in use; partial_credit: steps of each criterion (or task) rather than shared ones."""
    keep = usable.keep
    columns = {ASSESSOR: scores.assessor[keep], CRITERION: scores.criterion[keep], TASK: scores.task[keep]}
    names = {ASSESSOR: scores.assessors, CRITERION: scores.criteria, TASK: scores.tasks}
    shape = tuple(len(names[name]) for name in columns)
    key, cell = np.unique(np.ravel_multi_index(tuple(columns.values()), shape), return_inverse=True)
    of_cell = dict(zip(columns, np.unravel_index(key, shape), strict=True))
    category = np.searchsorted(usable.used, scores.level[keep]).astype(np.int64)
    facets, warnings = _facets(of_cell, names)
    item = next((f for f in facets if f.name == CRITERION and len(f.ids) > 1), None)
    item = item or next((f for f in facets if f.name == TASK and len(f.ids) > 1), None)
    group, groups, told = _groups(item if partial_credit else None, cell, category, len(usable.used), len(key))
    location, offset = _maps(facets, len(key), len(groups), len(usable.used))
    return Model(
        len(scores.candidates), scores.candidate[keep], cell.astype(np.int64), category,
        (usable.used - usable.used[0]).astype(np.float64), np.asarray(scores.levels)[usable.used], group, groups,
        facets, location, offset, usable, (*warnings, *told),
    )  # fmt: skip


def _facets(of_cell: dict[str, Ints], names: dict[str, tuple[str, ...]]) -> tuple[tuple[Facet, ...], tuple[str, ...]]:
    found: list[Facet] = []
    warnings: tuple[str, ...] = ()
    start = 0
    for name, index in of_cell.items():
        present, mine = np.unique(index, return_inverse=True)
        ids = tuple(names[name][i] for i in present)
        pieces: tuple[tuple[str, ...], ...] = (ids,)
        if name == TASK and len(ids) > 1 and len(found[1].ids) > 1:
            pieces = pieces_of(found[1].of_cell, mine.astype(np.int64), ids)
            warnings = _tasks_apart(pieces)
        basis = _sum_zero(ids, pieces)
        found.append(Facet(name, ids, mine.astype(np.int64), basis, slice(start, start + basis.shape[1])))
        start += basis.shape[1]
    return tuple(found), warnings


def _tasks_apart(pieces: tuple[tuple[str, ...], ...]) -> tuple[str, ...]:
    if len(pieces) == 1:
        return ()
    shown = "; ".join(", ".join(piece) for piece in pieces[:6]) + ("; ..." if len(pieces) > 6 else "")
    return (
        f"tasks without a criterion in common cannot be told from their criteria ({shown}): difficulties of tasks are"
        " against their own group, and what is left is in the criteria",
    )


def _sum_zero(ids: tuple[str, ...], pieces: tuple[tuple[str, ...], ...]) -> Floats:
    """Values of all ids from free numbers, one fewer in each piece, so that every piece sums to zero."""
    basis = np.zeros((len(ids), len(ids) - len(pieces)))
    at, column = {name: i for i, name in enumerate(ids)}, 0
    for piece in pieces:
        for name in piece[:-1]:
            basis[at[name], column], basis[at[piece[-1]], column] = 1.0, -1.0
            column += 1
    return basis


def _groups(
    item: Facet | None, cell: Ints, category: Ints, k: int, n_cells: int
) -> tuple[Ints, tuple[tuple[str, ...], ...], tuple[str, ...]]:
    """Which steps are shared: those of criteria that lack a level are put together, so that no step is infinite."""
    if item is None:
        return np.zeros(n_cells, dtype=np.int64), ((),), ()
    n = len(item.ids)
    counts = np.bincount(item.of_cell[cell] * k + category, minlength=n * k).reshape(n, k)
    lacking = (counts == 0).any(axis=1)
    if not lacking.any():
        return item.of_cell, tuple((name,) for name in item.ids), ()
    pool = lacking.copy()
    for level in np.flatnonzero(counts[pool].sum(axis=0) == 0):
        # The one that has most of the missing level helps out.
        pool[int(np.argmax(np.where(pool, -1, counts[:, level])))] = True
    if pool.sum() == 1:
        pool[int(np.argmax(np.where(pool, -1, counts.sum(axis=1))))] = True
    names = tuple(name for name, inside in zip(item.ids, pool, strict=True) if inside)
    missing = ", ".join(name for name, less in zip(item.ids, lacking, strict=True) if less)
    told = f"not every level was given on {missing}: {', '.join(names)} share their steps, so that none is infinite"
    alone = [i for i in range(n) if not pool[i]]
    number = np.zeros(n, dtype=np.int64)
    number[alone] = np.arange(1, len(alone) + 1)
    return number[item.of_cell], (names, *((item.ids[i],) for i in alone)), (told,)


def _maps(facets: tuple[Facet, ...], cells: int, groups: int, k: int) -> tuple[Floats, Floats]:
    inner = max(0, k - 2)
    first = facets[-1].columns.stop
    location = np.zeros((cells, first + groups * inner))
    for facet in facets:
        location[:, facet.columns] = facet.basis[facet.of_cell]
    offset = np.zeros((groups, k, first + groups * inner))
    for group in range(groups):
        for level in range(inner):
            offset[group, level + 1, first + group * inner + level] = 1.0
    return location, offset
