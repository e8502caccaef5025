"""Commands that tell what came of the marks: results, export."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from assess.cli.options import As, CourseFolderPath, Json, Plain, ask_who

if TYPE_CHECKING:
    from assess.desk.exporting import ScoreExport

__all__ = ["add_to", "print_results"]


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
    to: Annotated[Literal["csv", "json"], typer.Option("--to", help="csv: a table; json: the same rows.")],
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="A file that does not exist yet; else it is printed.")
    ] = None,
    audience: Annotated[
        Literal["candidate", "panel", "research"], typer.Option("--for", help="Whom it is for; every row says it.")
    ] = "panel",
    about: Annotated[
        str | None, typer.Option("--about", metavar="ID", help="The candidate, with --for candidate.")
    ] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Write the scores of locked sheets as a table.

    Columns: day, task, order, candidate, assessor, criterion, score, status, rubric, audience; `assess import` reads
    it back. For one candidate: their own rows, once released to candidates, markers by number. Ids only, never names.
    """
    from assess.cli.say import complain, show_bytes, show_json
    from assess.desk.exporting import export_scores
    from assess.desk.opening import need_rubrics, open_course

    desk = open_course(course, as_id, ask=ask_who)
    try:
        need_rubrics(desk)
        found = export_scores(desk, audience, about)
    finally:
        desk.close()
    if found.open_slots:
        complain(f"{len(found.open_slots)} slots are left out, wholly or in part: not locked by all, or not released")
    if out is not None:
        _to_file(found, to, out, as_json=as_json)
    elif as_json or to == "json":
        show_json(found.as_json())
    else:
        show_bytes(found.as_csv().encode("utf-8"))
    return 0


def _to_file(found: ScoreExport, to: str, out: Path, *, as_json: bool) -> None:
    import json

    from assess.cli.say import show_json, show_lines
    from assess.desk.exporting import write_export

    content = found.as_csv() if to == "csv" else json.dumps(found.as_json(), ensure_ascii=False, indent=1) + "\n"
    write_export(content, out)
    if as_json:
        show_json({"course": found.course, "audience": found.audience, "out": str(out), "rows": len(found.rows)})
    else:
        show_lines([f"{len(found.rows)} rows written to {out}"])


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("results")(results)
    app.command("export")(export)
