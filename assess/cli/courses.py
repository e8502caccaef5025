"""Commands for a whole course: demo, open, check, merge, seal."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from assess.cli.options import As, CourseFolderPath, Json, Plain, ask_who

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["add_to", "hint_at_findings"]


def demo(
    folder: Annotated[Path | None, typer.Option("--dir", metavar="DIR", help="Where the copy goes.")] = None,
    unmarked: Annotated[bool, typer.Option("--unmarked", help="As it was before the first mark.")] = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Try the program on a copy of the sample course.

    The copy (`assess-sample`) is opened on screen as A1, or as --as says; a copy that is there already is
    opened as it is. Every sheet in it is locked: --unmarked gives the same course on its first morning, to
    mark in (`assess-morning`). Without a terminal, or with --json, the results of a passing copy are printed
    and nothing is kept; of an unmarked one the board, and the copy stays.
    """
    import tempfile

    from assess.cli.say import can_show_screen
    from assess.desk.demo import SAMPLE_PERSON, sample_copy

    who = as_id or SAMPLE_PERSON
    if unmarked:
        copy = sample_copy(folder or Path("assess-morning"), unmarked=True)
        return _at_course(copy, who, None, as_json=as_json, plain=plain)
    if as_json or not can_show_screen():
        from assess.cli.outcomes import print_results

        with tempfile.TemporaryDirectory(prefix="assess-") as passing:
            return print_results(sample_copy(Path(passing) / "sample"), who, as_json=as_json)
    return _at_course(sample_copy(folder or Path("assess-sample")), who, None, as_json=as_json, plain=plain)


def open_(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="A course folder, or a sheet in one.")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Open a course, or a sheet of one, on screen.

    With --plain or --json, or without a terminal, the course board or the sheet is printed instead. Of a
    rubric its text is shown, as `assess rubric show` does.
    """
    from assess.desk.opening import place_of
    from assess.records.errors import UsageError

    place = place_of(path)
    if place.kind == "rubric":
        from assess.cli.rubrics import show

        return show(path, as_id=as_id, as_json=as_json, plain=plain)
    if place.kind == "lesson":
        from assess.cli.lessons import lesson

        return lesson(path, as_json=as_json)
    if place.course is None:
        raise UsageError(f"{path} lies in no course folder", todo="name a course folder, or `assess check` the file")
    sheet = (place.task, place.candidate) if place.is_sheet else None
    return _at_course(place.course, as_id, sheet, as_json=as_json, plain=plain)


def _at_course(root: Path, as_id: str | None, sheet: tuple[str, str] | None, *, as_json: bool, plain: bool) -> int:
    """Open a course on screen, or print where there is no screen to be had or none is wanted."""
    from assess.cli.say import can_show_screen, complain
    from assess.desk.opening import need_rubrics, open_course

    screen = can_show_screen() and not (as_json or plain)
    desk = open_course(root, as_id, ask=ask_who, sits_down=screen)
    try:
        need_rubrics(desk)
        if screen:
            from assess.desk.copies import only_here
            from assess.tui.app import run

            code = run(desk, _start(desk, sheet))
            # A terminal that is gone can be told nothing.
            alone = only_here(desk) if code == 0 else ""
            if alone:
                complain(f"One copy only: {alone}")
            return code
        hint_at_findings(desk, root)
        _print_place(desk, sheet, as_json=as_json)
    finally:
        if not desk.close():
            complain("NOT SAVED: something could not be written; look at the disk")
    return 0


def _start(desk: Desk, sheet: tuple[str, str] | None) -> Any:
    """Where the screens begin: on the board, a lesson's sheet, the run sheet of a task, or a director's round."""
    if sheet is None:
        return "round" if _directs_round(desk) else "board"
    return ("lesson", *sheet) if desk.task(sheet[0]).lesson else ("task", sheet[0])


def _directs_round(desk: Desk) -> bool:
    return desk.folder.round is not None and desk.who in desk.folder.round.directors


def _print_place(desk: Desk, sheet: tuple[str, str] | None, *, as_json: bool) -> None:
    from assess.cli.board_lines import board_json, board_lines
    from assess.cli.say import show_json, show_lines
    from assess.cli.sheet_lines import sheet_json, sheet_lines

    if sheet is not None:
        slot = desk.slot(*sheet)
        if as_json:
            show_json(sheet_json(slot))
        else:
            show_lines(sheet_lines(slot))
    elif _directs_round(desk):
        from assess.cli.round_lines import round_lines
        from assess.desk.round_json import round_document
        from assess.desk.rounds import round_view

        view = round_view(desk)
        if as_json:
            show_json(round_document(desk, view))
        else:
            show_lines(round_lines(view))
    elif as_json:
        show_json(board_json(desk.board()))
    else:
        show_lines(board_lines(desk.board()))


def hint_at_findings(desk: Desk, root: Path) -> None:
    """Say on stderr that `check` would find something wrong, as far as this person may be told."""
    from assess.cli.say import complain

    wrong = desk.wrong_count()
    if wrong:
        complain(
            f"{root}: {wrong} thing{'s are' if wrong > 1 else ' is'} wrong in this course; see `assess check {root}`"
        )


def check(
    paths: Annotated[list[Path], typer.Argument(metavar="PATH...", help="Course folders, sheets, rubrics.")],
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Say everything that is wrong with courses and files.

    Each finding has its file and line; what is marked `look:` makes nothing unusable.
    Ends with 1 when something is wrong.
    """
    from assess.cli.problem_lines import count_line, problem_json, problem_line
    from assess.cli.say import show_json, show_lines
    from assess.desk.checking import check_paths

    report = check_paths(paths, as_id, ask=ask_who)
    if as_json:
        findings = [problem_json(problem) for problem in report.findings]
        show_json({"findings": findings, "not_read": list(report.not_read), "told": list(report.told)})
        return 0 if report.clean else 1
    show_lines(problem_line(problem) for problem in report.findings)
    for path in report.not_read:
        show_lines([f"{path}: of a slot that not everybody has locked only your own sheet is read here"])
    show_lines([*report.told, count_line(report.findings)])
    return 0 if report.clean else 1


def seal(course: CourseFolderPath, as_id: As = None, as_json: Json = False, plain: Plain = False) -> int:
    """Record how far every record of the course goes now.

    Whoever cuts or rewrites a record afterwards is found by `assess verify`.
    """
    from assess.cli.say import show_json, show_lines
    from assess.desk.opening import open_course
    from assess.desk.sealing import seal as seal_records

    desk = open_course(course, as_id, act=True, ask=ask_who)
    try:
        file = seal_records(desk)
    finally:
        desk.close()
    if as_json:
        show_json({"course": desk.course.id, "by": desk.who, "seal": file})
    else:
        show_lines([f"sealed by {desk.who}: {course / file}"])
    return 0


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("demo")(demo)
    app.command("open")(open_)
    app.command("check")(check)
    app.command("seal")(seal)
