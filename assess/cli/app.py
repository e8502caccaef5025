"""The commands, gathered."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from assess import __version__
from assess.cli.courses import add_to as add_courses
from assess.cli.directing import add_to as add_directing
from assess.cli.lessons import add_to as add_lessons
from assess.cli.making import add_to as add_making
from assess.cli.outcomes import add_to as add_outcomes
from assess.cli.rubrics import add_to as add_rubrics
from assess.cli.sheets import add_to as add_sheets

__all__ = ["command"]


def _version(wanted: bool) -> None:
    if wanted:
        from assess.cli.say import show_lines

        show_lines([f"assess {__version__}"])
        raise typer.Exit


def _start(
    _: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and end.")
    ] = False,
) -> None:
    """Assess sports instructors: mark what you see, compare, decide by written rules.

    People decide; this program writes down, counts and reminds.
    """


def command() -> Any:
    """The whole command, ready to be run with words."""
    app = typer.Typer(
        name="assess",
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        add_completion=True,
        no_args_is_help=True,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    )
    app.callback()(_start)
    for add in (add_courses, add_sheets, add_outcomes, add_lessons, add_making, add_directing, add_rubrics):
        add(app)
    return typer.main.get_command(app)
