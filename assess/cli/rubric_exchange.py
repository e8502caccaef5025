"""Commands that exchange rubrics with other programs: give one out, take one in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from assess.cli.options import As, DryRun, Json, Plain, Replace

__all__ = ["give", "take"]


def give(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A rubric file.")],
    to: Annotated[Path, typer.Option("--to", metavar="OUT.json", help="The file to be made.")],
    creator: Annotated[str, typer.Option("--creator", metavar="NAME", help="Who answers for the rubric.")] = "",
    dry_run: DryRun = False,
    replace: Replace = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Write a rubric for other programs, in an open exchange format.

    The format is CASE 1.1 (CFRubric). What it has no place for stands in its extensions, which another program may
    drop: that is listed. `assess rubric take` gives the same rubric back. The date is that of the rubric's marking
    error, or 1970-01-01.
    """
    from assess.cli.handing_out import hand_out
    from assess.desk.checking import read_rubric
    from assess.desk.outgoing import Outgoing, look_ahead
    from assess.desk.rubric_give import give_rubric

    rubric, _ = read_rubric(file)
    given = give_rubric(rubric, creator=creator)
    item = Outgoing(to.name, "anyone", f"the rubric {rubric.id} for other programs", given.raw, private=False)
    return hand_out(
        look_ahead([item], to.parent), dry_run=dry_run, replace=replace, as_json=as_json,
        told=[f"  only in our extensions: {what}" for what in given.not_carried],
        more={"not_carried": list(given.not_carried)},
    )  # fmt: skip


def take(
    file: Annotated[Path, typer.Argument(metavar="IN.json", help="A package of another program.")],
    to: Annotated[Path, typer.Option("--to", metavar="FOLDER", help="Where the rubric file goes.")],
    number: Annotated[int, typer.Option("--number", metavar="N", help="Which rubric of the package.")] = 1,
    dry_run: DryRun = False,
    replace: Replace = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Read a rubric another program wrote, in the format CASE 1.1 (CFRubric).

    What is missing stands in the first lines of the file that is made, and what was left behind is listed;
    `assess rubric check` says where each thing goes. Ends with 1 when something is missing.
    """
    from assess.cli.handing_out import hand_out
    from assess.desk.outgoing import Outgoing, look_ahead
    from assess.desk.rubric_take import read_package, take_rubric

    taken = take_rubric(read_package(file), number)
    name = f"{taken.name}.yaml"
    item = Outgoing(name, "anyone", "the rubric as read", taken.raw, missing=tuple(taken.missing), private=False)
    planned = look_ahead([item], to, left_out=taken.left)
    following = [f"next: `assess rubric check {to / name}`"]
    hand_out(planned, dry_run=dry_run, replace=replace, as_json=as_json, following=following)
    return 1 if taken.missing else 0
