"""The options every command has, and what they mean."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["As", "CourseFolderPath", "DryRun", "Json", "Plain", "Replace", "ToFolder", "ask_who"]

Json = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
Plain = Annotated[bool, typer.Option("--plain", help="Plain lines: no screen, no colour, no box drawing.")]
As = Annotated[str | None, typer.Option("--as", metavar="ID", help="Who you are in the course: A2, D1.")]
ToFolder = Annotated[Path | None, typer.Option("--to", metavar="FOLDER", help="The folder the files go into.")]
DryRun = Annotated[bool, typer.Option("--dry-run", help="Say what would be written, and write nothing.")]
Replace = Annotated[bool, typer.Option("--replace", help="Write over other files of the same names.")]
CourseFolderPath = Annotated[Path, typer.Argument(metavar="COURSE", help="The course's folder.")]


def ask_who(people: tuple[tuple[str, str], ...]) -> str | None:
    """Ask once which of these people (id, name) is sitting here; None when there is nobody to ask.

    The question goes to stderr, so that stdout holds the result alone.
    """
    import sys

    from assess.cli.say import complain, on_terminal

    if not on_terminal():
        return None
    complain("Who are you?")
    for person, name in people:
        complain(f"  {person}  {name}")
    sys.stderr.write("id, or Enter to look only: ")
    sys.stderr.flush()
    return sys.stdin.readline().strip() or None
