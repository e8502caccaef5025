"""A course as files for other programs: a workbook, tables with their description, Parquet, a calendar."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from assess.desk.outgoing import Outgoing, Planned, look_ahead
from assess.records.audience import Audience
from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.reports.table_file import TableSet

__all__ = ["Form", "course_files"]

Form = Literal["workbook", "tables", "parquet", "calendar"]


def course_files(
    desk: Desk, form: Form, folder: Path, audience: Audience = "panel", about: str | None = None, *, raw: bool = False
) -> Planned:
    """The files of a form, as they would be written into a folder; nothing is written yet.

    raw: texts in CSV as they are, for programs. Raises what `course_tables` and `programme_calendar` raise, and
    Refusal for a folder inside the course, where nothing may lie that a person's erasing does not reach.
    """
    inside = desk.folder.root.resolve()
    if folder.resolve() == inside or inside in folder.resolve().parents:
        what = "lies inside the course: what is written there would go along with every copy of it"
        raise Refusal(what, where=str(folder), todo="choose a folder outside the course")
    if form == "calendar":
        return _calendar(desk, folder, audience, about)
    from assess.desk.course_tables import course_tables

    book = course_tables(desk, audience, about)
    make = {"workbook": _workbook, "parquet": _parquet}.get(form)
    files = make(book, about) if make else _tables(book, raw=raw)
    return look_ahead(tuple(files), folder, book.left_out)


def _calendar(desk: Desk, folder: Path, audience: Audience, about: str | None) -> Planned:
    from assess.desk.programme_calendar import programme_calendar
    from assess.reports.calendar_file import calendar_bytes

    found = programme_calendar(desk, audience, about)
    name = f"{found.course}-{about}.ics" if about else f"{found.course}.ics"
    what = f"calendar, {len(found.appointments)} appointments"
    return look_ahead((Outgoing(name, audience, what, calendar_bytes(found)),), folder, found.left_out)


def _workbook(book: TableSet, about: str | None) -> Iterator[Outgoing]:
    from assess.reports.workbook import workbook_bytes

    name = f"{book.course}-{about or book.audience}.xlsx"
    what = "workbook: " + ", ".join(table.name for table in book)
    yield Outgoing(name, book.audience, what, workbook_bytes(book), _empty(book))


def _tables(book: TableSet, *, raw: bool) -> Iterator[Outgoing]:
    from assess.reports.csv_file import csv_bytes
    from assess.reports.table_json import data_package_bytes, tables_bytes

    contents = {f"{table.name}.csv": csv_bytes(table, raw=raw) for table in book}
    for table, (name, content) in zip(book, contents.items(), strict=True):
        missing = (table.note,) if not table.rows and table.note else ()
        yield Outgoing(name, book.audience, f"{table.title.lower()}, {len(table.rows)} rows", content, missing)
    yield Outgoing("tables.json", book.audience, "the same tables in one document", tables_bytes(book))
    described = data_package_bytes(book, contents)
    yield Outgoing("datapackage.json", book.audience, "what the columns mean", described)


def _parquet(book: TableSet, _: str | None) -> Iterator[Outgoing]:
    from assess.reports.parquet_file import parquet_bytes
    from assess.reports.table_json import data_package_bytes

    contents = {f"{table.name}.parquet": parquet_bytes(table, book) for table in book}
    for table, (name, content) in zip(book, contents.items(), strict=True):
        missing = (table.note,) if not table.rows and table.note else ()
        yield Outgoing(name, book.audience, f"{table.title.lower()}, {len(table.rows)} rows", content, missing)
    described = data_package_bytes(book, contents)
    yield Outgoing("datapackage.json", book.audience, "what the columns mean", described)


def _empty(book: TableSet) -> tuple[str, ...]:
    return tuple(f"{table.name}: {table.note}" for table in book if not table.rows and table.note)
