"""Commands for marking: mark, lock, import."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from assess.cli.options import As, Json, Plain, ask_who

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.desk.slot_sheet import SlotSheet

__all__ = ["add_to"]

SheetPath = Annotated[
    Path, typer.Argument(metavar="SHEET", help="Your sheet: COURSE/T1.C04 (task, then candidate), or its file.")
]


def mark(
    sheet: SheetPath,
    marks: Annotated[
        list[str] | None,
        typer.Argument(metavar="CRITERION=LEVEL...", help="edging=4, line=no, line=no:fog, lane-held=na:reason"),
    ] = None,
    note: Annotated[str, typer.Option("--note", metavar="TEXT", help="Something seen.")] = "",
    note_for: Annotated[
        str, typer.Option("--for", metavar="C1,C2", help="The criteria the note is evidence for.")
    ] = "",
    run: Annotated[int, typer.Option("--run", metavar="N", help="Which run; 0 is the one overall mark.")] = 1,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Give marks on your sheet of one slot.

    Everything is checked before the first mark is written. `saved` is said once the disk has answered.
    A note without --for stands for the criteria whose level needs an observation and has none.
    """
    from assess.cli.say import complain, show_json, show_lines
    from assess.desk.marks_given import give_marks, marks_from, wait_until_saved

    desk, slot = _own_sheet(sheet, as_id)
    try:
        criteria = [name.strip() for name in note_for.split(",") if name.strip()]
        given = marks_from(marks or [], slot, note=note, note_for=criteria, run=run)
        give_marks(slot, given)
        saved = wait_until_saved(desk)
        missing = [hole.text for hole in slot.holes() if hole.blocks]
        name = f"{slot.task_id}.{slot.candidate}.{slot.who}"
    finally:
        desk.close(1)  # whatever was written has had its time already
    if slot.remark:
        complain(f"look: {slot.remark}")
    if as_json:
        told = [{"criterion": criterion, "mark": shown} for criterion, shown in given.told()]
        what = {"sheet": name, "run": run, "marks": told, "note": bool(note.strip()), "saved": True, "holes": missing}
        show_json({**what, "remark": slot.remark})
        return 0
    show_lines(f"{criterion} {shown}" for criterion, shown in given.told())
    show_lines([f"saved {saved}"])
    show_lines(f"still missing: {text}" for text in missing)
    return 0


def lock(sheet: SheetPath, as_id: As = None, as_json: Json = False, plain: Plain = False) -> int:
    """Say: this is my sheet. Nothing is added to it afterwards.

    While something that must be there is missing it is listed, nothing is locked, and the end is 1.
    """
    from assess.cli.say import complain, show_json, show_lines
    from assess.desk.marks_given import wait_until_saved
    from assess.desk.signing import signing_word

    desk, slot = _own_sheet(sheet, as_id)
    try:
        name = f"{slot.task_id}.{slot.candidate}.{slot.who}"
        found = slot.holes()
        may = not any(hole.blocks for hole in found) or slot.locked
        saved, signed = "", False
        if may:
            signed = slot.lock().sig is not None
            saved = wait_until_saved(desk)
        word = signing_word(desk) if may and not signed else ""
    finally:
        desk.close(1)
    if word:
        complain(word)
    if as_json:
        holes = [{"text": hole.text, "blocks": hole.blocks} for hole in found]
        show_json({"sheet": name, "locked": may, "signed": signed, "holes": holes})
        return 0 if may else 1
    show_lines(f"{'missing' if hole.blocks else 'look'}: {hole.text}" for hole in found)
    done = "locked and signed" if signed else "locked"
    show_lines([f"{name} {done}, saved {saved}" if may else f"{name} is not locked: it is not complete"])
    return 0 if may else 1


def _own_sheet(path: Path, as_id: str | None) -> tuple[Desk, SlotSheet]:
    """The course of a sheet, opened for writing, and the sheet. Refused when it is not this person's."""
    from assess.desk.opening import open_course, sheet_place
    from assess.records.errors import Refusal

    place = sheet_place(path)
    if place.course is None:
        raise Refusal(f"{path} lies in no course folder", todo="name a sheet like COURSE/T1.C04")
    desk = open_course(place.course, as_id, act=True, ask=ask_who)
    try:
        if place.assessor and place.assessor != desk.who:
            raise Refusal(f"that is the sheet of {place.assessor}, and you are {desk.who}", todo="name your own sheet")
        return desk, desk.slot(place.task, place.candidate)
    except Exception:
        desk.close()
        raise


def import_(
    table: Annotated[Path, typer.Argument(metavar="CSV", help="A score table.")],
    into: Annotated[Path, typer.Option("--into", metavar="COURSE", help="The course it belongs to.")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Take scores kept elsewhere into a course.

    Columns: day, task, order, candidate, assessor, criterion, score, status, rubric. Every row is checked before
    anything is written. Each sheet is locked as imported; what it lacks is told. The same table again changes nothing.
    """
    from assess.cli.problem_lines import problem_json, problem_line
    from assess.cli.say import complain, show_json, show_lines
    from assess.desk.importing import import_scores
    from assess.desk.opening import open_course

    desk = open_course(into, as_id)
    try:
        report = import_scores(desk, table)
    finally:
        desk.close()
    if as_json:
        show_json(
            {
                "course": desk.course.id,
                "source": report.source,
                "written": list(report.written),
                "unchanged": list(report.unchanged),
                "rows": report.statuses,
                "holes": [{"sheet": sheet, "text": text} for sheet, text in report.holes],
                "warnings": [problem_json(problem) for problem in report.warnings],
            }
        )
        return 0
    for problem in report.warnings:
        complain(problem_line(problem))
    rows = ", ".join(f"{count} {status}" for status, count in report.statuses.items())
    show_lines([f"{len(report.written)} sheets written and locked as imported, {len(report.unchanged)} there already"])
    show_lines([f"rows: {rows or 'none'}", f"holes: {len(report.holes)}"])
    show_lines(f"  {sheet}: {text}" for sheet, text in report.holes)
    return 0


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("mark")(mark)
    app.command("lock")(lock)
    app.command("import")(import_)
