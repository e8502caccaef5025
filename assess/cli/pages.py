"""The command that makes a page to hand on."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from assess.cli.options import As, DryRun, Json, Plain, Replace, ToFolder, ask_who

__all__ = ["add_to"]

Opt = typer.Option
Also = Annotated[
    list[Path] | None,
    Opt("--also", metavar="FOLDER", help="quality, assessor: one more course; may stand several times."),
]
SameAssessors = Annotated[
    bool, Opt("--same-assessors", help="An assessor's id means the same person in all these courses.")
]
Groups = Annotated[Path | None, Opt("--groups", metavar="FILE", help="quality: what candidates told of themselves.")]


def page(
    course: Annotated[Path, typer.Argument(metavar="FOLDER", help="A course, a round, a season; see KIND.")],
    kind: Annotated[
        Literal["result", "assessor", "agreement", "criteria", "round", "quality", "season"],
        typer.Argument(metavar="KIND", help="result, assessor, agreement, criteria, round, quality or season."),
    ],
    about: Annotated[str | None, typer.Argument(metavar="ID", help="assessor, round: whose page, A2.")] = None,
    to: ToFolder = None,
    html: Annotated[bool, Opt("--html", help="As a page for a browser; this when neither is said.")] = False,
    pdf: Annotated[bool, Opt("--pdf", help="As a PDF to print, which a screen reader can follow.")] = False,
    on: Annotated[str | None, Opt("--on", metavar="DAY", help="quality: the day it is for; else today.")] = None,
    also: Also = None,
    same_assessors: SameAssessors = False,
    groups: Groups = None,
    dry_run: DryRun = False,
    replace: Replace = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Make a page to hand on: result sheet, an assessor, agreement, criteria, a round, quality, a season.

    Printed, or with --to written into a folder. Who may see what is as on the screens; the page says for whom it is.
    """
    from assess.cli.handing_out import folder_named, hand_out
    from assess.cli.say import show_json, show_lines
    from assess.desk.outgoing import look_ahead
    from assess.desk.pages import Several, page_files, page_json, page_lines, page_of

    written = to is not None or html or pdf or dry_run or replace
    folder = folder_named(to, dry_run=dry_run) if written else None
    several = Several(tuple(also or ()), same_assessors, groups)
    found = page_of(kind, course, as_id, about=about, on=on, several=several, ask=ask_who)
    if folder is not None:
        planned = look_ahead(page_files(found, html=html or not pdf, pdf=pdf), folder)
        return hand_out(planned, dry_run=dry_run, replace=replace, as_json=as_json)
    if as_json:
        show_json(page_json(found))
    else:
        show_lines(page_lines(found))
    return 0


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("page")(page)
