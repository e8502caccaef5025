"""What a course gives as tables: scores, sheets, results, what was seen, and how alike its assessors mark.

Of sheets only locked ones, and of those only what this person may read; each row says for whom it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from decimal import Decimal
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING

from assess.desk.exporting import ScoreExport, export_scores, is_readable
from assess.records.audience import AUDIENCES, Audience
from assess.records.times import EPOCH, milliseconds
from assess.reports.table_file import Cell, Column, TableFile, TableSet

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.marking.results import ModuleResult

__all__ = ["course_tables", "score_rows", "with_audience"]

_TASK = Column("task", "text", "the task, by its id in the course")
_CANDIDATE = Column("candidate", "text", "the candidate, by id")
_ASSESSOR = Column("assessor", "text", "who marked, by id; for a candidate by a number of this table alone")
_AUDIENCE = Column("audience", "text", "for whom this table is")
_SCORES = (
    Column("day", "whole", "day of the course, the first is 1"),
    _TASK,
    Column("order", "whole", "place in the planned running order of the task, the first is 1"),
    _CANDIDATE,
    _ASSESSOR,
    Column("criterion", "text", "the criterion, by its id in the rubric"),
    Column("score", "number", "the level given; empty where there is none", "level"),
    Column("status", "text", "scored, not-observed or not-applicable, with the reason where one was given"),
    Column("rubric", "text", "the rubric version in force"),
)
_SHEETS = (
    _TASK,
    _CANDIDATE,
    _ASSESSOR,
    Column("value", "number", "weighted mean of the observed criteria; empty when too little was observed", "level"),
    Column("scored", "whole", "criteria with a level", "criteria"),
    Column("not_observed", "whole", "criteria that were not observed", "criteria"),
    Column("not_applicable", "whole", "criteria that did not apply", "criteria"),
    Column("locked_at", "instant", "when the sheet was locked"),
)
_RESULTS = (
    _CANDIDATE,
    Column("module", "text", "the module, by its id in the rubric"),
    Column("outcome", "text", "what the rules give on the marks as they stand; people decide. Empty while not shown"),
    Column("mean", "number", "mean of the sheet values, to four decimals", "level"),
    Column("mean_exact", "text", "the same mean as a fraction"),
    Column("line", "number", "the pass line", "level"),
    Column("band", "number", "half width of the band around the line; empty where the rubric gives none", "level"),
    Column("sheets", "whole", "observed sheets behind the mean", "sheets"),
    Column("reasons", "text", "why, in words; for the panel alone"),
)
_SEEN = (
    _TASK,
    _CANDIDATE,
    _ASSESSOR,
    Column("at", "instant", "when it was written down"),
    Column("criteria", "text", "the criteria it is about, by id"),
    Column("direction", "text", "for or against, where it was said"),
    Column("text", "text", "what was seen, in the assessor's words; empty where it was erased"),
)


def course_tables(desk: Desk, audience: Audience = "panel", about: str | None = None) -> TableSet:
    """The tables of a course for an audience: what is in them depends on it, and on who asks.

    panel: all six. research: without what was seen and without reasons. candidate (`about`): their own scores, and
    their modules once released to candidates. Raises what `export_scores` raises.
    """
    from assess.desk.statistics_tables import statistics_tables

    found = export_scores(desk, audience, about)
    tables = [TableFile("scores", "Scores of locked sheets", _SCORES, score_rows(found))]
    if not about:
        tables.append(TableFile("sheets", "Locked sheets", _SHEETS, tuple(_sheets(desk, found))))
    tables.append(TableFile("results", "What the rules give", _RESULTS, tuple(_results(desk, audience, about))))
    if audience == "panel":
        tables.append(TableFile("seen", "What was seen", _SEEN, tuple(_seen(desk, found))))
    if not about:
        tables += statistics_tables(desk.folder.root)
    return TableSet(
        course=desk.course.id,
        title=desk.course.title,
        audience=audience,
        promise=AUDIENCES[audience],
        dated=_dated(desk, found),
        tables=tuple(with_audience(table, audience) for table in tables),
        left_out=tuple(_left_out(found)),
    )


def with_audience(table: TableFile, audience: Audience) -> TableFile:
    """The table with a last column that says for whom it is."""
    rows = tuple((*row, audience) for row in table.rows)
    return TableFile(table.name, table.title, (*table.columns, _AUDIENCE), rows, table.note)


def score_rows(found: ScoreExport) -> tuple[tuple[Cell, ...], ...]:
    """The rows of an export with numbers as numbers."""
    return tuple(
        (int(row["day"]), row["task"], int(row["order"]), row["candidate"], row["assessor"], row["criterion"],
         Decimal(row["score"]) if row["score"] else None, row["status"], row["rubric"])
        for row in found.rows
    )  # fmt: skip


def _sheets_of(found: ScoreExport) -> Iterator[tuple[tuple[str, str, str], list[dict[str, str]]]]:
    for key, rows in groupby(found.rows, key=lambda row: (row["task"], row["candidate"], row["assessor"])):
        yield key, list(rows)


def _sheets(desk: Desk, found: ScoreExport) -> Iterator[tuple[Cell, ...]]:
    from assess.marking.values import sheet_value

    for (task, candidate, who), rows in _sheets_of(found):
        sheet = desk.folded(task, candidate, who)
        value = sheet_value(sheet, desk.rubric_for(task))
        kinds = [row["status"] for row in rows]
        scored, away = kinds.count("scored"), kinds.count("not-applicable")
        yield (
            task, candidate, who, _decimal(value), scored, len(kinds) - scored - away, away, _moment(sheet.locked_at),
        )  # fmt: skip


def _results(desk: Desk, audience: Audience, about: str | None) -> Iterator[tuple[Cell, ...]]:
    from assess.desk.outcomes import HiddenModule

    for who, modules in desk.outcomes().candidates:
        for module, result in modules.items():
            if about and (who != about or not desk.sight.released(module, who, to="candidates")):
                continue
            if isinstance(result, HiddenModule):
                yield who, module, None, None, None, None, None, None, result.why if audience == "panel" else None
            else:
                yield _result(result, told=audience == "panel")


def _result(result: ModuleResult, *, told: bool) -> tuple[Cell, ...]:
    return (
        result.candidate,
        result.module,
        result.outcome,
        _decimal(result.mean),
        None if result.mean is None else str(result.mean),
        _decimal(result.line),
        None if result.band is None else Decimal(result.band),
        result.n_sheets,
        "; ".join(result.reasons) or None if told else None,
    )


def _seen(desk: Desk, found: ScoreExport) -> Iterator[tuple[Cell, ...]]:
    for (task, candidate, who), _ in _sheets_of(found):
        for item in desk.folded(task, candidate, who).observations:
            fact = item.fact
            yield (
                task, candidate, who, _moment(item.at), " ".join(fact.criteria) or None, fact.direction, fact.text,
            )  # fmt: skip


def _decimal(value: Fraction | None) -> Decimal | None:
    """The fraction to four decimals, half to even; exact values keep no more digits than they have."""
    if value is None:
        return None
    rounded = Decimal(round(value * 10_000)) / 10_000
    return rounded.quantize(Decimal("0.01")) if rounded == round(rounded, 2) else rounded


def _moment(at: str | None) -> datetime | None:
    if at is None:
        return None
    ms = milliseconds(at)
    return datetime.fromtimestamp(ms // 1000, tz=UTC).replace(microsecond=ms % 1000 * 1000)


def _dated(desk: Desk, found: ScoreExport) -> datetime:
    """The newest lock these tables rest on; the course's first day when they rest on none."""
    locks: Iterable[str | None] = ()
    if found.audience != "candidate":
        locks = (desk.folded(*key).locked_at for key, _ in _sheets_of(found))
    else:
        own = [(slot.task, slot.candidate) for slot in desk.course.allocation if slot.candidate in _candidates(found)]
        locks = (
            desk.folded(*slot, who).locked_at
            for slot in own
            for who in desk.markers(*slot)
            if is_readable(desk, *slot, who)
        )
    newest = max((at for at in locks if at), default=None)
    first = desk.course.day_date(1)
    return _moment(newest) or (datetime(first.year, first.month, first.day, tzinfo=UTC) if first else EPOCH)


def _candidates(found: ScoreExport) -> set[str]:
    return {row["candidate"] for row in found.rows}


def _left_out(found: ScoreExport) -> Iterator[str]:
    for task, candidate in found.open_slots:
        yield f"{task} of {candidate}: not locked by all, or not released."
