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
Waive = Annotated[
    str,
    typer.Option("--waive", metavar="REASON", help="Why TO marks it in spite of a licence, a conflict or training."),
]
WholeCourse = Annotated[
    bool, typer.Option("--whole-course", help="The waiver is for every such slot, not for this one alone.")
]


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
    taken_off: Annotated[str | None, typer.Option("--from", metavar="ID", help="The marker who cannot lock.")] = None,
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why; it is kept and printed.")] = "",
    to: Annotated[str | None, typer.Option("--to", metavar="ID", help="Who takes the slot over, if anybody.")] = None,
    waive: Waive = "",
    whole_course: WholeCourse = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Take a marker off a slot whose sheet cannot be locked.

    It then counts as locked, without use; the change is logged and printed. Refused when who takes it over may not
    mark it: no licence, a declared conflict, or training that ended too lately. A director may waive that with its
    reason, which is counted and printed; without --from it is for somebody who is allocated already.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.waiving import waive as let_in
    from assess.desk.waiving import waiver_lines, waivers_json, waivers_told
    from assess.records.errors import StorageTrouble

    _go_together(taken_off, to, waive, whole_course)
    task, candidate = _slot(slot)
    desk = _directing(course, as_id)
    try:
        if taken_off is None:
            let_in(desk, to or "", task, candidate, waive, whole_course=whole_course)
        else:
            desk.day_book.change_allocation(task, candidate, taken_off, to, reason, waive=waive)
        if not desk.drain(10):
            raise StorageTrouble(f"not saved: {desk.save_state().why}", todo="make room on the disk and try again")
        markers, waivers = desk.markers(task, candidate), waivers_told(desk)
    finally:
        desk.close()
    if as_json:
        show_json({"slot": slot, "markers": list(markers), "waivers": waivers_json(waivers)})
    else:
        show_lines([f"{slot} is marked by {', '.join(markers) or 'nobody'}; the change is logged and printed"])
        show_lines(waiver_lines(waivers))
    return 0


def _slot(name: str) -> tuple[str, str]:
    """Task and candidate of `T1.C04`. Raises UsageError for anything else."""
    from assess.records.errors import UsageError

    task, _, candidate = name.partition(".")
    if not task or not candidate:
        raise UsageError(f"{name} names no slot", todo="write it like T1.C04: task, then candidate")
    return task, candidate


def _go_together(taken_off: str | None, to: str | None, waive: str, whole_course: bool) -> None:
    """Raises UsageError where the options do not go together."""
    from assess.records.errors import UsageError

    if taken_off is None and not (to and waive):
        raise UsageError("nobody is named", todo="--from ID takes a marker off; --to ID --waive REASON lets one in")
    if whole_course and (taken_off is not None or not waive):
        raise UsageError("--whole-course is for a waiver alone", todo="use it with --to ID --waive REASON")


def _directing(course: Path, as_id: str | None) -> Desk:
    from assess.desk.opening import open_course

    return open_course(course, as_id, ask=ask_who, act=True)


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("allocate")(allocate)
