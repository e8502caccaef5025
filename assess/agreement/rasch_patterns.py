"""What the marginal likelihood sees: candidates with the same cells and the same total are one case, counted.

Cells of one assessor and task that always come together, as the criteria of a whole sheet do, are one column.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from assess.agreement.rasch_model import ASSESSOR, TASK, Model
from assess.agreement.scores import Floats, Ints

__all__ = ["ScorePatterns", "patterns_of"]


@dataclass(frozen=True, eq=False)
class ScorePatterns:
    """of_candidate: the pattern of each candidate. times: how many candidates have it; total: what their scores count.

    incidence: which columns a pattern has, sparse, (patterns, columns); counted: its transpose, times how many.
    column: of each cell; n_columns: how many.
    """

    of_candidate: Ints
    times: Floats
    total: Floats
    incidence: Any
    counted: Any
    column: Ints
    n_columns: int

    def by_column(self, of_cell: Floats) -> Floats:
        """Sums over the cells of every column; the first axis of `of_cell` is cells."""
        from scipy.sparse import csr_array

        cells = np.arange(len(self.column))
        adding = csr_array((np.ones(len(cells)), (self.column, cells)), shape=(self.n_columns, len(cells)))
        return np.asarray(adding @ of_cell.reshape(len(cells), -1)).reshape(self.n_columns, *of_cell.shape[1:])


def patterns_of(model: Model) -> ScorePatterns:
    """The patterns of a model's candidates."""
    from scipy.sparse import csr_array

    column = _columns(model)
    n_columns = int(column.max(initial=-1)) + 1
    met = np.unique(model.candidate * n_columns + column[model.cell])
    candidate, member = np.divmod(met, n_columns)
    pattern = _same(candidate, member, n_columns, model)
    first = np.unique(pattern, return_index=True)[1]
    shown = np.zeros(model.n_candidates, dtype=np.bool_)
    shown[first] = True
    take = shown[candidate]
    incidence = csr_array(
        (np.ones(int(take.sum())), (pattern[candidate[take]], member[take])), shape=(len(first), n_columns)
    )
    times = np.bincount(pattern, minlength=len(first)).astype(np.float64)
    counted = csr_array(incidence.T)
    counted.data = times[counted.indices]
    return ScorePatterns(pattern, times, model.total[first], incidence, counted, column, n_columns)


def _columns(model: Model) -> Ints:
    """The column of each cell: one for all cells of an assessor and task whose every sheet has all of them."""
    of_cell = {facet.name: facet.of_cell for facet in model.facets}
    tasks = of_cell.get(TASK, np.zeros(model.n_cells, dtype=np.int64))
    kind = np.unique(of_cell[ASSESSOR] * (int(tasks.max(initial=0)) + 1) + tasks, return_inverse=True)[1].reshape(-1)
    n_kinds = int(kind.max(initial=-1)) + 1
    cells = np.bincount(kind, minlength=n_kinds)
    sheet, count = np.unique(model.candidate * n_kinds + kind[model.cell], return_counts=True)
    whole = np.ones(n_kinds, dtype=np.bool_)
    whole[(sheet % n_kinds)[count < cells[sheet % n_kinds]]] = False
    label = np.where(whole[kind], kind, n_kinds + np.arange(model.n_cells))
    return np.asarray(np.unique(label, return_inverse=True)[1].reshape(-1), dtype=np.int64)


def _same(candidate: Ints, member: Ints, n_columns: int, model: Model) -> Ints:
    """A number for each candidate, equal where the columns and the total are; columns come sorted by candidate."""
    size = np.bincount(candidate, minlength=model.n_candidates)
    start = np.cumsum(size) - size
    # Levels count whole numbers, so that totals are.
    key = np.unique(np.rint(model.total).astype(np.int64), return_inverse=True)[1].reshape(-1)
    for place in range(int(size.max(initial=0))):
        has = size > place
        own = np.zeros(len(key), dtype=np.int64)
        own[has] = member[start[has] + place] + 1
        key = np.unique(key * (n_columns + 1) + own, return_inverse=True)[1].reshape(-1)
    return np.asarray(key, dtype=np.int64)
