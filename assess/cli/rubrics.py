"""Commands for rubrics: show, diff, check."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from assess.cli.directing import pin
from assess.cli.options import As, Json, Plain
from assess.cli.rubric_exchange import give, take

if TYPE_CHECKING:
    from assess.desk.rubric_diff import Change

__all__ = ["add_to", "show"]

RubricFile = Annotated[Path, typer.Argument(metavar="FILE", help="A rubric file.")]


def show(
    file: RubricFile,
    task: Annotated[str | None, typer.Option("--task", metavar="ID", help="Only this task.")] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Print a whole rubric as an assessor reads it."""
    from assess.cli.say import show_json, show_lines
    from assess.desk.checking import read_rubric
    from assess.desk.rubric_show import show_rubric

    rubric, _ = read_rubric(file)
    if as_json:
        show_json(rubric.model_dump(mode="json", by_alias=True))
    else:
        show_lines(show_rubric(rubric, task=task))
    return 0


def diff(
    old: Annotated[Path, typer.Argument(metavar="OLD", help="The version before.")],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="The version after.")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say what differs between two rubrics.

    And whether outcomes could change by it, for marks already given.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.checking import read_rubric
    from assess.desk.rubric_diff import diff_rubrics
    from assess.records.errors import InputError, Problem

    problems: list[Problem] = []
    rubrics = []
    for file in (old, new):
        try:
            rubrics.append(read_rubric(file)[0])
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    found = diff_rubrics(*rubrics)
    if as_json:
        show_json(
            {
                "old": found.old,
                "new": found.new,
                "could_change_outcomes": found.could_change_outcomes,
                "areas": list(found.areas),
                "sentences": list(found.sentences),
                "changes": [_change_json(change) for change in found.changes],
            }
        )
        return 0
    show_lines(found.sentences)
    for change in found.changes:
        areas = f" [{', '.join(change.areas)}]" if change.areas else ""
        show_lines([f"{change.group}{areas}: {change.text} ({change.why})"])
    return 0


def _change_json(change: Change) -> dict[str, Any]:
    from dataclasses import asdict

    return {**asdict(change), "areas": list(change.areas)}


def check(
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Rubric files.")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say what is wrong or doubtful in rubrics, with the line.

    What is marked `look:` may be meant. Ends with 1 when something is wrong.
    """
    from assess.cli.problem_lines import count_line, problem_json, problem_line
    from assess.cli.say import show_json, show_lines
    from assess.desk.checking import rubric_findings
    from assess.records.errors import InputError, Problem

    found: list[Problem] = []
    for file in files:
        try:
            found += rubric_findings(file)
        except InputError as error:
            found += error.problems
    wrong = sum(not problem.doubt for problem in found)
    if as_json:
        show_json({"findings": [problem_json(problem) for problem in found]})
        return 1 if wrong else 0
    show_lines(problem_line(problem) for problem in found)
    show_lines([count_line(found)])
    return 1 if wrong else 0


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    rubric = typer.Typer(
        help="Show, compare and check rubrics, put one in force, exchange them with other programs.",
        rich_markup_mode=None,
        no_args_is_help=True,
    )
    rubric.command("show")(show)
    rubric.command("diff")(diff)
    rubric.command("check")(check)
    rubric.command("pin")(pin)
    rubric.command("give")(give)
    rubric.command("take")(take)
    app.add_typer(rubric, name="rubric")
