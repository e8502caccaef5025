"""The command that makes a page to hand on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from assess.cli.options import As, Json, Plain, ask_who

if TYPE_CHECKING:
    from assess.desk.pages import Page

__all__ = ["add_to"]

Opt = typer.Option


def page(
    course: Annotated[Path, typer.Argument(metavar="FOLDER", help="A course, a round, a season; see KIND.")],
    kind: Annotated[
        Literal["result", "assessor", "round", "quality", "season"],
        typer.Argument(metavar="KIND", help="result, assessor, round, quality or season."),
    ],
    about: Annotated[str | None, typer.Argument(metavar="ID", help="assessor, round: whose page, A2.")] = None,
    to: Annotated[Path | None, Opt("--to", metavar="FOLDER", help="Write it there; else it is printed.")] = None,
    html: Annotated[bool, Opt("--html", help="As a page for a browser; this when neither is said.")] = False,
    pdf: Annotated[bool, Opt("--pdf", help="As a PDF to print, which a screen reader can follow.")] = False,
    on: Annotated[str | None, Opt("--on", metavar="DAY", help="quality: the day it is for; else today.")] = None,
    dry_run: Annotated[bool, Opt("--dry-run", help="Say what would be written, and stop.")] = False,
    replace: Annotated[bool, Opt("--replace", help="Write over another file that stands there.")] = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Make a page to hand on: result sheet, an assessor, a round, the quality report, a season.

    Printed, or written into a folder. Who may see what is as on the screens; the page says for whom it is.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.pages import page_json, page_lines, page_of
    from assess.records.errors import UsageError

    if to is None and (html or pdf or dry_run or replace):
        raise UsageError("where to?", todo="name a folder with --to")
    found = page_of(kind, course, as_id, about=about, on=on, ask=ask_who)
    if to is not None:
        return _written(found, to, html=html or not pdf, pdf=pdf, dry_run=dry_run, replace=replace, as_json=as_json)
    if as_json:
        show_json(page_json(found))
    else:
        show_lines(page_lines(found))
    return 0


def _written(
    found: Page, to: Path, *, html: bool, pdf: bool, dry_run: bool, replace: bool, as_json: bool
) -> int:  # fmt: skip
    """Show what leaves, then write it unless it is only to be shown."""
    from assess.cli.acting import said
    from assess.desk.outgoing import look_ahead, preview_json, preview_lines, write_out
    from assess.desk.pages import page_files

    planned = look_ahead(page_files(found, html=html, pdf=pdf), to)
    if not dry_run:
        write_out(planned, replace=replace)
    return said(preview_json(planned, written=not dry_run), preview_lines(planned), as_json)


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("page")(page)
