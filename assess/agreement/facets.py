"""Scores as a design: which facets there are, which is inside which, and the sources of variance that follow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from assess.agreement.blocks import compact
from assess.agreement.network import in_pieces, pieces_of
from assess.agreement.scores import Floats, Ints, Scores

__all__ = ["ASSESSOR", "CANDIDATE", "TASK", "Design", "Source", "design_of"]

CANDIDATE, TASK, ASSESSOR = 0, 1, 2
"""Numbers of the facets in the sets below; the second one is a criterion where there are no tasks."""


@dataclass(frozen=True, eq=False)
class Source:
    """A source of variance. facets: the facets a level of it stands for; index: the level of every score."""

    name: str
    facets: frozenset[int]
    index: Ints
    levels: int


@dataclass(frozen=True, eq=False)
class Design:
    """The design of a set of scores, criteria averaged within task where both are there.

    text: the design in words; facet: "task", "criterion" or "". sources: all of them, the last with the error.
    value: one score for every candidate, task and assessor. levels: how many of each facet there are, 1 where there is
    no second facet. complete: whether every combination the design has was scored, equally many in each.
    undefined: why nothing can be estimated; sources is then empty.
    """

    text: str
    facet: str
    sources: tuple[Source, ...]
    value: Floats
    levels: tuple[int, int, int]
    complete: bool = False
    warnings: tuple[str, ...] = ()
    undefined: str | None = None


@dataclass(frozen=True, eq=False)
class _Cells:
    index: dict[int, Ints]
    labels: dict[int, str]
    names: dict[int, tuple[str, ...]]
    value: Floats
    warnings: tuple[str, ...]

    @property
    def counts(self) -> dict[int, int]:
        return {f: len(self.names[f]) for f in self.index}


def design_of(scores: Scores) -> Design:
    """The design the data show: an assessor seen with one candidate or one task only is inside it."""
    cells = _cells(scores)
    levels = (len(scores.candidates), len(cells.names.get(TASK, ("",))), len(scores.assessors))
    facet = cells.labels.get(TASK, "")
    hosts = _hosts(cells)
    text = _name(frozenset(cells.index), hosts, cells.labels)
    reason = _reason(cells, hosts, facet)
    if reason is not None:
        return Design(text, facet, (), cells.value, levels, False, cells.warnings, reason)
    sources, warnings = _sources(cells, hosts)
    complete = _complete(cells, hosts, sources, len(cells.value)) and not warnings
    return Design(text, facet, sources, cells.value, levels, complete, (*cells.warnings, *warnings))


def _cells(scores: Scores) -> _Cells:
    order = _order(scores)
    index = {CANDIDATE: scores.candidate[order], ASSESSOR: scores.assessor[order]}
    labels = {CANDIDATE: "candidate", ASSESSOR: "assessor"}
    names = {CANDIDATE: scores.candidates, ASSESSOR: scores.assessors}
    value, warnings = scores.value[order], []
    has_task, has_criterion = (any(n != "" for n in named) for named in (scores.tasks, scores.criteria))
    if has_task or has_criterion:
        labels[TASK] = "task" if has_task else "criterion"
        index[TASK] = (scores.task if has_task else scores.criterion)[order]
        names[TASK] = scores.tasks if has_task else scores.criteria
    if has_task and has_criterion and scores.n_scores:
        cell, n = compact(index[CANDIDATE], index[TASK], index[ASSESSOR])
        many = np.bincount(cell, minlength=n)
        value = np.bincount(cell, weights=value, minlength=n) / many
        first = np.zeros(n, dtype=np.int64)
        first[cell] = np.arange(len(cell))
        index = {f: column[first] for f, column in index.items()}
        if many.min() < many.max():
            warnings.append(
                f"criteria are averaged within task, over {many.min()} to {many.max()} of them: scores that rest on"
                " fewer criteria count like the others"
            )
    return _Cells(index, labels, names, value, tuple(warnings))


def _order(scores: Scores) -> Ints | slice:
    """Units and assessors in turn, so that sums do not depend on the order the scores came in."""
    key = scores.unit * max(1, len(scores.assessors)) + scores.assessor
    return slice(None) if (np.diff(key) > 0).all() else np.argsort(key)


def _hosts(cells: _Cells) -> dict[int, frozenset[int]]:
    """For each facet the facets it lies in: those of which each of its levels is seen with one only."""
    found = {}
    for inner in cells.index:
        own = cells.index[inner]
        found[inner] = frozenset(
            outer
            for outer in cells.index
            if outer != inner and cells.counts[outer] > 1 and _with_one(own, cells.index[outer])
        )
    return found


def _with_one(inner: Ints, outer: Ints) -> bool:
    return len(inner) > 0 and compact(inner, outer)[1] == compact(inner)[1]


def _name(facets: frozenset[int], hosts: dict[int, frozenset[int]], labels: dict[int, str]) -> str:
    hosts = {f: frozenset(host for host in hosts[f] if f not in hosts[host]) for f in hosts}
    heads = [f for f in sorted(facets) if not any(f in hosts[other] for other in facets)]
    parts = []
    for head in heads:
        inside = [labels[f] for f in sorted(hosts[head] & facets)]
        part = labels[head] + (f" in {' x '.join(inside)}" if inside else "")
        parts.append(f"({part})" if inside and len(heads) > 1 else part)
    return " x ".join(parts)


def _reason(cells: _Cells, hosts: dict[int, frozenset[int]], facet: str) -> str | None:
    if len(cells.value) == 0:
        return "There are no scores."
    for f, count in sorted(cells.counts.items()):
        if count == 1:
            return (
                f"There is only one {cells.labels[f]} ({cells.names[f][0]}): how much one differs from another cannot"
                " be told from a single one."
                + (f" Without the column {facet} the other sources can be looked at." if f == TASK else "")
            )
    if np.ptp(cells.value) == 0:
        return "All scores are equal: there are no differences whose source could be looked for."
    if TASK in hosts[CANDIDATE]:
        return f"Every candidate did one {facet} only: candidates and {facet}s cannot be told apart."
    if TASK in hosts[ASSESSOR] and ASSESSOR in hosts[TASK]:
        return f"Every {facet} has its own single assessor: assessors and {facet}s cannot be told apart."
    if CANDIDATE not in hosts[ASSESSOR]:
        pieces = pieces_of(cells.index[CANDIDATE], cells.index[ASSESSOR], cells.names[ASSESSOR])
        if len(pieces) > 1:
            return in_pieces(pieces, "candidate")
    elif CANDIDATE in hosts[ASSESSOR] and ASSESSOR in hosts[CANDIDATE]:
        return "Every candidate has a single assessor seen with nobody else: candidates and assessors are one."
    return None


def _sets(cells: _Cells, hosts: dict[int, frozenset[int]]) -> Iterator[frozenset[int]]:
    """The sources as sets of facets, smaller ones first: a facet brings along what it lies in."""
    seen = set()
    facets = sorted(cells.index)
    for size in range(1, len(facets) + 1):
        for some in combinations(facets, size):
            whole = frozenset(some).union(*(hosts[f] for f in some))
            if whole not in seen:
                seen.add(whole)
    yield from sorted(seen, key=lambda whole: (len(whole), sorted(whole)))


def _sources(cells: _Cells, hosts: dict[int, frozenset[int]]) -> tuple[tuple[Source, ...], tuple[str, ...]]:
    """The sources, those that carry one score each or repeat another counted with the error or that other."""
    n = len(cells.value)
    kept: list[Source] = []
    warnings = []
    *sets, whole = _sets(cells, hosts)
    for facets in sets:
        index, levels = compact(*[cells.index[f] for f in sorted(facets)])
        name = _name(facets, hosts, cells.labels)
        same = [one for one in kept if one.levels == levels and compact(one.index, index)[1] == levels]
        if levels == n:
            warnings.append(
                f"{name} has one score for each level here: it cannot be told from error and counts as such"
            )
        elif same:
            warnings.append(f"{name} cannot be told from {same[0].name} here and counts as that")
        else:
            kept.append(Source(name, facets, index, levels))
    error = Source(f"{_name(whole, hosts, cells.labels)}, with error", whole, np.arange(n), n)
    return (*kept, error), tuple(warnings)


def _complete(cells: _Cells, hosts: dict[int, frozenset[int]], sources: tuple[Source, ...], n: int) -> bool:
    """Whether every source has as many levels as its facets allow, each facet as many inside each of its hosts."""
    most = {}
    for f, own in cells.index.items():
        if hosts[f]:
            host, _ = compact(*[cells.index[h] for h in sorted(hosts[f])])
            of_level = np.zeros(cells.counts[f], dtype=np.int64)
            of_level[own] = host
            most[f] = int(np.bincount(of_level).max())
        else:
            most[f] = cells.counts[f]
    return all(source.levels == int(np.prod([most[f] for f in source.facets])) for source in sources)
