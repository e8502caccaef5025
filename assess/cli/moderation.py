"""Commands of the meeting after the locks: moderate, look, again, evidence."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

import typer

from assess.cli.acting import acting, looking, names, said
from assess.cli.options import As, CourseFolderPath, Json, Plain

__all__ = ["add_to"]

Reason = Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why; it is kept and printed.")]
Present = Annotated[str | None, typer.Option("--present", metavar="IDS", help="Who was there: A1,A3.")]


def moderate(
    course: CourseFolderPath,
    slot: Annotated[str | None, typer.Argument(metavar="TASK.CANDIDATE", help="The slot, like T2.C06.")] = None,
    keep_both: Annotated[bool, typer.Option("--keep-both", help="Both sheets stand.")] = False,
    agree: Annotated[
        list[str] | None, typer.Option("--agree", metavar="CRITERION=LEVEL", help="A level agreed within the marks.")
    ] = None,
    ask: Annotated[
        Literal["third-look", "repeat", "void"] | None, typer.Option("--ask", help="What is needed instead.")
    ] = None,
    idle: Annotated[bool, typer.Option("--idle", help="Keep both wherever no module can change, in one act.")] = False,
    evidence: Annotated[
        list[str] | None,
        typer.Option("--evidence", metavar="SHA256", help="Admitted late evidence, for a level outside."),
    ] = None,
    present: Present = None,
    reason: Reason = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """List the differences between markers, or write down what was agreed on one.

    Without a slot: due ones first, and of them first those that can change most.
    The marks as given stay on view; nothing is signed while a slot of the module is due.
    """
    from assess.cli.later_lines import difference_lines, view_lines
    from assess.desk.moderating import differences, keep_idle, moderate
    from assess.desk.moderation_views import differences_json, slot_view, view_json

    if not (idle or keep_both or agree or ask):
        with looking(course, as_id) as desk:
            if slot is not None:
                view = slot_view(desk, slot)
                return said(view_json(view), list(view_lines(desk, view)), as_json)
            found = differences(desk)
            return said(differences_json(desk, found), list(difference_lines(desk, found)), as_json)
    with acting(course, as_id) as desk:
        if slot is None:
            closed = keep_idle(desk, present=names(present), reason=reason)
        else:
            outcome, values = _asked(keep_both, agree or [], ask)
            moderate(desk, slot, outcome, present=names(present), reason=reason, values=values, evidence=evidence or [])
            closed = (slot,)
    return said({"moderated": list(closed)}, [f"written: {name}" for name in closed] or ["nothing to close"], as_json)


def _asked(keep_both: bool, agree: list[str], ask: str | None) -> tuple[Any, dict[str, int]]:
    """The one outcome asked for. Raises UsageError for none or several."""
    from assess.records.errors import UsageError

    if sum((keep_both, bool(agree), ask is not None)) != 1:
        raise UsageError("say what was agreed", todo="one of --keep-both, --agree criterion=level, --ask third-look")
    values = {}
    for word in agree:
        criterion, equals, level = word.partition("=")
        if not equals or not level.isdecimal():
            raise UsageError(f"`{word[:60]}` agrees on nothing", todo="write --agree edging=4")
        values[criterion] = int(level)
    return ("keep-both" if keep_both else "agree-value" if agree else ask), values


def look(
    course: CourseFolderPath,
    candidate: Annotated[str | None, typer.Argument(metavar="CANDIDATE")] = None,
    module: Annotated[str | None, typer.Argument(metavar="MODULE")] = None,
    by: Annotated[str | None, typer.Option("--by", metavar="ID", help="The third marker.")] = None,
    slots: Annotated[str | None, typer.Option("--slots", metavar="TASKS", help="Seen again: T1,T3.")] = None,
    source: Annotated[Literal["film", "present"], typer.Option("--source", help="Film, or somebody there.")] = "film",
    mix: Annotated[str | None, typer.Option("--mix", metavar="SLOTS", help="Clear slots marked along: T1.C03.")] = None,
    close: Annotated[bool, typer.Option("--close", help="The third sheets are locked: let them join.")] = False,
    reason: Reason = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Show how far a third look can reach; order one, or close it.

    Without names: every module whose outcome asks for one. One that cannot change the outcome is not offered.
    """
    from assess.cli.later_lines import reach_lines
    from assess.desk.moderation_views import reach_json
    from assess.desk.third_looks import close_look, order_look, reach_of, reach_table
    from assess.records.errors import UsageError

    if by is None and not close:
        with looking(course, as_id) as desk:
            told = (reach_of(desk, candidate, module, names(slots)),) if candidate and module else reach_table(desk)
            return said({"course": desk.course.id, "reach": reach_json(told)}, list(reach_lines(desk, told)), as_json)
    if candidate is None or module is None:
        raise UsageError("whose module?", todo="name candidate and module: C02 demo")
    with acting(course, as_id) as desk:
        if close:
            close_look(desk, candidate, module)
            done = f"closed: {candidate} {module}; the third sheets have joined the others"
        else:
            entry = order_look(
                desk, candidate, module, marker=by or "", slots=names(slots), source=source, mixed=names(mix),
                reason=reason,
            ).fact  # fmt: skip
            low, high = entry.reach  # type: ignore[union-attr]
            done = f"ordered: {candidate} {module} by {by}; it can lead to {low} to {high}"
    return said({"candidate": candidate, "module": module, "closed": close}, [done], as_json)


