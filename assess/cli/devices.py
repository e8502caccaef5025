"""Commands that bring devices together: merge, with its report; a bundle for a stick."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from assess.cli.options import As, CourseFolderPath, Json, Plain, ask_who

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["add_to"]


def merge(
    into: Annotated[Path, typer.Argument(metavar="INTO", help="The course folder that receives.")],
    froms: Annotated[
        list[Path] | None, typer.Argument(metavar="FROM...", help="Copies of it, or bundles, from other devices.")
    ] = None,
    settle: Annotated[
        str | None, typer.Option("--settle", metavar="NAME", help="A record with several versions: show them.")
    ] = None,
    keep: Annotated[
        str | None, typer.Option("--keep", metavar="VERSION", help="With --settle: the version that is kept.")
    ] = None,
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="With --keep: why.")] = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Bring copies of one course from several devices together.

    The first line says what is to be done. Nothing is overwritten: where two devices wrote different things under one
    name, both stay and are named until somebody settles it. The order does not matter; merging twice changes nothing.
    """
    from assess.cli.merge_lines import merge_json, merge_lines
    from assess.cli.say import show_json, show_lines
    from assess.desk.merging import merge_courses
    from assess.records.errors import UsageError

    if settle is not None:
        if froms:
            raise UsageError("--settle is about one course", todo="merge first, then settle")
        return _settle(into, settle, keep, reason, as_id, as_json=as_json)
    if keep is not None or reason:
        raise UsageError("--keep and --reason go with --settle", todo="name the record with --settle")
    if not froms:
        raise UsageError("nothing to merge", todo="name copies of the course, or bundles")
    told = merge_courses(into, froms, as_id, ask=ask_who)
    if as_json:
        show_json(merge_json(told))
    else:
        show_lines(merge_lines(told))
    return 1 if any(not problem.doubt for problem in told.problems) else 0


def _settle(into: Path, record: str, keep: str | None, reason: str, as_id: str | None, *, as_json: bool) -> int:
    from assess.cli.merge_lines import version_json, version_lines
    from assess.cli.say import show_json, show_lines
    from assess.desk.opening import open_course
    from assess.desk.settling import settle, versions_of

    desk: Desk = open_course(into, as_id, ask=ask_who, act=keep is not None)
    try:
        if keep is None:
            versions = versions_of(desk, record)
            show_json(version_json(versions)) if as_json else show_lines(version_lines(versions))
            return 0
        kept = settle(desk, record, keep, reason)
    finally:
        desk.close()
    if as_json:
        show_json({"record": record, "kept": kept})
    else:
        show_lines([f"settled: {kept} is kept; what was set aside stays, and is not reported again"])
    return 0


def bundle(
    course: CourseFolderPath,
    to: Annotated[Path, typer.Option("--to", metavar="DIR", help="The folder it goes into: a stick.")] = Path(),
    people: Annotated[bool, typer.Option("--people", help="The file with names and contacts too.")] = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Write your own records into one archive, to be carried to another device.

    Named by course, person and device, and written over each time. `assess merge` reads it as it is.
    """
    from assess.cli.say import complain, show_json, show_lines
    from assess.desk.copies import make_bundle
    from assess.desk.opening import open_course

    desk = open_course(course, as_id, act=True, ask=ask_who)
    try:
        made = make_bundle(desk, to, people=people)
    finally:
        desk.close()
    if made.note:
        complain(made.note)
    if as_json:
        told = {"out": str(made.path), "by": made.who, "audience": "panel", "same_disk": made.same_disk}
        show_json({**told, "files": list(made.files)})
        return 0
    show_lines([f"{made.path}: the records of {made.who}" + (", in place of the one before" if made.again else "")])
    if made.same_disk:
        show_lines(["it lies on the disk of the course: copy it to a stick, then there are two copies"])
    if not people:
        show_lines(["without names and contacts; --people puts them in"])
    return 0


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("merge")(merge)
    app.command("bundle")(bundle)
