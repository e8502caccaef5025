"""The command for the turns of a demonstration: measures from a track or a table, each beside its noise."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from assess.cli.options import As, Json, Plain

if TYPE_CHECKING:
    from assess.desk.demonstration import Demonstration
    from assess.lesson.results import MeasureReading

__all__ = ["add_to"]


def turns(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="A GPX 1.1 track of a run, or a CSV table with a line per turn.")
    ],
    kind: Annotated[
        Literal["carved", "parallel", "drifted", "wedge"] | None,
        typer.Option("--kind", help="The kind of turns; wedge turns are not computed."),
    ] = None,
    method: Annotated[
        str | None, typer.Option("--method", metavar="NAME", help="How it was measured; a track: phone unless said.")
    ] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Measure the turns of a demonstration: evenness, rhythm, lane, speed, shape, each beside its noise.

    A side file of the same name ending in .yaml may state kind, method, precision, units and the task's targets.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.demonstration import demonstration_json, demonstration_read

    found = demonstration_read(file, kind, method)
    if as_json:
        show_json(demonstration_json(found))
    else:
        show_lines(_lines(found))
    return 1 if found.refused else 0


def _lines(found: Demonstration) -> Iterator[str]:
    from assess.desk.demonstration import CAUTION

    yield CAUTION
    if found.refused:
        yield f"{found.file}: {found.readings[0].void}"
        return
    yield _counted(found)
    for note in found.notes:
        yield f"  {note}"
    yield ""
    yield f"  {'measure':<18} {'value':>20} {'n':>4} {'noise floor':>20}  beyond noise"
    told: set[str] = set()
    for read in found.readings:
        again = read.value is None and told.issuperset(read.why)
        yield _row(read) + (", as above" if again else "")
        # What holds for several measures is said under the first of them.
        yield from (f"      {reason}" for reason in read.why if reason not in told)
        told.update(read.why)


def _counted(found: Demonstration) -> str:
    runs = len({turn.run for turn in found.turns})
    seen = "" if found.seen is None else f" of {found.seen} seen"
    return (
        f"{found.file}: {len(found.turns)} turns{seen} in {runs} {'run' if runs == 1 else 'runs'}, {found.kind},"
        f" measured by: {found.method.name}"
    )


def _row(read: MeasureReading) -> str:
    if read.value is None:
        return f"  {read.name:<18} {'not judged':>20}"
    floor = "not known" if read.noise_floor is None else f"{round(read.noise_floor, 2):g} {read.unit}"
    beyond = "not known" if read.beyond_noise is None else "yes" if read.beyond_noise else "no"
    return f"  {read.name:<18} {f'{round(read.value, 2) + 0.0:g} {read.unit}':>20} {read.n:>4} {floor:>20}  {beyond}"


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("turns")(turns)
