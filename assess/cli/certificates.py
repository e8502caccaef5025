"""The command for certificates and the list by which they are withdrawn."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from assess.cli.options import As, CourseFolderPath, DryRun, Json, Plain, Replace, ask_who

if TYPE_CHECKING:
    from assess.desk.outgoing import Outgoing
    from assess.desk.session import Desk

__all__ = ["add_to"]


def certificate(
    course: CourseFolderPath,
    to: Annotated[Path, typer.Option("--to", metavar="FILE.jwt", help="The file to be made.")],
    candidate: Annotated[str | None, typer.Argument(metavar="CANDIDATE", help="Whose, by id: C04.")] = None,
    module: Annotated[str | None, typer.Option("--module", metavar="ID", help="The module that was granted.")] = None,
    status: Annotated[bool, typer.Option("--status", help="The list of what was withdrawn, for everybody.")] = False,
    brief: Annotated[bool, typer.Option("--brief", help="The module's mean alone, without the criteria.")] = False,
    name: Annotated[str | None, typer.Option("--name", metavar="NAME", help="Which of your certificate keys.")] = None,
    dry_run: DryRun = False,
    replace: Replace = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Make a signed certificate of one module that was granted and released, or the status list of them all.

    It is an Open Badges 3.0 credential in a signed token (RS256); `assess key new --certificate` makes the key, and
    `assess verify FILE.jwt --keys keys.yaml` checks it. Everything in it comes from the signed decision
    and what that rests on: the mean of the module and, unless --brief, of each criterion beside the rubric's levels,
    of all assessors together.
    With --status: the list that says which certificates do not hold any more, a W3C Bitstring Status List that names
    nobody. Make it anew after each decision that takes a grant back, and hand it to whoever checks certificates:
    `assess verify FILE.jwt --keys keys.yaml --status LIST.jwt`.
    """
    from assess.cli.handing_out import hand_out
    from assess.desk.opening import need_rubrics, open_course
    from assess.desk.outgoing import look_ahead
    from assess.records.errors import UsageError

    if to.suffix != ".jwt":
        raise UsageError(f"{to} is no name for a certificate", todo="give it a name that ends in .jwt")
    if (candidate is None, module is None) != (status, status):
        raise UsageError(
            "a certificate is of one candidate and one module", todo="give CANDIDATE and --module ID, or --status alone"
        )
    desk = open_course(course, as_id, ask=ask_who)
    try:
        need_rubrics(desk)
        planned = look_ahead([_made(desk, candidate, module, to.name, name, brief=brief)], to.parent)
    finally:
        desk.close()
    return hand_out(planned, dry_run=dry_run, replace=replace, as_json=as_json)


def _made(
    desk: Desk, candidate: str | None, module: str | None, file: str, key: str | None, *, brief: bool
) -> Outgoing:
    from assess.cli.passphrase import ask_passphrase
    from assess.desk.certificate import certificate_file
    from assess.desk.certificate_status import status_file

    def passphrase() -> str:
        return ask_passphrase("passphrase of the key")

    if candidate is None or module is None:
        return status_file(desk, file, key, passphrase)
    return certificate_file(desk, candidate, module, file, key, passphrase, brief=brief)


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("certificate")(certificate)
