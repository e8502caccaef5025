"""The command about what each assessor's marks look like beside those of the others."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from assess.cli.options import As, Json, Plain, ask_who

__all__ = ["add_to"]

Courses = Annotated[list[Path], typer.Argument(metavar="COURSE", help="One or more course folders.")]
Assessor = Annotated[str | None, typer.Option("--assessor", metavar="ID", help="The whole page of one assessor: A2.")]
SameAssessors = Annotated[
    bool,
    typer.Option(
        "--same-assessors",
        help="An assessor's id means the same person in all these courses; then two courses running are seen.",
    ),
]


def assessors(
    courses: Courses,
    assessor: Assessor = None,
    same_assessors: SameAssessors = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say what each assessor's marks look like beside the others': a reason to look together, never a sanction.

    A director sees all; an assessor only their own page, before a task or after it and never between candidates.
    Only turns that everybody has locked are read.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.assessors import assessors_document, assessors_of

    found = assessors_of(courses, as_id, assessor=assessor, same_assessors=same_assessors, ask=ask_who)
    if as_json:
        show_json(assessors_document(found))
        return 0
    from assess.cli.assessor_lines import assessors_lines, page_lines

    who = found.own or assessor
    show_lines(page_lines(found, who) if who else assessors_lines(found))
    return 0


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("assessors")(assessors)
