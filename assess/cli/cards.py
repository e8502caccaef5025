"""The command for paper cards: to print, and to type in what was written on them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from assess.cli.options import As, CourseFolderPath, DryRun, Json, Plain, Replace, ToFolder, ask_who

if TYPE_CHECKING:
    from assess.desk.outgoing import Outgoing
    from assess.desk.session import Desk

__all__ = ["add_to"]


def cards(
    course: CourseFolderPath,
    marker: Annotated[str | None, typer.Option("--for", metavar="ID", help="Whose cards; else your own.")] = None,
    to: ToFolder = None,
    size: Annotated[Literal["a6", "a5"], typer.Option("--size", help="a6: four to a sheet of A4. a5: two.")] = "a6",
    day: Annotated[int | None, typer.Option("--day", metavar="N", help="The tasks of one day only.")] = None,
    language: Annotated[str, typer.Option("--language", metavar="LL", help="en or de.")] = "en",
    dry_run: DryRun = False,
    replace: Replace = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Make paper cards for when the device is dead, with the codes of the screens.

    A line per candidate for demonstrations, a card per lesson; blank, and only of slots the assessor marks. Each card
    has a number of five digits, by which it is typed in later: `t` on the board.
    """
    from assess.cli.handing_out import folder_named, hand_out
    from assess.desk.opening import need_rubrics, open_course
    from assess.desk.outgoing import look_ahead

    folder = folder_named(to, dry_run=dry_run)
    desk = open_course(course, as_id or marker, ask=ask_who)
    try:
        need_rubrics(desk)
        planned = look_ahead(_files(desk, marker, size, day, language), folder)
    finally:
        desk.close()
    return hand_out(planned, dry_run=dry_run, replace=replace, as_json=as_json)


def _files(
    desk: Desk, marker: str | None, size: Literal["a6", "a5"], day: int | None, language: str
) -> tuple[Outgoing, ...]:
    from assess.desk.cards import card_files, card_set
    from assess.records.errors import UsageError

    whose = marker or desk.who
    if whose is None:
        raise UsageError("whose cards?", todo="name an assessor with --for ID")
    return card_files(card_set(desk, whose, size, day), language)


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("cards")(cards)
