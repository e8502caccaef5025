"""Acts of the director: a rubric takes force in a course, a slot gets another marker."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from assess.cli.options import As, CourseFolderPath, Json, Plain, ask_who

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["add_to", "pin"]

Reason = Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why; it is kept and printed.")]


def pin(
    course: CourseFolderPath,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The rubric file to put in force.")],
    area: Annotated[str, typer.Option("--area", metavar="ID", help="The area it is for.")],
    reason: Reason,
    from_day: Annotated[int, typer.Option("--from-day", min=1, help="From which day of the course.")] = 1,
    told_before: Annotated[
        str | None, typer.Option("--told-before", metavar="TASK", help="The task before which candidates were told.")
    ] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Put a rubric version in force for an area that has no sheet yet.

    The file is copied into the course byte for byte and pinned by its SHA-256; refused for an area with sheets.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.pinning import pin_rubric

    desk = _directing(course, as_id)
    try:
        name = pin_rubric(desk, file, area, from_day, reason, told_before)
    finally:
        desk.close()
    if as_json:
        show_json({"pinned": name, "area": area, "from_day": from_day})
    else:
        show_lines([f"in force for {area} from day {from_day}: rubrics/{name}"])
    return 0


def allocate(
    course: CourseFolderPath,
    slot: Annotated[str, typer.Argument(metavar="TASK.CANDIDATE", help="The slot, like T1.C04.")],
    taken_off: Annotated[str, typer.Option("--from", metavar="ID", help="The marker who cannot lock.")],
    reason: Reason,
    to: Annotated[str | None, typer.Option("--to", metavar="ID", help="Who takes the slot over, if anybody.")] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Take a marker off a slot whose sheet cannot be locked.

    It then counts as locked, without use; the change is logged and printed.
    """
    from assess.cli.say import show_json, show_lines
    from assess.records.errors import StorageTrouble, UsageError

    task, dot, candidate = slot.partition(".")
    if not dot or not candidate:
        raise UsageError(f"{slot} names no slot", todo="write it like T1.C04: task, then candidate")
    desk = _directing(course, as_id)
    try:
        desk.day_book.change_allocation(task, candidate, taken_off, to, reason)
        if not desk.drain(10):
            raise StorageTrouble(f"not saved: {desk.save_state().why}", todo="make room on the disk and try again")
        markers = desk.markers(task, candidate)
    finally:
        desk.close()
    if as_json:
        show_json({"slot": slot, "markers": list(markers)})
    else:
        show_lines([f"{slot} is marked by {', '.join(markers) or 'nobody'}; the change is logged and printed"])
    return 0


def _directing(course: Path, as_id: str | None) -> Desk:
    from assess.desk.opening import open_course

    return open_course(course, as_id, ask=ask_who, act=True)


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("allocate")(allocate)
