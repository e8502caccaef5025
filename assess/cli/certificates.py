"""The command for certificates."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from assess.cli.options import As, CourseFolderPath, Json, Plain, ask_who

__all__ = ["add_to"]


def certificate(
    course: CourseFolderPath,
    candidate: Annotated[str, typer.Argument(metavar="CANDIDATE", help="Whose, by id: C04.")],
    module: Annotated[str, typer.Option("--module", metavar="ID", help="The module that was granted.")],
    to: Annotated[Path, typer.Option("--to", metavar="FILE.jwt", help="The file to be made.")],
    name: Annotated[str | None, typer.Option("--name", metavar="NAME", help="Which of your certificate keys.")] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Say what would be written, and write nothing.")] = False,
    replace: Annotated[bool, typer.Option("--replace", help="Write over another file of this name.")] = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Make a signed certificate of one module that was granted and released.

    It is an Open Badges 3.0 credential in a signed token (RS256); `assess key new --certificate` makes the key, and
    `assess verify FILE.jwt --keys keys.yaml` checks it. Everything in it comes from the signed decision.
    """
    from assess.cli.passphrase import ask_passphrase
    from assess.cli.say import show_json, show_lines
    from assess.desk.certificate import certificate_file
    from assess.desk.opening import need_rubrics, open_course
    from assess.desk.outgoing import look_ahead, preview_json, preview_lines, write_out
    from assess.records.errors import UsageError

    if to.suffix != ".jwt":
        raise UsageError(f"{to} is no name for a certificate", todo="give it a name that ends in .jwt")
    desk = open_course(course, as_id, ask=ask_who)
    try:
        need_rubrics(desk)
        made = certificate_file(desk, candidate, module, to.name, name, lambda: ask_passphrase("passphrase of the key"))
        planned = look_ahead([made], to.parent)
    finally:
        desk.close()
    if not as_json:
        show_lines(preview_lines(planned))
    done = 0 if dry_run else write_out(planned, replace=replace)
    if as_json:
        show_json(preview_json(planned, written=not dry_run))
    elif not dry_run:
        show_lines([f"written: {done}"])
    return 0


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("certificate")(certificate)
