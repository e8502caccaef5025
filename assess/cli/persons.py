"""Commands about one person: a copy of what is kept about them."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from assess.cli.options import As, CourseFolderPath, Json, Plain, ask_who

__all__ = ["add_to"]

PersonId = Annotated[str, typer.Argument(metavar="ID", help="Whom it is about: C04, A2, L7.")]


def export(
    course: CourseFolderPath,
    person: PersonId,
    to: Annotated[Path, typer.Option("--to", metavar="FILE.zip", help="A file that does not exist yet.")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Write everything a course holds about one person into a zip.

    Marks, comments and decisions, as data and as tables; other people stand in it by their ids.
    An act of the director, who hands it to that person. Sheets not everybody has locked stay out and are named.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.opening import open_course
    from assess.desk.person_export import export_person, write_archive

    desk = open_course(course, as_id, ask=ask_who)
    try:
        found = export_person(desk, person)
    finally:
        desk.close()
    write_archive(found, to)
    if as_json:
        left = [{"task": task, "candidate": candidate} for task, candidate in found.left_out]
        told = {
            "person": person,
            "role": found.role,
            "audience": "person",
            "out": str(to),
            "files": sorted(found.files),
        }
        show_json({**told, "names_replaced_in": found.replaced, "left_out": left})
        return 0
    show_lines([f"{to}: what is kept about {person} ({found.role}), for that person alone"])
    if found.replaced:
        show_lines(
            [f"other people's names were replaced in {found.replaced} texts; read it through before you hand it on"]
        )
    if found.left_out:
        slots = ", ".join(f"{task} {candidate}" for task, candidate in found.left_out)
        show_lines([f"not in it, because not everybody has locked: {slots}"])
    show_lines(["due one month after it was asked for (GDPR, article 12(3)); local law goes first"])
    return 0


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    person = typer.Typer(help="What is kept about one person.", rich_markup_mode=None, no_args_is_help=True)
    person.command("export")(export)
    app.add_typer(person, name="person")
