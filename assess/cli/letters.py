"""The command `letters`: what was decided, told to each candidate."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from assess.cli.acting import looking
from assess.cli.options import As, CourseFolderPath, Json, Plain

__all__ = ["add_to"]


def letters(
    course: CourseFolderPath,
    candidates: Annotated[list[str] | None, typer.Argument(metavar="[CANDIDATE]...")] = None,
    to: Annotated[Path | None, typer.Option("--to", metavar="FOLDER", help="Where they are put.")] = None,
    language: Annotated[str, typer.Option("--language", metavar="en|de", help="In which language.")] = "en",
    html: Annotated[bool, typer.Option("--html", help="As pages for a screen.")] = False,
    pdf: Annotated[bool, typer.Option("--pdf", help="As PDF, to print; as it is without --html.")] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Show what would be written, and stop.")] = False,
    replace: Annotated[bool, typer.Option("--replace", help="Write over letters that stand there.")] = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Write to candidates what was decided, why, what to train next, and what they can do.

    From the signed decisions alone, and only from what is released to candidates. Made by a director.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.letters import LetterForm, letter_files
    from assess.desk.outgoing import look_ahead, preview_json, preview_lines, write_out
    from assess.records.errors import UsageError

    if to is None:
        raise UsageError("where to?", todo="name a folder: --to letters; --dry-run writes nothing")
    forms: list[LetterForm] = [*(("html",) if html else ()), *(("pdf",) if pdf or not html else ())]
    with looking(course, as_id) as desk:
        files, left_out = letter_files(desk, candidates or (), language=language, forms=forms)
    planned = look_ahead(files, to, left_out)
    if not as_json:
        show_lines(preview_lines(planned))
    written = 0 if dry_run else write_out(planned, replace=replace)
    if as_json:
        show_json(preview_json(planned, written=not dry_run))
    else:
        show_lines(["nothing was written" if dry_run else f"written: {written}, as they were: {len(files) - written}"])
    return 1 if not files or (candidates and left_out) else 0


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("letters")(letters)
