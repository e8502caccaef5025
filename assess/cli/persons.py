"""Commands about people: a copy of what is kept about one, erasing it, what is due, who was entered twice."""

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


def due(
    courses: Annotated[list[Path], typer.Argument(metavar="COURSE...", help="Course folders.")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say what is kept about people, until when, and what is due to go.

    A dry run: nothing is changed. How long is in course.yaml under `retention`. Ends with 1 when something is due.
    """
    from assess.cli.due_lines import due_json, due_lines
    from assess.cli.say import show_json, show_lines
    from assess.desk.opening import open_course
    from assess.desk.retention_due import course_due

    found = []
    for course in courses:
        desk = open_course(course, as_id, ask=ask_who)
        try:
            found.append((course, course_due(desk)))
        finally:
            desk.close()
    if as_json:
        show_json({"courses": [due_json(str(course), each) for course, each in found]})
    else:
        for course, each in found:
            show_lines(due_lines(str(course), each))
    return 1 if any(each.due for _, each in found) else 0


def same(
    course: CourseFolderPath,
    candidate: Annotated[str, typer.Argument(metavar="ID", help="The id that is not used any more: C11.")],
    same_as: Annotated[str, typer.Argument(metavar="SAME", help="The id they go on under: C04.")],
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="How it was found out; it is kept.")] = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Write down that a candidate was entered twice. An act of the director.

    Nothing is moved by it: marks given under the first id are moved by whoever gave them, as to another bib.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.opening import open_course
    from assess.desk.same_person import record_same_person

    desk = open_course(course, as_id, ask=ask_who, act=True)
    try:
        told = record_same_person(desk, candidate, same_as, reason)
    finally:
        desk.close()
    if as_json:
        show_json({"candidate": candidate, "same_as": same_as, "both_marked": list(told)})
    else:
        show_lines([f"{candidate} is the same person as {same_as}; no outcome is given for {candidate} any more"])
        show_lines(f"{task}: both ids have a sheet; move the marks, or tell it in the meeting" for task in told)
    return 0


def _place(text: str) -> tuple[str, int]:
    from assess.records.errors import UsageError

    file, colon, line = text.rpartition(":")
    if not colon or not line.isascii() or not line.isdigit():
        raise UsageError(f"{text} is no place in a file", todo="write it as the dry run does: course.yaml:17")
    return file, int(line)


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    person = typer.Typer(
        help="What is kept about people: a copy, erasing, what is due.", rich_markup_mode=None, no_args_is_help=True
    )
    person.command("export")(export)
    person.command("erase")(erase)
    person.command("due")(due)
    person.command("same")(same)
    app.add_typer(person, name="person")
