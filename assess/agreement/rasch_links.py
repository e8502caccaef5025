"""What joins assessors: whose severity can be compared, how thin the joints are, and what would join the rest.

Sharing criteria joins nobody; sharing candidates does, unless every assessor keeps to criteria or tasks of their own.
Severities can be compared when their difference can be told from the scores whatever candidates, criteria and tasks
are like; that is a question of linear algebra (Weeks & Williams 1964, Technometrics 6, 319-324, for connectedness).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assess.agreement.network import in_pieces, pieces_of
from assess.agreement.scores import Floats, Ints, Scores

__all__ = ["Links", "links_of"]

ENOUGH = 5
"""Candidates that must join two groups before a difference between them is believed."""
_ZERO = 1e-9


@dataclass(frozen=True, slots=True)
class Links:
    """groups: assessors who can be compared. reason: why there are several, with what would join them, or None."""

    groups: tuple[tuple[str, ...], ...]
    reason: str | None
    warnings: tuple[str, ...]
    loose: bool = False


def links_of(scores: Scores) -> Links:
    """The groups of assessors of these scores, and how they hang together."""
    pieces = pieces_of(scores.candidate, scores.assessor, scores.assessors)
    if len(pieces) > 1:
        return Links(pieces, f"{in_pieces(pieces, 'candidate')} {_extra_sheet(scores, pieces)}", ())
    groups = _comparable(scores)
    if len(groups) > 1:
        shown = "; ".join(", ".join(group[:6]) + (", ..." if len(group) > 6 else "") for group in groups[:6])
        return Links(
            groups,
            f"The assessors fall into {len(groups)} groups ({shown}) that never score the same criterion or task of"
            " joined candidates: whether one group is stricter or their criteria are harder cannot be told. One sheet"
            f" would join them: {groups[0][0]} scores what {groups[1][0]} scores, for a candidate both have.",
            (),
        )
    warnings = _loose(scores)
    return Links(groups, None, warnings, bool(warnings))


def _extra_sheet(scores: Scores, pieces: tuple[tuple[str, ...], ...]) -> str:
    """The cheapest sheets that join all: the assessor with the fewest scores marks a candidate of the largest piece."""
    number = {name: i for i, name in enumerate(scores.assessors)}
    given = np.bincount(scores.assessor, minlength=len(scores.assessors))
    most = max(pieces, key=lambda piece: (int(given[[number[name] for name in piece]].sum()), piece))
    inside = np.isin(scores.assessor, [number[name] for name in most])
    seen = np.bincount(scores.candidate[inside], minlength=len(scores.candidates))
    candidate = scores.candidates[int(np.argmax(seen))]
    others = [min(piece, key=lambda name: (int(given[number[name]]), name)) for piece in pieces if piece != most]
    told = "; ".join(f"{name} marks {candidate}" for name in others[:6]) + ("; ..." if len(others) > 6 else "")
    return f"The cheapest way to join them is {'one sheet more' if len(others) == 1 else 'a sheet each'}: {told}."


def _comparable(scores: Scores) -> tuple[tuple[str, ...], ...]:
    """Assessors whose differences can be told from candidates, criteria and tasks, in groups."""
    n, j = len(scores.candidates), len(scores.assessors)
    facets = ((scores.assessor, j), (scores.criterion, len(scores.criteria)), (scores.task, len(scores.tasks)))
    gram, by_candidate = _gram(scores, facets)
    each = np.maximum(np.bincount(scores.candidate, minlength=n), 1)
    reduced = gram - by_candidate.T @ (by_candidate / each[:, None])
    values, vectors = np.linalg.eigh(reduced)
    free = vectors[:j, values < _ZERO * max(1.0, float(values[-1]))]
    # Assessors with the same entries in everything that is free move together: their differences are fixed.
    distance = free[:, None, :] - free[None, :, :]
    apart = np.sqrt((distance**2).sum(axis=2)) > 1e-6
    groups: dict[int, list[str]] = {}
    for i, name in enumerate(scores.assessors):
        groups.setdefault(int(np.argmin(apart[i])), []).append(name)
    return tuple(sorted(tuple(group) for group in groups.values()))


def _gram(scores: Scores, facets: tuple[tuple[Ints, int], ...]) -> tuple[Floats, Floats]:
    """How often ids of facets meet each other, and each candidate."""
    from scipy.sparse import csr_array

    rows, columns, start = [], [], 0
    for index, size in facets:
        rows.append(np.arange(scores.n_scores))
        columns.append(index + start)
        start += size
    ones = np.ones(scores.n_scores * len(facets))
    design = csr_array((ones, (np.concatenate(rows), np.concatenate(columns))), shape=(scores.n_scores, start))
    who = csr_array(
        (np.ones(scores.n_scores), (scores.candidate, np.arange(scores.n_scores))),
        shape=(len(scores.candidates), scores.n_scores),
    )
    return (design.T @ design).toarray(), (who @ design).toarray()


def _loose(scores: Scores) -> tuple[str, ...]:
    """Groups of assessors joined by fewer candidates than it takes, and candidates who are the only joint."""
    n, j = len(scores.candidates), len(scores.assessors)
    seen = np.zeros((j, n), dtype=bool)
    seen[scores.assessor, scores.candidate] = True
    members = [[i] for i in range(j)]
    while len(members) > 1:
        shared = seen.astype(np.int64) @ seen.T.astype(np.int64)
        np.fill_diagonal(shared, -1)
        a, b = sorted(divmod(int(np.argmax(shared)), len(members)))
        if shared[a, b] < ENOUGH:
            return _told(scores, members, seen)
        members[a] = sorted(members[a] + members[b])
        seen[a] |= seen[b]
        seen = np.delete(seen, b, axis=0)
        del members[b]
    return ()


def _told(
    scores: Scores, members: list[list[int]], seen: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
) -> tuple[str, ...]:
    names = [
        ", ".join(scores.assessors[i] for i in group[:6]) + (", ..." if len(group) > 6 else "") for group in members
    ]
    warnings = [
        f"the groups ({'; '.join(names[:6])}{'; ...' if len(names) > 6 else ''}) are joined by fewer than {ENOUGH}"
        " candidates: unless chance decided who marks whom, a difference in severity between them may be a difference"
        " in candidates"
    ]
    for a, name in enumerate(names):
        others = [b for b in range(len(names)) if b != a]
        by = np.flatnonzero(seen[a] & seen[others].any(axis=0))
        if len(by) == 1:
            warnings.append(f"{name} is joined to the others by one candidate alone: {scores.candidates[int(by[0])]}")
    return tuple(dict.fromkeys(warnings))
