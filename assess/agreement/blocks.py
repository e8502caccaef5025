"""Scores cut into independent blocks, like blocks held once: what makes a likelihood of a million scores quick.

Every source of variance is a partition of the scores. Those inside one facet (the one of most levels, mostly the
candidate) make the covariance of the scores block-diagonal; blocks of the same shape share one inverse. The other
sources are partitions of `cells`, the distinct combinations of their levels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.sparse import csr_array

from assess.agreement.scores import Floats, Ints

__all__ = ["Blocks", "Inverses", "Shapes", "Sums", "TooMany", "blocks_of", "compact"]

MOST_ENTRIES = 6_000_000
"""Scores by scores of all different patterns: beyond it memory would run short."""
_SMALL = 48


class TooMany(ValueError):
    """More combinations of levels than can be worked with; the message says which."""


@dataclass(frozen=True, eq=False)
class Shapes:
    """All blocks of n scores.

    rows: the scores of every block, shape (m, n). pattern: the pattern of each block, (m,), blocks of one pattern
    having the same cells and the same shape; cells: the cells of each pattern, (g, n); shape: its shape, (g,).
    equal: for each source inside, 1 where two scores of a block share its level, (s, n, n) per source. times: blocks
    of each shape, (s,). start: where the shapes' inverses begin in the long vector of all of them.
    """

    n: int
    rows: Ints
    pattern: Ints
    cells: Ints
    shape: Ints
    equal: tuple[Floats, ...]
    times: Floats
    start: int


@dataclass(frozen=True, eq=False)
class Inverses:
    """Functions of the inverses of all block covariances H = I + sum of gamma_k E_k, one long column for each.

    columns: H^-1, then H^-1 E_k H^-1 for each source inside, then H^-1 E_j H^-1 E_k H^-1 (made symmetric) for each
    pair j <= k, shape (size, 1 + s + s(s+1)/2). log_determinant; traces: of H^-1 E_k; pairs: of H^-1 E_j H^-1 E_k.
    """

    columns: Floats
    log_determinant: float
    traces: Floats
    pairs: Floats


@dataclass(frozen=True, eq=False)
class Sums:
    """Scores as they enter the likelihood: score by cell, (cells, size), and score by score, (size,)."""

    by_cell: csr_array
    squares: Floats


@dataclass(frozen=True, eq=False)
class Blocks:
    """The blocks of one design. spread: inverses to cells by cells, sparse (cells * cells, size).

    cell: the cell of every score; n_cells: how many there are; levels: for each source outside, the level of every
    cell. inside, outside: which of the sources are which.
    """

    groups: tuple[Shapes, ...]
    spread: csr_array
    cell: Ints
    n_cells: int
    levels: tuple[Ints, ...]
    inside: tuple[int, ...]
    outside: tuple[int, ...]
    size: int
    n: int

    def inverses(self, gamma: Floats) -> Inverses:
        """Inverses at the ratios gamma of the sources inside to the error, shape (s,)."""
        s = len(gamma)
        pairs = [(j, k) for j in range(s) for k in range(j + 1)]
        columns = np.empty((self.size, 1 + s + len(pairs)))
        log_determinant, traces, second = 0.0, np.zeros(s), np.zeros((s, s))
        for group in self.groups:
            here = slice(group.start, group.start + len(group.times) * group.n**2)
            inverse, log = _inverse(group, gamma)
            log_determinant += float(log @ group.times)
            columns[here, 0] = inverse.ravel()
            half = [inverse @ equal for equal in group.equal]
            for k in range(s):
                traces[k] += float(np.trace(half[k], axis1=1, axis2=2) @ group.times)
                columns[here, 1 + k] = (half[k] @ inverse).ravel()
            for place, (j, k) in enumerate(pairs):
                second[j, k] += float(np.einsum("sab,sba,s->", half[j], half[k], group.times))
                product = half[j] @ (half[k] @ inverse)
                columns[here, 1 + s + place] = ((product + product.transpose(0, 2, 1)) / 2).ravel()
        return Inverses(columns, log_determinant, traces, np.tril(second) + np.tril(second, -1).T)

    def sums(self, value: Floats) -> Sums:
        """The sums of scores, in the order of the scores the blocks were made of."""
        squares = np.zeros(self.size)
        row, column, data = [], [], []
        for group in self.groups:
            y, n, patterns = value[group.rows], group.n, len(group.cells)
            here = slice(group.start, group.start + len(group.times) * n * n)
            squares[here] = _products(y, group.shape[group.pattern], len(group.times)).ravel()
            of_pattern = np.column_stack([np.bincount(group.pattern, weights=s, minlength=patterns) for s in y.T])
            row.append(np.repeat(group.cells.ravel(), n))
            column.append(_places(group).ravel())
            data.append(np.repeat(of_pattern[:, None, :], n, axis=1).ravel())
        return Sums(_summed(row, column, data, (self.n_cells, self.size)), squares)


def _places(group: Shapes) -> Ints:
    """Where the inverse of each pattern stands in the long vector, shape (g, n, n)."""
    n = group.n
    return np.asarray(group.start + group.shape[:, None, None] * n * n + np.arange(n * n).reshape(1, n, n))


def _inverse(group: Shapes, gamma: Floats) -> tuple[Floats, Floats]:
    """Inverse of every shape's covariance and the logarithm of its determinant."""
    h = np.zeros((len(group.times), group.n, group.n))
    for ratio, equal in zip(gamma, group.equal, strict=True):
        h += ratio * equal
    h += np.eye(group.n)
    if group.n > _SMALL:
        root = np.linalg.cholesky(h)
        return np.linalg.inv(h), 2 * np.log(np.diagonal(root, axis1=1, axis2=2)).sum(axis=1)
    log = np.zeros(len(h))
    at_once = max(1, 32768 // group.n**2)
    for start in range(0, len(h), at_once):
        here = slice(start, start + at_once)
        log[here] = _invert_in_place(h[here])
    return h, log


def _invert_in_place(h: Floats) -> Floats:
    """Many small positive definite matrices inverted together; returns the logarithms of their determinants.

    Gauss-Jordan; no pivots are needed. A library call for each matrix costs several times as much.
    """
    log = np.zeros(len(h))
    for k in range(h.shape[1]):
        pivot = h[:, k, k].copy()
        log += np.log(pivot)
        row, column = h[:, k, :] / pivot[:, None], h[:, :, k].copy()
        h -= column[:, :, None] * row[:, None, :]
        h[:, k, :], h[:, :, k] = row, -column / pivot[:, None]
        h[:, k, k] = 1 / pivot
    return log


def _products(y: Floats, shape: Ints, shapes: int) -> Floats:
    """Sums of score times score over the blocks of each shape, (shapes, n, n)."""
    n = y.shape[1]
    order = np.argsort(shape, kind="stable")
    starts = np.searchsorted(shape[order], np.arange(shapes + 1))
    if shapes <= 64:
        parts = [y[order[a:b]].T @ y[order[a:b]] for a, b in pairwise(starts)]
        return np.stack(parts)
    sums = np.zeros((shapes, n, n))
    for i in range(n):
        for j in range(n):
            sums[:, i, j] = np.bincount(shape, weights=y[:, i] * y[:, j], minlength=shapes)
    return sums


def _summed(row: list[Ints], column: list[Ints], data: list[Floats], shape: tuple[int, int]) -> csr_array:
    """A sparse matrix from its entries, equal places added."""
    places = (np.concatenate(row), np.concatenate(column))
    return csr_array((np.concatenate(data), places), shape=shape)


def compact(*columns: Ints) -> tuple[Ints, int]:
    """Numbers for the distinct rows of several columns, in their order, and how many there are."""
    key = np.zeros(len(columns[0]), dtype=np.int64)
    for column in columns:
        width = int(column.max(initial=0)) + 1
        if int(key.max(initial=0)) + 1 > (2**62) // width:
            key = np.unique(key, return_inverse=True)[1].reshape(-1)
        key = key * width + column
    top = int(key.max(initial=0)) + 1
    if top <= 8 * len(key) + 1000:
        seen = np.zeros(top, dtype=bool)
        seen[key] = True
        place = np.cumsum(seen) - 1
        return place[key], int(seen.sum())
    distinct, index = np.unique(key, return_inverse=True)
    return index.reshape(-1).astype(np.int64), len(distinct)


def blocks_of(block: Ints, sources: Sequence[Ints], inside: Sequence[int]) -> Blocks:
    """Blocks of scores; raises TooMany. block: the block of each score; sources: its level in every source.

    inside: the sources each of whose levels lies in one block. The order of the scores does not matter.
    """
    n = len(block)
    outside = tuple(k for k in range(len(sources)) if k not in inside)
    cell, n_cells = compact(*[sources[k] for k in outside]) if outside else (np.zeros(n, dtype=np.int64), 1)
    inner = [compact(sources[k])[0] for k in inside]
    order = np.lexsort((*reversed(inner), cell, block))
    sizes = np.bincount(compact(block)[0])
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    groups: list[Shapes] = []
    row: list[Ints] = []
    column: list[Ints] = []
    data: list[Floats] = []
    start = 0
    for size in np.unique(sizes):
        rows = order[starts[sizes == size][:, None] + np.arange(size)]
        group, (in_row, in_column, often) = _shapes(rows, cell, inner, start, n_cells)
        groups.append(group)
        row.append(in_row)
        column.append(in_column)
        data.append(often)
        start += len(group.times) * int(size) ** 2
    spread = _summed(row, column, data, (n_cells * n_cells, start))
    levels = tuple(_level_of_cell(sources[k], cell, n_cells) for k in outside)
    return Blocks(tuple(groups), spread, cell, n_cells, levels, tuple(inside), outside, start, n)


def _level_of_cell(source: Ints, cell: Ints, n_cells: int) -> Ints:
    level = np.zeros(n_cells, dtype=np.int64)
    level[cell] = source
    return level


def _shapes(
    rows: Ints, cell: Ints, inner: Sequence[Ints], start: int, n_cells: int
) -> tuple[Shapes, tuple[Ints, Ints, Floats]]:
    """Blocks of one size: their shapes, and where each shape's inverse goes among cells by cells."""
    n = rows.shape[1]
    # Two scores of a block are alike in a source when they carry the same first place of its level.
    first = np.concatenate([_first_places(source[rows]) for source in inner], axis=1) if inner else rows[:, :0]
    pattern, patterns = compact(*cell[rows].T, *first.T)
    if patterns * n * n > MOST_ENTRIES:
        raise TooMany(f"{patterns} different patterns of {n} scores each")
    kept = np.zeros(patterns, dtype=np.int64)
    kept[pattern] = np.arange(len(pattern))
    first = first[kept]
    shape, n_shapes = compact(*first.T) if first.shape[1] else (np.zeros(patterns, dtype=np.int64), 1)
    one = np.zeros(n_shapes, dtype=np.int64)
    one[shape] = np.arange(patterns)
    labels = first[one].reshape(n_shapes, len(inner), n)
    equal = tuple((labels[:, k, :, None] == labels[:, k, None, :]).astype(np.float64) for k in range(len(inner)))
    often = np.bincount(pattern).astype(np.float64)
    times = np.bincount(shape, weights=often, minlength=n_shapes).astype(np.float64)
    group = Shapes(n, rows, pattern, cell[rows[kept]], shape, equal, times, start)
    row = group.cells[:, :, None] * n_cells + group.cells[:, None, :]
    return group, (row.ravel(), _places(group).ravel(), np.repeat(often, n * n))


def _first_places(levels: Ints) -> Ints:
    """For each score of each block the place of the first score of the block with the same level, shape (m, n)."""
    first = np.empty(levels.shape, dtype=np.int64)
    at_once = max(1, 10_000_000 // levels.shape[1] ** 2)
    for start in range(0, len(levels), at_once):
        some = levels[start : start + at_once]
        first[start : start + at_once] = (some[:, :, None] == some[:, None, :]).argmax(axis=2)
    return first
