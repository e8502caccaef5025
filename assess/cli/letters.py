"""The command `letters`: what was decided, told to each candidate."""

from __future__ import annotations

from typing import Annotated

import typer

from assess.cli.acting import looking
from assess.cli.options import As, CourseFolderPath, DryRun, Json, Plain, Replace, ToFolder

__all__ = ["add_to"]


def letters(
    course: CourseFolderPath,
    candidates: Annotated[list[str] | None, typer.Argument(metavar="[CANDIDATE]...")] = None,
    to: ToFolder = None,
    language: Annotated[str, typer.Option("--language", metavar="en|de", help="In which language.")] = "en",
    html: Annotated[bool, typer.Option("--html", help="As pages for a screen.")] = False,
    pdf: Annotated[bool, typer.Option("--pdf", help="As PDF, to print; as it is without --html.")] = False,
    dry_run: DryRun = False,
    replace: Replace = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Write to candidates what was decided, why, what to train next, and what they can do.

    From the signed decisions alone, and only from what is released to candidates. Made by a director.
    """
    from assess.cli.handing_out import folder_named, hand_out
    from assess.desk.letters import LetterForm, letter_files
    from assess.desk.outgoing import look_ahead

    folder = folder_named(to, dry_run=dry_run)
    forms: list[LetterForm] = [*(("html",) if html else ()), *(("pdf",) if pdf or not html else ())]
    with looking(course, as_id) as desk:
        files, left_out = letter_files(desk, candidates or (), language=language, forms=forms)
    planned = look_ahead(files, folder, left_out)
    hand_out(planned, dry_run=dry_run, replace=replace, as_json=as_json)
    return 1 if not files or (candidates and left_out) else 0


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("letters")(letters)
