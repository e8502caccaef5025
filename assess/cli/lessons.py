"""Commands for teaching sessions: the readings of written lessons, and whether a learner changed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from assess.cli.options import As, Json, Plain

if TYPE_CHECKING:
    from assess.lesson.results import ChangeReading, LessonReadings

__all__ = ["add_to", "change_lines"]


def lesson(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Written practice lessons, or a lesson sheet.")],
    catalogue: Annotated[
        Path | None, typer.Option("--catalogue", metavar="DIR", help="The activity's catalogue folder.")
    ] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Read lessons: was the fault found, treated, in good order, safely, and did the learner change.

    Five answers side by side, each with its reasons; they are never merged into one.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.lessons import lessons_json, lessons_read
    from assess.desk.opening import open_course, place_of
    from assess.desk.reading_lines import CAUTION
    from assess.desk.sheet_readings import read_sheet

    place = place_of(file)
    if place.is_sheet and place.course is not None:
        desk = open_course(place.course, as_id)
        try:
            found = read_sheet(desk, place)
        finally:
            desk.close(0)
    else:
        found = lessons_read(file, catalogue)
    if as_json:
        show_json(lessons_json(found))
        return 0
    show_lines([CAUTION])
    for read in found.readings:
        show_lines(["", f"{read.lesson}  {found.titles.get(read.lesson, '')}", *_lines(read)])
    show_lines(found.told)
    return 0


def _lines(read: LessonReadings) -> Iterator[str]:
    from assess.desk.reading_lines import reading_lines

    for line in reading_lines(read):
        yield f"  {line.label:<34} {line.value}"
        yield from (f"      {sentence}" for sentence in line.why)


def change_lines(read: ChangeReading) -> Iterator[str]:
    """The verdict on a learner's change and its reasons."""
    yield f"  {'learner':<34} {read.verdict}"
    yield from (f"      {sentence}" for sentence in read.why)


def change(
    before: Annotated[Path, typer.Argument(metavar="BEFORE", help="Table of per-turn values before (run,turn,value).")],
    after: Annotated[Path, typer.Argument(metavar="AFTER", help="The same after the lesson.")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say whether a learner changed beyond what the measure moves without teaching.

    Beside each table stands a file of the same name ending in .yaml: measure, place, slope, snow, ability.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.lessons import change_between, change_json

    read = change_between(before, after)
    if as_json:
        show_json(change_json(read))
    else:
        show_lines(change_lines(read))
    return 0


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("lesson")(lesson)
    app.command("change")(change)
