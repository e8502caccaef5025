"""The command about a calibration round."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from assess.cli.options import As, Json, Plain, ask_who

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["add_to"]

Folder = Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder of a calibration round.")]
Assessor = Annotated[str | None, typer.Option("--assessor", metavar="ID", help="One assessor, lesson by lesson: A2.")]
Sign = Annotated[bool, typer.Option("--sign", help="Sign the results the rule gives, as the director named by --as.")]
Into = Annotated[
    Path | None, typer.Option("--into", metavar="COURSE", help="Put the licences into that course's people.yaml too.")
]


def round_(
    folder: Folder,
    assessor: Assessor = None,
    sign: Sign = False,
    into: Into = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say how assessors marked the lessons of a calibration round, against the panel's reference.

    A director sees everybody who has locked all their sheets; an assessor only themselves, and nothing before their
    own last lock. The rule of the round proposes current, mark again or train and prints its own chances; --sign
    writes it into the assessor's record. Ends with 1 where the rule cannot be used.
    """
    from assess.cli.say import complain
    from assess.desk.opening import open_course
    from assess.records.errors import UsageError

    if into is not None and not sign:
        raise UsageError("--into goes with --sign", todo="say --sign too, or leave --into out")
    desk = open_course(folder, as_id, act=sign, ask=ask_who)
    try:
        return _signed(desk, assessor, into, as_json) if sign else _shown(desk, assessor, as_json)
    finally:
        if not desk.close():
            complain("NOT SAVED: something could not be written; look at the disk")


def _shown(desk: Desk, assessor: str | None, as_json: bool) -> int:
    from assess.cli.round_lines import assessor_lines, round_lines
    from assess.cli.say import show_json, show_lines
    from assess.desk.round_json import round_document
    from assess.desk.rounds import round_view

    view = round_view(desk, assessor)
    found = view.assessor(assessor) if assessor else None
    if as_json:
        show_json(round_document(desk, view))
    else:
        show_lines(round_lines(view) if found is None else assessor_lines(desk, view, found))
    return 1 if view.refused else 0


def _signed(desk: Desk, assessor: str | None, into: Path | None, as_json: bool) -> int:
    from assess.cli.round_lines import signed_lines
    from assess.cli.say import show_json, show_lines
    from assess.desk.marks_given import wait_until_saved
    from assess.desk.round_json import signed_document
    from assess.desk.round_signing import add_licences, sign_round
    from assess.desk.rounds import round_view

    signed = sign_round(desk, round_view(desk, assessor).assessors)
    wait_until_saved(desk)
    if into is not None:
        signed = add_licences(desk, into, signed)
    named = str(into) if into is not None else None
    if as_json:
        show_json(signed_document(signed, named))
    else:
        show_lines(signed_lines(signed, named))
    return 0


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("round")(round_)
