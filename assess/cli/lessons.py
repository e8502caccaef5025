"""Commands for teaching sessions: the readings of written lessons, and whether a learner changed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from assess.cli.options import As, Json, Plain

if TYPE_CHECKING:
    from assess.lesson.results import ChangeReading

__all__ = ["add_to"]

CAUTION = (
    "Readings are evidence to look at, never a score. They name the words, drills or minutes they come from; "
    "a possible breach is reported by a person or not at all."
)


def lesson(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A file of written practice lessons.")],
    catalogue: Annotated[
        Path | None, typer.Option("--catalogue", metavar="DIR", help="The activity's catalogue folder.")
    ] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Read written lessons: was the fault found, treated, in good order, safely, and did the learner change.

    Five answers side by side, each with its reasons; they are never merged into one.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.lessons import lessons_json, lessons_read

    found = lessons_read(file, catalogue)
    if as_json:
        show_json(lessons_json(found))
        return 0
    show_lines([CAUTION])
    for read, said in zip(found.readings, lessons_json(found)["lessons"], strict=True):
        show_lines(["", f"{read.lesson}  {found.titles.get(read.lesson, '')}", *_lines(said), *_change(read.change)])
    return 0


def _lines(said: dict[str, Any]) -> Iterator[str]:
    diagnosis, fit, progression, safety = said["diagnosis"], said["drill_fit"], said["progression"], said["safety"]
    yield _line("found, of what mattered", diagnosis["recall"], diagnosis["void"])
    yield _line("named with ground", diagnosis["precision"], None)
    yield _line("how a guess would do", diagnosis["chance_mean"], None)
    yield _line("how a stock answer would do", diagnosis["stock_answer"], None)
    yield from _why(diagnosis["why"])
    yield _line("drills fit what the panel found", fit["value"], fit["void"])
    yield _line("drills fit what was named", fit["own_value"], None)
    yield from _why(fit["why"])
    yield _line("progression", progression["value"], progression["void"])
    yield from _why(progression["why"])
    yield _line("hazards named or avoided", safety["hazard_recall"], safety["void"])
    if safety["possible_breaches"]:
        yield f"  possible breach, look: {', '.join(safety['possible_breaches'])}"
    yield from _why(safety["why"])


def _line(label: str, value: float | None, void: str | None) -> str:
    shown = f"{value:.2f}" if value is not None else void or "not told"
    return f"  {label:<32} {shown}"


def _why(sentences: list[str]) -> Iterator[str]:
    for sentence in sentences:
        yield f"      {sentence}"


def _change(read: ChangeReading) -> Iterator[str]:
    yield f"  {'learner':<32} {read.verdict}"
    yield from _why(list(read.why))


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
        show_lines(_change(read))
    return 0


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("lesson")(lesson)
    app.command("change")(change)
