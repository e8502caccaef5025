"""Which assessors are joined by candidates they share: without that, severity and candidates are one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from assess.agreement.scores import Ints

__all__ = ["in_pieces", "pieces_of"]


def pieces_of(rows: Ints, columns: Ints, names: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """The columns' names by connected piece of the graph in which each score joins its row and its column."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import connected_components

    n_rows, n_columns = int(rows.max(initial=-1)) + 1, len(names)
    size = n_rows + n_columns
    graph = csr_array((np.ones(len(rows)), (rows, columns + n_rows)), shape=(size, size))
    _, label = connected_components(graph, directed=False)
    found: dict[int, list[str]] = {}
    for name, piece in zip(names, label[n_rows:], strict=True):
        found.setdefault(int(piece), []).append(name)
    return tuple(sorted(tuple(sorted(piece)) for piece in found.values()))


def in_pieces(pieces: Sequence[Sequence[str]], shared: str) -> str:
    """The reason when there is more than one piece. shared: what they do not have in common, such as "candidate"."""
    shown = "; ".join(", ".join(piece[:6]) + (", ..." if len(piece) > 6 else "") for piece in pieces[:6])
    more = " and more" if len(pieces) > 6 else ""
    return (
        f"The assessors fall into {len(pieces)} groups that have no {shared} in common ({shown}{more}): whether one"
        f" group is stricter or had weaker candidates cannot be told. A {shared} scored by two groups joins them."
    )
