"""Commands that make something to start from: new, schema."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

import typer

from assess.cli.options import As, Json, Plain

__all__ = ["add_to"]


def new_course(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="A folder that does not exist yet.")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Make a course folder to be filled in.

    It has one day, two candidates, two assessors, a director and a small rubric, and passes `assess check`.
    """
    from datetime import datetime

    from assess.desk.scaffold import new_course as make

    return _made(make(path, datetime.now().astimezone().date()), as_json=as_json)


def new_round(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="A folder that does not exist yet.")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Make the folder of a calibration round to be filled in.

    It has twelve lessons, four of them marked twice, a panel of four, two assessors and a rule, each explained.
    """
    from datetime import datetime

    from assess.desk.scaffold import new_round as make

    return _made(make(path, datetime.now().astimezone().date()), as_json=as_json)


def new_rubric(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="A file that does not exist yet: r-1.yaml")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Make a small rubric in which every sentence waits to be replaced."""
    from assess.desk.scaffold import new_rubric as make

    return _made(make(path), as_json=as_json)


def new_lesson(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="A file that does not exist yet: lesson-1.yaml")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Make a written practice lesson, explained line by line."""
    from assess.desk.scaffold import new_lesson as make

    return _made(make(path), as_json=as_json)


def new_quality(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="The folder the courses stand in, or a course folder.")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Make a quality.yaml: when the report is due, what came of it, how pass lines were set."""
    from datetime import datetime

    from assess.desk.scaffold import new_quality as make

    return _made(make(path, datetime.now().astimezone().date()), as_json=as_json)


def _made(files: Iterable[Path], *, as_json: bool) -> int:
    from assess.cli.say import show_json, show_lines

    if as_json:
        show_json({"made": [str(file) for file in files]})
    else:
        show_lines(f"made {file}" for file in files)
    return 0


def schema(
    name: Annotated[str | None, typer.Argument(metavar="NAME", help="Which schema; without it, the names.")] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Print the JSON Schema (2020-12) of a kind of file, or of what a command prints with --json.

    Those of commands are called json-results, json-person-due and so on. Without a name, the names of all schemas;
    with --json and without a name, all schemas.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.schemas import SCHEMA_NAMES
    from assess.desk.schemas import schema as schema_of

    if name is not None:
        show_json(schema_of(name))
    elif as_json:
        show_json({each: schema_of(each) for each in SCHEMA_NAMES})
    else:
        show_lines(SCHEMA_NAMES)
    return 0


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    new = typer.Typer(
        help="Make a course, a calibration round, a rubric, a practice lesson or a quality file to start from.",
        rich_markup_mode=None,
        no_args_is_help=True,
    )
    new.command("course")(new_course)
    new.command("round")(new_round)
    new.command("rubric")(new_rubric)
    new.command("lesson")(new_lesson)
    new.command("quality")(new_quality)
    app.add_typer(new, name="new")
    app.command("schema")(schema)