def again(
    course: CourseFolderPath,
    task: Annotated[str, typer.Argument(metavar="TASK", help="The task that is shown again.")],
    candidate: Annotated[str | None, typer.Argument(metavar="CANDIDATE", help="Who shows it.")] = None,
    offer: Annotated[str | None, typer.Option("--offer", metavar="MODULE", help="Offer it to all in the band.")] = None,
    why: Annotated[Literal["repeat", "completion", "resit"], typer.Option("--why", help="What it is for.")] = "repeat",
    by: Annotated[str | None, typer.Option("--by", metavar="IDS", help="Its two markers: A1,A4.")] = None,
    at: Annotated[str | None, typer.Option("--at", metavar="TIME", help="When, like 09:45.")] = None,
    reason: Reason = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Offer a repeat to everybody in the band, or give a candidate a further performance before two markers."""
    from assess.desk.further import add_slot, offer_repeat
    from assess.records.errors import UsageError

    if (offer is None) == (candidate is None):
        raise UsageError("an offer, or a candidate: one of them", todo="write --offer MODULE, or the candidate's id")
    with acting(course, as_id) as desk:
        if offer is not None:
            fact: Any = offer_repeat(desk, task, offer, reason).fact
            told = f"offered to everybody in the band of {offer}: {', '.join(fact.candidates)}"
            document = {"task": task, "module": offer, "candidates": list(fact.candidates)}
        else:
            fact = add_slot(desk, task, candidate or "", why=why, assessors=names(by), reason=reason, at=at).fact
            told = f"{fact.task}.{candidate} is marked by {', '.join(fact.assessors)}"
            document = {"slot": f"{fact.task}.{candidate}", "assessors": list(fact.assessors), "why": why}
    return said(document, [told], as_json)


def evidence(
    course: CourseFolderPath,
    slot: Annotated[str, typer.Argument(metavar="TASK.CANDIDATE", help="What it is about, like T2.C10.")],
    file: Annotated[Path | None, typer.Option("--file", metavar="FILE", help="Only its digest is kept.")] = None,
    digest: Annotated[str | None, typer.Option("--digest", metavar="SHA256", help="Its digest.")] = None,
    what: Annotated[str, typer.Option("--what", metavar="TEXT", help="What it is and where it came from.")] = "",
    ruling: Annotated[Literal["admit", "refuse"] | None, typer.Option("--ruling", help="Admit it, or not.")] = None,
    rule: Annotated[str, typer.Option("--rule", metavar="TEXT", help="By which written rule.")] = "",
    reason: Reason = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Log late evidence by its digest, or rule on it. It is shown to no marker before the lock and changes no mark."""
    from assess.desk.late_evidence import digest_of, log_late, rule_on_late
    from assess.records.errors import UsageError

    known = digest_of(file) if file is not None else digest
    if known is None:
        raise UsageError("which evidence?", todo="name the file with --file, or its --digest sha256:...")
    with acting(course, as_id) as desk:
        if ruling is None:
            log_late(desk, slot, known, what)
        else:
            candidate = slot.partition(".")[2]
            rule_on_late(desk, candidate, known, admit=ruling == "admit", rule=rule, reason=reason)
    word = {None: "logged", "admit": "admitted", "refuse": "not admitted"}[ruling]
    return said({"slot": slot, "digest": known, "ruling": word}, [f"{word}: {known}"], as_json)


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    app.command("moderate")(moderate)
    app.command("look")(look)
    app.command("again")(again)
    app.command("evidence")(evidence)
