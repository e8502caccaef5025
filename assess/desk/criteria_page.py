"""The criteria of a course at the end of a season, as a page: where assessors part, what is alike, what nobody uses."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.reports.document import Block, Document, Listing, Section, Table, Text

if TYPE_CHECKING:
    from assess.desk.criteria import AlwaysEqual, CriteriaTable, CriterionRow
    from assess.desk.session import Desk

__all__ = ["criteria_page"]

CAUTION = "Numbers about marks, not about people: a reason to look together at a criterion, its words and its task."


def criteria_page(desk: Desk) -> Document:
    """The page of one course; only turns that everybody has locked are read. Raises what `criteria_of` raises.

    For a director, and for assessors once everything is locked and released.
    """
    from assess.desk.criteria import criteria_of
    from assess.desk.result_page import newest_day
    from assess.records.audience import AUDIENCES

    found = criteria_of(desk)
    return Document(
        title="Criteria: where assessors part",
        about=f"{desk.course.title}, {desk.course.id}",
        audience=AUDIENCES["panel"].capitalize(),
        dated=newest_day(desk),
        sections=(
            Section("What it rests on", tuple(Text(f"{told[0].upper()}{told[1:]}") for told in found.told)),
            Section("Criterion by criterion, the lowest agreement first", (_table(found),)),
            Section("What nobody used, and what always comes out alike", tuple(_beside(found))),
        ),
        closing=(CAUTION,),
    )


def _table(found: CriteriaTable) -> Table:
    columns = ("Criterion", "Tasks", "Same level", "95 % interval", "Same or next", "Pairs", "Candidates", "Not given")
    rows = tuple(_row(row) for row in found.rows)
    return Table("Of pairs of marks on the same thing", columns, rows, frozenset({2, 4, 5, 6}))


def _row(row: CriterionRow) -> tuple[str, ...]:
    ends = row.equal.ci95
    between = "-" if ends is None else f"{100 * ends[0]:.0f} to {100 * ends[1]:.0f} %"
    return (
        row.label, ", ".join(row.tasks), _percent(row.equal.estimate), between, _percent(row.within_one.estimate),
        str(row.pairs), str(row.equal.n_candidates), ", ".join(map(str, row.unused)) or "-",
    )  # fmt: skip


def _percent(share: float | None) -> str:
    return "-" if share is None else f"{100 * share:.0f} %"


def _beside(found: CriteriaTable) -> Iterator[Block]:
    yield Text(f"Not given: levels that stand on none of {sum(row.n_marks for row in found.rows)} marks.")
    yield Text("Criteria with nearly always the same level on a sheet:")
    if found.alike:
        yield Listing(tuple(map(_pair, found.alike)))
    else:
        yield Text(f"None; the most alike: {_pair(found.closest)}." if found.closest else "Too few sheets to tell.")
    silent = ", ".join(found.silent_must_nots) or "none, each was reported"
    yield Text(f"Must-nots nobody reported, on {found.n_sheets} sheets: {silent}.")


def _pair(pair: AlwaysEqual) -> str:
    return f"{pair.task}: {pair.first} and {pair.second} on {100 * pair.share:.0f} % of {pair.n} sheets"
