"""The command about how hard each assessor marks."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from assess.cli.options import As, Json, Plain

__all__ = ["add_to"]

Sources = Annotated[
    list[Path],
    typer.Argument(
        metavar="SOURCE",
        help="Course folders, or one score table: CSV with the columns candidate, assessor, score and, if there, "
        "task, criterion.",
    ),
]


Method = Annotated[
    Literal["marginal", "joint"],
    typer.Option("--method", help="marginal: candidates come from a normal distribution; joint: no such assumption."),
]
Model = Annotated[
    Literal["rating_scale", "partial_credit"],
    typer.Option("--model", help="Steps between levels shared by all criteria, or of each criterion."),
]
Levels = Annotated[
    str | None,
    typer.Option("--levels", metavar="1,2,3,4,5", help="The scale; of courses the rubric's unless given."),
]
SameAssessors = Annotated[
    bool, typer.Option("--same-assessors", help="An assessor's id means the same person in all these courses.")
]


def severity(
    sources: Sources,
    method: Method = "marginal",
    model: Model = "rating_scale",
    levels: Levels = None,
    same_assessors: SameAssessors = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say how hard each assessor marks, whoever they marked (many-facet Rasch).

    Assessors are compared through candidates they share; in separate groups there is no answer, and the groups are
    named. Of courses only locked sheets are read, and only where everybody of a turn has locked.
    """
    from assess.cli.say import show_json, show_lines, told_share
    from assess.desk.agreeing import levels_from
    from assess.desk.severity import severity_document, severity_of

    found = severity_of(
        sources,
        levels=None if levels is None else levels_from(levels),
        method=method,
        model=model,
        same_assessors=same_assessors,
        progress=told_share("working out severities"),
    )
    if as_json:
        show_json(severity_document(found))
    else:
        from assess.cli.severity_lines import severity_lines

        show_lines(severity_lines(found))
    # Without any estimate the result is why there is none.
    return 0 if found.undefined is None else 1


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("severity")(severity)
