"""Criterion by criterion: where assessors part, what always comes out alike, what nobody uses."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from assess.desk.locked_turns import locked_source, locked_turns, may_see_all, rests_on

if TYPE_CHECKING:
    from assess.agreement.results import Estimate
    from assess.desk.score_sources import ScoreSource
    from assess.desk.session import Desk
    from assess.marking.results import Sheet

__all__ = ["AlwaysEqual", "CriteriaTable", "CriterionRow", "criteria_of"]

FEW_SHEETS = 5
NEARLY = 0.9
REPLICATES = 500


@dataclass(frozen=True)
class CriterionRow:
    """One criterion: how often two assessors gave the same level, or levels at most one apart.

    equal, within_one: with intervals; candidates are the cases. pairs: of scores on the same thing.
    unused: levels nobody gave in n_marks marks, single runs counted.
    """

    criterion: str
    label: str
    tasks: tuple[str, ...]
    equal: Estimate
    within_one: Estimate
    pairs: int
    unused: tuple[int, ...]
    n_marks: int


@dataclass(frozen=True)
class AlwaysEqual:
    """Two criteria of a task, by their labels, and the share of n sheets holding both that give both the same level."""

    task: str
    first: str
    second: str
    share: float
    n: int


@dataclass(frozen=True)
class CriteriaTable:
    """The criteria, the lowest agreement first; pairs of criteria, the most alike first; must-nots nobody reported.

    closest: the most alike pair on enough sheets, also where it is not alike enough to stand in `alike`.
    told: what all of it rests on, with little data that it is little; then what was not used.
    """

    rows: tuple[CriterionRow, ...]
    alike: tuple[AlwaysEqual, ...]
    closest: AlwaysEqual | None
    silent_must_nots: tuple[str, ...]
    n_sheets: int
    told: tuple[str, ...]


def criteria_of(desk: Desk, progress: Callable[[float], bool] | None = None) -> CriteriaTable:
    """The table of the open course; only turns count of which everybody has locked every sheet.

    Raises Refusal where this may not be seen or nothing is there yet; Cancelled when `progress` answers False.
    """
    may_see_all(desk)
    source = locked_source(desk)
    sheets = [sheet for turn in locked_turns(desk) for sheet in turn]
    at: dict[str, list[int]] = defaultdict(list)
    for number, name in enumerate(source.criterion or []):
        at[name].append(number)
    rows = []
    for done, name in enumerate(sorted(at)):
        if progress is not None and not progress(done / len(at)):
            from assess.agreement.bootstrap import Cancelled

            raise Cancelled
        rows.append(_row(desk, source, name, at[name], sheets))
    rows.sort(key=lambda row: (row.equal.estimate if row.equal.estimate is not None else 2, row.criterion))
    pairs = _pairs(desk, sheets)
    return CriteriaTable(
        tuple(rows),
        tuple(pair for pair in pairs if pair.share >= NEARLY),
        pairs[0] if pairs else None,
        _silent(desk, sheets),
        len(sheets),
        (rests_on(source), *source.warnings),
    )


def _row(desk: Desk, source: ScoreSource, name: str, at: Sequence[int], sheets: Iterable[Sheet]) -> CriterionRow:
    from assess.agreement.bootstrap import Bootstrap
    from assess.agreement.plain import plain_agreement
    from assess.agreement.scores import scores_of
    from assess.agreement.tally import tally_of

    task = source.task or []
    scores = scores_of(
        [source.candidate[row] for row in at], [source.assessor[row] for row in at], [source.score[row] for row in at],
        task=[task[row] for row in at], levels=source.levels, line=source.line,
    )  # fmt: skip
    tally = tally_of(scores)
    equal, near, _ = plain_agreement(scores, tally, Bootstrap(REPLICATES))
    tasks = tuple(sorted({task[row] for row in at}))
    given = {level for sheet in sheets for level in _given(sheet, name)}
    unused = tuple(level for level in desk.rubric_for(tasks[0]).scale.levels if level not in given)
    return CriterionRow(name, _label(desk, tasks[0], name), tasks, equal, near, tally.n_pairs, unused, len(at))


def _given(sheet: Sheet, criterion: str) -> set[Fraction]:
    """The levels a sheet gives a criterion, in whatever run."""
    marks = (mark for mark in (*sheet.marks, *sheet.runs) if mark.criterion == criterion)
    return {value for mark in marks if (value := mark.value) is not None}


def _label(desk: Desk, task: str, criterion: str) -> str:
    described = desk.rubric_for(task).criteria.get(criterion)
    return described.label if described else criterion


def _pairs(desk: Desk, sheets: Iterable[Sheet]) -> list[AlwaysEqual]:
    """Every two criteria of a task that stand together on enough sheets, the most alike first."""
    counts: dict[tuple[str, str, str], list[int]] = defaultdict(lambda: [0, 0])
    for sheet in sheets:
        given = [(mark.criterion, mark.value) for mark in sheet.marks if mark.value is not None]
        for (one, level), (two, other) in combinations(given, 2):
            count = counts[sheet.task, one, two]
            count[0] += level == other
            count[1] += 1
    found = [
        AlwaysEqual(task, _label(desk, task, one), _label(desk, task, two), same / n, n)
        for (task, one, two), (same, n) in counts.items()
        if n >= FEW_SHEETS
    ]
    return sorted(found, key=lambda pair: (-pair.share, -pair.n, pair.task, pair.first, pair.second))


def _silent(desk: Desk, sheets: Iterable[Sheet]) -> tuple[str, ...]:
    """Must-nots of the rubrics in force that none of these sheets reports."""
    known = {rule.id for task in desk.course.tasks for rule in desk.rubric_for(task.id).must_nots}
    reported = {report.must_not for sheet in sheets for report in sheet.breaches}
    return tuple(sorted(known - reported))
