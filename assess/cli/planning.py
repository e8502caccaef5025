"""The command that plans a course."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from assess.cli.options import As, CourseFolderPath, Json, Plain, ask_who

if TYPE_CHECKING:
    from assess.desk.planning import PlannedCourse
    from assess.desk.session import Desk

__all__ = ["add_to"]


def plan(
    course: CourseFolderPath,
    seed: Annotated[
        int | None, typer.Option("--seed", min=0, max=999_999_999, help="What running orders are drawn with.")
    ] = None,
    write: Annotated[bool, typer.Option("--write", help="Put the plan into course.yaml (a director).")] = False,
    rest: Annotated[bool, typer.Option("--rest", help="Plan only tasks that have no sheet yet (a director).")] = False,
    programme: Annotated[
        bool, typer.Option("--programme", help="Print the programme of the allocation there is, and plan nothing.")
    ] = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say who marks whom, when and where, or what stands in the way of it.

    Two markers in every slot, nobody in two pairs of a task, conflicts and licences kept out, somebody fresh for a
    third look, the light of each day, equal loads. Nothing is written without --write.
    """
    from assess.cli.say import show_json
    from assess.desk.opening import open_course
    from assess.desk.planning import plan_course, plan_document, standing_plan
    from assess.desk.planning_write import must_direct, write_plan
    from assess.records.errors import UsageError

    if programme and (write or rest or seed is not None):
        raise UsageError("--programme prints what is planned already", todo="leave out --write, --rest and --seed")
    desk = open_course(course, as_id, ask=ask_who if write or rest else None, act=write or rest)
    try:
        if write:
            must_direct(desk)
        planned = standing_plan(desk) if programme else plan_course(desk, seed=seed, rest=rest)
        notes = write_plan(desk, planned) if write and not planned.plan.obstacles else None
        if as_json:
            show_json(plan_document(planned, written=notes is not None) | {"notes": list(notes or ())})
        else:
            _show(desk, planned, notes, programme=programme)
    finally:
        desk.close()
    return 1 if planned.plan.obstacles else 0


def _show(desk: Desk, planned: PlannedCourse, notes: tuple[str, ...] | None, *, programme: bool) -> None:
    from assess.cli.programme_lines import plan_lines, programme_lines, written_lines
    from assess.cli.say import show_lines

    show_lines(programme_lines(desk, planned) if programme else plan_lines(desk, planned))
    if notes is not None:
        show_lines(written_lines(notes))


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("plan")(plan)
