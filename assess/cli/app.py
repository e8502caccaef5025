"""The commands, gathered: of those that are not asked for no more than is needed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from importlib import import_module
from typing import Annotated, Any

import typer

from assess import __version__

__all__ = ["COMMANDS", "command"]

COMMANDS: dict[str, tuple[str, ...]] = {
    "courses": ("demo", "open", "check", "seal"),
    "devices": ("merge", "bundle"),
    "verifying": ("verify",),
    "sheets": ("mark", "lock", "import"),
    "outcomes": ("results", "export"),
    "making": ("new", "schema"),
    "planning": ("plan",),
    "cards": ("cards",),
    "directing": ("allocate",),
    "persons": ("person",),
    "moderation": ("moderate", "look", "again", "evidence"),
    "decisions": ("breach", "decide", "release", "resit", "talk", "action"),
    "cases": ("case", "appeal"),
    "certificates": ("certificate",),
    "letters": ("letters",),
    "rubrics": ("rubric",),
    "lessons": ("lesson", "change"),
    "film": ("film",),
    "practising": ("practice",),
    "agreement": ("agreement", "dependability"),
    "severity": ("severity",),
    "quality": ("quality",),
    "assessors": ("assessors",),
    "rounds": ("round",),
    "pages": ("page",),
    "turns": ("turns",),
    "keys": ("key",),
}
"""Module of `assess.cli` -> the commands it adds, in the order in which they are listed."""


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


def command(words: Sequence[str] | None = None) -> Any:
    """The command that can be run with these words; without words, the whole of it.

    typer reads the signature of every command it is given (30 ms for all of them), so it is given the
    module of the command that is asked for, and for the list of commands their names and first lines.
    """
    first = next((word for word in words or () if not word.startswith("-")), None)
    wanted = tuple(module for module, names in COMMANDS.items() if first in names)
    return _built(wanted or tuple(COMMANDS), words is not None and not wanted)


@cache
def _built(modules: tuple[str, ...], names_alone: bool) -> Any:
    app = typer.Typer(
        name="assess",
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        add_completion=True,
        no_args_is_help=True,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    )
    app.callback()(_start)
    for module in modules:
        import_module(f"assess.cli.{module}").add_to(app)
    if names_alone:
        _names_alone(app)
    return typer.main.get_command(app)


def _names_alone(app: typer.Typer) -> None:
    """Put in place of every command one that takes no words and has the same description."""
    for info in app.registered_commands:
        if info.callback is not None:
            info.callback = _described(info.callback)
    for group in app.registered_groups:
        if group.typer_instance is not None:
            _names_alone(group.typer_instance)


def _described(function: Callable[..., Any]) -> Callable[[], None]:
    def listed() -> None:
        raise NotImplementedError("a command that is listed is not run")

    listed.__doc__ = function.__doc__
    return listed
