"""Criterion by criterion: where assessors part, what always comes out alike, what nobody uses."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.agreement.results import Estimate
    from assess.desk.score_sources import ScoreSource
    from assess.desk.session import Desk

__all__ = ["AlwaysEqual", "CriteriaTable", "CriterionRow", "criteria_of", "may_see_all"]

FEW_SHEETS = 5
NEARLY = 0.9
REPLICATES = 500


@dataclass(frozen=True)
class CriterionRow:
    """One criterion: how often two assessors gave the same level, or within one; levels nobody gave."""

    criterion: str
    label: str
    tasks: tuple[str, ...]
    equal: Estimate
    within_one: Estimate
    unused: tuple[int, ...]


@dataclass(frozen=True)
class AlwaysEqual:
    """Two criteria that get the same level on most sheets; share of n sheets that hold both."""

    task: str
    first: str
    second: str
    share: float
    n: int


@dataclass(frozen=True)
class CriteriaTable:
    """The criteria, the lowest agreement first; pairs of criteria, the most alike first; must-nots nobody reported.

    told: what was not used, and what to be careful about; with little data that first.
    """

    rows: tuple[CriterionRow, ...]
    alike: tuple[AlwaysEqual, ...]
    silent_must_nots: tuple[str, ...]
    told: tuple[str, ...]


def may_see_all(desk: Desk) -> None:
    """Raise Refusal unless this person may see numbers of the whole course: a director, or after the release."""
    if desk.role == "director":
        return
    areas = dict.fromkeys(task.area for task in desk.course.tasks)
    if any(desk.sight.module_word(area, candidate) for area in areas for candidate in desk.course.candidates):
        raise Refusal("this is shown to a director, and to assessors once everything is locked and released")


def criteria_of(desk: Desk, progress: Callable[[float], bool] | None = None) -> CriteriaTable:
    """The table of the open course; only slots that everybody has locked count.

    Raises Refusal where this may not be seen or nothing is there yet; Cancelled when `progress` answers False.
    """
    from assess.desk.score_sources import read_source

    may_see_all(desk)
    source = read_source([desk.folder.root])
    task, criterion = source.task or [], source.criterion or []
    by_criterion: dict[str, list[int]] = defaultdict(list)
    for row, name in enumerate(criterion):
        by_criterion[name].append(row)
    rows = []
    for done, name in enumerate(sorted(by_criterion)):
        if progress is not None and not progress(done / len(by_criterion)):
            from assess.agreement.bootstrap import Cancelled

            raise Cancelled
        rows.append(_row(desk, source, name, by_criterion[name], task))
    rows.sort(key=lambda row: (row.equal.estimate if row.equal.estimate is not None else 2, row.criterion))
    return CriteriaTable(tuple(rows), _alike(source), _silent(desk), source.warnings)


def _row(desk: Desk, source: ScoreSource, name: str, at: Sequence[int], task: Sequence[str]) -> CriterionRow:
    from assess.agreement.bootstrap import Bootstrap
    from assess.agreement.plain import plain_agreement
    from assess.agreement.scores import scores_of
    from assess.agreement.tally import tally_of

    scores = scores_of(
        [source.candidate[row] for row in at], [source.assessor[row] for row in at], [source.score[row] for row in at],
        task=[task[row] for row in at], levels=source.levels, line=source.line,
    )  # fmt: skip
    equal, near, _ = plain_agreement(scores, tally_of(scores), Bootstrap(REPLICATES))
    tasks = tuple(sorted({task[row] for row in at}))
    rubric = desk.rubric_for(tasks[0])
    given = {source.score[row] for row in at}
    described = rubric.criteria.get(name)
    unused = tuple(level for level in rubric.scale.levels if float(level) not in given)
    return CriterionRow(name, described.label if described else name, tasks, equal, near, unused)


def _alike(source: ScoreSource) -> tuple[AlwaysEqual, ...]:
    """Pairs of criteria of one task with the same level on nearly all sheets."""
    sheets: dict[tuple[str, str, str], dict[str, float]] = defaultdict(dict)
    task, criterion = source.task or [], source.criterion or []
    for row, level in enumerate(source.score):
        if level == level:
            sheets[task[row], source.candidate[row], source.assessor[row]][criterion[row]] = level
    counts: dict[tuple[str, str, str], list[int]] = defaultdict(lambda: [0, 0])
    for (where, _, _), given in sheets.items():
        for one, two in combinations(sorted(given), 2):
            count = counts[where, one, two]
            count[0] += given[one] == given[two]
            count[1] += 1
    found = [AlwaysEqual(*key, same / n, n) for key, (same, n) in counts.items()]
    found = [pair for pair in found if pair.n >= FEW_SHEETS and pair.share >= NEARLY]
    return tuple(sorted(found, key=lambda pair: (-pair.share, pair.task, pair.first, pair.second)))


def _silent(desk: Desk) -> tuple[str, ...]:
    """Must-nots of the rubrics in force that no locked sheet of the course reports."""
    known = {rule.id for task in desk.course.tasks for rule in desk.rubric_for(task.id).must_nots}
    reported = {
        report.must_not
        for task, candidate, assessor in desk.shelf.sheet_keys()
        if desk.course.task(task) is not None and desk.sight.slot_open(task, candidate)
        for report in desk.folded(task, candidate, assessor).breaches
    }
    return tuple(sorted(known - reported))
