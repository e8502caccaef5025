"""Commands that tell what came of the marks: results, export."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from assess.cli.options import As, CourseFolderPath, DryRun, Json, Plain, Replace, ask_who

if TYPE_CHECKING:
    from assess.desk.course_files import Form
    from assess.desk.exporting import ScoreExport
    from assess.records.audience import Audience
    from assess.records.errors import UsageError

__all__ = ["add_to", "print_results"]

To = Annotated[
    Literal["csv", "json", "workbook", "tables", "parquet", "calendar"],
    typer.Option(
        "--to",
        help="csv, json: the scores. Into a folder: workbook: all tables in one xlsx file; tables: CSV files with "
        "a description; parquet; calendar: the programme as an ics file.",
    ),
]
Out = Annotated[
    Path | None,
    typer.Option(
        "--out", metavar="PATH", help="csv, json: a file that does not exist yet, else it is printed. Else a folder."
    ),
]
For = Annotated[
    Literal["candidate", "panel", "research"], typer.Option("--for", help="Whom it is for; every row says it.")
]
About = Annotated[
    str | None,
    typer.Option("--about", metavar="ID", help="The candidate, with --for candidate. With calendar: an assessor."),
]
Raw = Annotated[
    bool, typer.Option("--raw", help="CSV for programs: nothing put before what a spreadsheet takes for a formula.")
]


def results(course: CourseFolderPath, as_id: As = None, as_json: Json = False, plain: Plain = False) -> int:
    """Print what the rules give for every candidate.

    One line for each module, on the marks as they stand; people decide.
    An assessor sees a module once the director has released it and their own sheets are locked.
    """
    return print_results(course, as_id, as_json=as_json)


def print_results(course: Path, as_id: str | None, *, as_json: bool) -> int:
    """Print the outcomes of the course in a folder; the exit code."""
    from assess.cli.courses import hint_at_findings
    from assess.cli.outcome_lines import outcome_lines
    from assess.cli.say import show_json, show_lines
    from assess.desk.adjusted import adjusted_of, with_adjusted
    from assess.desk.opening import need_rubrics, open_course
    from assess.desk.outcomes import results_json

    desk = open_course(course, as_id, ask=ask_who)
    try:
        need_rubrics(desk)
        hint_at_findings(desk, course)
        board = desk.outcomes()
        document = with_adjusted(results_json(board), adjusted_of(desk, board))
        if as_json:
            show_json(document)
        else:
            show_lines(outcome_lines(desk, document))
    finally:
        desk.close()
    return 0


def export(
    course: CourseFolderPath,
    to: To,
    out: Out = None,
    audience: For = "panel",
    about: About = None,
    raw: Raw = False,
    dry_run: DryRun = False,
    replace: Replace = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Write what a course holds as tables or as a calendar, of locked sheets only.

    Columns of the scores: day, task, order, candidate, assessor, criterion, score, status, rubric, audience; `assess
    import` reads them back. For one candidate: their own rows, once released to candidates, markers by number. Ids
    only, never names.
    """
    from assess.desk.opening import need_rubrics, open_course

    if to != "csv" and to != "json":
        return _into_folder(course, to, out, audience, about, as_id, (raw, dry_run, replace), as_json=as_json)
    if dry_run or replace or (raw and to == "json"):
        raise _only_for(to, raw=raw)
    desk = open_course(course, as_id, ask=ask_who)
    try:
        from assess.desk.exporting import export_scores

        need_rubrics(desk)
        found = export_scores(desk, audience, about)
    finally:
        desk.close()
    _scores(found, to, out, raw=raw, as_json=as_json)
    return 0


def _only_for(to: str, *, raw: bool) -> UsageError:
    from assess.records.errors import UsageError

    said = "--raw" if raw else "--dry-run and --replace"
    return UsageError(f"{said} say nothing with --to {to}", todo="leave them out")


def _into_folder(
    course: Path, form: Form, out: Path | None, audience: Audience, about: str | None, as_id: str | None,
    ways: tuple[bool, bool, bool], *, as_json: bool,
) -> int:  # fmt: skip
    """Show what would be written into the folder, then write it; ways: --raw, --dry-run, --replace."""
    from assess.cli.handing_out import hand_out
    from assess.desk.course_files import course_files
    from assess.desk.opening import need_rubrics, open_course
    from assess.records.errors import UsageError

    raw, dry_run, replace = ways
    if raw and form != "tables":
        raise _only_for(form, raw=True)
    if out is None:
        raise UsageError("into which folder?", todo="name one with --out")
    desk = open_course(course, as_id, ask=ask_who)
    try:
        need_rubrics(desk)
        planned = course_files(desk, form, out, audience, about, raw=raw)
    finally:
        desk.close()
    return hand_out(planned, dry_run=dry_run, replace=replace, as_json=as_json)


def _scores(found: ScoreExport, to: str, out: Path | None, *, raw: bool, as_json: bool) -> None:
    from assess.cli.say import complain, show_bytes, show_json

    if found.open_slots:
        complain(f"{len(found.open_slots)} slots are left out, wholly or in part: not locked by all, or not released")
    if out is not None:
        _to_file(found, to, out, raw=raw, as_json=as_json)
    elif as_json or to == "json":
        show_json(found.as_json())
    else:
        show_bytes(found.as_csv(raw=raw).encode("utf-8"))


def _to_file(found: ScoreExport, to: str, out: Path, *, raw: bool, as_json: bool) -> None:
    import json

    from assess.cli.say import show_json, show_lines
    from assess.desk.exporting import write_export

    content = found.as_csv(raw=raw) if to == "csv" else json.dumps(found.as_json(), ensure_ascii=False, indent=1) + "\n"
    write_export(content, out)
    if as_json:
        show_json({"course": found.course, "audience": found.audience, "out": str(out), "rows": len(found.rows)})
    else:
        show_lines([f"{len(found.rows)} rows written to {out}"])


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("results")(results)
    app.command("export")(export)
