"""The command about how well a body's own marking holds, at planned intervals."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from assess.cli.options import As, Json, Plain, ask_who

__all__ = ["add_to"]

Paths = Annotated[
    list[Path], typer.Argument(metavar="PATH", help="Course folders, or the folder of a quality.yaml beside courses.")
]
GroupsFile = Annotated[
    Path | None,
    typer.Option("--groups", metavar="FILE", help="groups.yaml: what candidates told of themselves of their own will."),
]
On = Annotated[str | None, typer.Option("--on", metavar="DAY", help="The day it is for, like 2027-02-03; else today.")]
SameAssessors = Annotated[
    bool, typer.Option("--same-assessors", help="An assessor's id means the same person in all these courses.")
]


def quality(
    paths: Paths,
    groups: GroupsFile = None,
    on: On = None,
    same_assessors: SameAssessors = False,
    replicates: Annotated[
        int, typer.Option("--replicates", min=100, max=100_000, metavar="N", help="Drawn markings of each candidate.")
    ] = 1000,
    seed: Annotated[int, typer.Option("--seed", min=0, metavar="S", help="Where the drawing starts.")] = 0,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Report how well the marking of these courses holds, and what is overdue; for a director.

    Reliability, whether outcomes would be given again, assessors, how pass lines were set, groups, waivers and threats.
    Only what everybody has locked is read. Ends with 1 when something is to be done.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.quality import day_from, quality_report

    found = quality_report(
        paths, as_id, groups=groups, on=None if on is None else day_from(on), same_assessors=same_assessors,
        replicates=replicates, seed=seed, ask=ask_who,
    )  # fmt: skip
    if as_json:
        from assess.desk.quality_json import quality_document

        show_json(quality_document(found))
    else:
        from assess.cli.quality_lines import quality_lines

        show_lines(quality_lines(found))
    return 1 if found.findings else 0


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("quality")(quality)
