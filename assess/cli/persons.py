"""Commands about one person: a copy of what is kept about them, and erasing it."""

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


def erase(
    course: CourseFolderPath,
    person: PersonId,
    reason: Annotated[
        str, typer.Option("--reason", metavar="TEXT", help="Why, without the name; it is kept and printed.")
    ] = "",
    yes: Annotated[bool, typer.Option("--yes", help="Do it. Without this nothing is changed.")] = False,
    although: Annotated[bool, typer.Option("--although", help="In spite of what stands against it.")] = False,
    keep: Annotated[
        list[str] | None, typer.Option("--keep", metavar="FILE:LINE", help="A mention that means somebody else.")
    ] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Erase what a course holds about one person: name, contact, consents, free text.

    A dry run unless --yes. Marks, levels and times stay under the id, and every record still verifies. An act of the
    director, written down. Ends with 1 when something is left for a person to settle. It cannot be taken back.
    """
    from assess.cli.erase_lines import erased_json, erased_lines
    from assess.cli.say import show_json, show_lines
    from assess.desk.opening import open_course
    from assess.desk.person_erase import erase_person, erasure_told

    kept = [_place(each) for each in keep or ()]
    desk = open_course(course, as_id, ask=ask_who, act=yes)
    try:
        if yes:
            told = erase_person(desk, person, reason, although=although, keep=kept)
        else:
            told = erasure_told(desk, person, kept)
    finally:
        desk.close()
    if as_json:
        show_json(erased_json(told))
    else:
        show_lines(erased_lines(told))
    return 1 if any(not problem.doubt for problem in told.left) else 0


def _place(text: str) -> tuple[str, int]:
    from assess.records.errors import UsageError

    file, colon, line = text.rpartition(":")
    if not colon or not line.isascii() or not line.isdigit():
        raise UsageError(f"{text} is no place in a file", todo="write it as the dry run does: course.yaml:17")
    return file, int(line)


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    person = typer.Typer(help="What is kept about one person.", rich_markup_mode=None, no_args_is_help=True)
    person.command("export")(export)
    person.command("erase")(erase)
    app.add_typer(person, name="person")
