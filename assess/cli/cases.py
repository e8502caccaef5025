"""Commands for appeals and complaints: case, appeal."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from assess.cli.acting import acting, looking, names, said
from assess.cli.options import As, CourseFolderPath, Json, Plain

if TYPE_CHECKING:
    from assess.desk.cases import Case
    from assess.desk.session import Desk

__all__ = ["add_to"]

Step = Literal["file", "acknowledge", "reviewer", "check", "find", "close"]
Result = Literal["upheld", "partly", "rejected", "not-admissible"]


def case(
    course: CourseFolderPath,
    about: Annotated[str | None, typer.Argument(metavar="CANDIDATE|CASE", help="C08, or the case C08-1.")] = None,
    html: Annotated[Path | None, typer.Option("--html", metavar="FILE", help="Write the file as one page.")] = None,
    archive: Annotated[Path | None, typer.Option("--zip", metavar="FILE", help="Write it with its records.")] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """List the appeals and complaints, or gather everything the record says about a candidate.

    What is missing comes first. The file finds nothing and proposes nothing.
    """
    from assess.desk.cases import cases

    if about is not None:
        return _gathered(course, as_id, about, html, archive, as_json=as_json)
    with looking(course, as_id) as desk:
        found = cases(desk)
    keys = ("id", "candidate", "state", "due", "until", "overdue")
    lines = [
        f"{item.id}  {item.candidate}  {item.opened.about}: {item.state}"
        + (f"; {item.due} until {item.until}" if item.due else "")
        + (" OVERDUE" if item.overdue else "")
        for item in found
    ]
    return said({"cases": [{key: getattr(item, key) for key in keys} for item in found]}, lines or ["no case"], as_json)


def appeal(
    course: CourseFolderPath,
    about: Annotated[str, typer.Argument(metavar="CANDIDATE|CASE", help="file: C08; else the case, C08-1.")],
    step: Annotated[Step, typer.Argument(metavar="STEP", help="file, acknowledge, reviewer, check, find or close.")],
    text: Annotated[str, typer.Option("--text", metavar="TEXT", help="What is claimed, checked, found, told.")] = "",
    module: Annotated[str | None, typer.Option("--module", metavar="ID", help="file: the module.")] = None,
    grounds: Annotated[
        str | None, typer.Option("--grounds", metavar="WORDS", help="file: procedure, evidence, conflict, calculation.")
    ] = None,
    complaint: Annotated[bool, typer.Option("--complaint", help="file: a complaint, no appeal.")] = False,
    on: Annotated[str | None, typer.Option("--on", metavar="DATE", help="The day; without it, today.")] = None,
    who: Annotated[str, typer.Option("--who", metavar="ID", help="reviewer: who looks at it.")] = "",
    result: Annotated[Result | None, typer.Option("--result", help="find: what was found.")] = None,
    remedy: Annotated[str, typer.Option("--remedy", metavar="TEXT", help="find: what is done about it.")] = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Take the next step of an appeal or a complaint; somebody from outside the course looks at it."""
    with acting(course, as_id) as desk:
        day = on or desk.today()
        told = {"text": text, "grounds": names(grounds), "module": module, "who": who, "remedy": remedy}
        now = _taken(desk, about, step, day, complaint=complaint, result=result, **told)
    after = f"; next: {now.due} until {now.until}" if now.due else ""
    document = {"id": now.id, "state": now.state, "due": now.due, "until": now.until}
    return said(document, [f"{now.id}: {now.state}{after}"], as_json)


def _taken(desk: Desk, name: str, step: Step, day: str, *, complaint: bool, result: Result | None, **told: Any) -> Case:
    """Take one step; the case as it then stands."""
    from assess.desk import cases

    if step == "file":
        about = "complaint" if complaint else "appeal"
        name = cases.open_case(
            desk, name, claim=told["text"], grounds=told["grounds"], received=day, about=about, module=told["module"]
        )
    elif step == "acknowledge":
        cases.acknowledge(desk, name, day, told["text"])
    elif step == "reviewer":
        cases.set_reviewer(desk, name, told["who"], told["text"])
    elif step == "check":
        cases.check_claim(desk, name, told["text"])
    elif step == "find":
        cases.find_on(desk, name, result or "", told["text"], told["remedy"])
    else:
        cases.close_case(desk, name, day, told["text"])
    return cases.case_of(desk, name)


def _gathered(
    course: Path, as_id: str | None, about: str, html: Path | None, archive: Path | None, *, as_json: bool
) -> int:
    from assess.cli.say import show_json, show_lines
    from assess.desk.case_page import case_archive, case_html, case_lines
    from assess.desk.case_record import case_record
    from assess.desk.cases import case_of
    from assess.desk.new_file import write_new

    with looking(course, as_id) as desk:
        one = None if about in desk.course.candidates else case_of(desk, about)
        record = case_record(desk, one.candidate if one else about, one)
        written = []
        if html is not None:
            write_new(html, case_html(record), private=True)
            written.append(str(html))
        if archive is not None:
            write_new(archive, case_archive(desk, record), private=True)
            written.append(str(archive))
    if as_json:
        show_json(record)
        return 0
    show_lines([f"written: {name}" for name in written] or case_lines(record))
    return 0


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("case")(case)
    app.command("appeal")(appeal)
