"""Commands that end a module: breach, decide, release, resit, talk, action."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import typer

from assess.cli.acting import acting, looking, names, said
from assess.cli.options import As, CourseFolderPath, Json, Plain

__all__ = ["add_to"]

Reason = Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why; it is kept and printed.")]
Candidate = Annotated[str, typer.Argument(metavar="CANDIDATE")]
Module = Annotated[str, typer.Argument(metavar="MODULE")]
Present = Annotated[str | None, typer.Option("--present", metavar="IDS", help="Who was there: A1,D1.")]
Kind = Literal["grant", "refuse", "open", "void", "suspend", "withdraw", "renew"]


def breach(
    course: CourseFolderPath,
    candidate: Candidate,
    must_not: Annotated[str | None, typer.Argument(metavar="MUST-NOT")] = None,
    account: Annotated[str, typer.Option("--account", metavar="TEXT", help="The candidate's own account.")] = "",
    declined: Annotated[bool, typer.Option("--declined", help="The candidate declined to give one.")] = False,
    confirm: Annotated[bool | None, typer.Option("--confirm/--not-confirmed", help="What you find.")] = None,
    modules: Annotated[str | None, typer.Option("--modules", metavar="IDS", help="For these alone.")] = None,
    reason: Reason = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Show the breaches reported of a candidate; hear the candidate; confirm one or not.

    Heard first, and the same day. Who reported it, and who decides the module, does not find on it.
    """
    from assess.desk.breach_steps import STANDARD, find, hear
    from assess.desk.breaches import breach_states
    from assess.records.errors import UsageError

    if must_not is None:
        with looking(course, as_id) as desk:
            if desk.role == "nobody":
                raise UsageError("a breach is shown to the people of the course", todo="say who you are with --as ID")
            states = breach_states(desk, candidate)
        told = [f"{item.must_not}: {item.state.replace('-', ' ')}, closes {', '.join(item.modules)}" for item in states]
        document = [{"must_not": s.must_not, "state": s.state, "modules": list(s.modules)} for s in states]
        return said({"candidate": candidate, "breaches": document}, told or ["no breach that may be shown"], as_json)
    with acting(course, as_id) as desk:
        if confirm is None:
            hear(desk, candidate, must_not, account, declined=declined)
            done = "the account is kept" if account else "kept: the candidate declined"
        else:
            state: Literal["confirmed", "not-confirmed"] = "confirmed" if confirm else "not-confirmed"
            find(desk, candidate, must_not, state, reason=reason, modules=names(modules))
            done = f"{must_not}: {state.replace('-', ' ')} on the standard `{STANDARD}`"
    return said({"candidate": candidate, "must_not": must_not, "done": done}, [done], as_json)


def decide(
    course: CourseFolderPath,
    candidate: Annotated[str | None, typer.Argument(metavar="CANDIDATE")] = None,
    module: Annotated[str | None, typer.Argument(metavar="MODULE")] = None,
    sign: Annotated[bool, typer.Option("--sign", help="Sign what follows from the outcome, as --as ID.")] = False,
    kind: Annotated[Kind | None, typer.Option("--kind", help="Another decision than the one that follows.")] = None,
    valid_to: Annotated[
        str | None, typer.Option("--valid-to", metavar="DATE", help="Until when it is carried.")
    ] = None,
    waiver: Annotated[
        str, typer.Option("--waiver", metavar="TEXT", help="Why somebody who marked or trained decides; printed.")
    ] = "",
    reason: Reason = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Show what the rules propose for every module, or sign a decision in your own name.

    The tool proposes and a named person signs. A decision is superseded by a later one, never changed.
    """
    from assess.cli.later_lines import proposal_lines
    from assess.desk import deciding
    from assess.desk.moderation_views import proposals_json
    from assess.records.errors import UsageError

    if not sign:
        with looking(course, as_id) as desk:
            found = [
                item
                for item in deciding.proposals(desk)
                if candidate in (None, item.candidate) and module in (None, item.module)
            ]
            document = {"course": desk.course.id, "proposals": proposals_json(found)}
            return said(document, list(proposal_lines(desk, found)), as_json)
    if candidate is None or module is None:
        raise UsageError("sign which module of whom?", todo="each is signed by itself: C02 demo --sign")
    with acting(course, as_id) as desk:
        fact: Any = deciding.sign(
            desk, candidate, module, kind=kind, reason=reason, waiver=waiver, valid_to=valid_to
        ).fact
        line = f"{candidate} {module}: {fact.decision}, signed by {desk.name(desk.who or '')} ({desk.who})"
    document = {"candidate": candidate, "module": module, "decision": fact.decision, "seal": fact.seal}
    return said({**document, "waiver": fact.waiver}, [line], as_json)


def release(
    course: CourseFolderPath,
    to: Annotated[Literal["assessors", "candidates"], typer.Option("--to", help="Who may see it now.")],
    modules: Annotated[str | None, typer.Option("--modules", metavar="IDS", help="These alone.")] = None,
    candidates: Annotated[str | None, typer.Option("--candidates", metavar="IDS", help="These alone.")] = None,
    reason: Reason = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Let assessors see the outcomes as they stand, or candidates what was signed."""
    from assess.desk.feedback import release as let_see

    with acting(course, as_id) as desk:
        let_see(desk, to, names(modules), names(candidates), reason)
    whose = f"{candidates or 'all candidates'}, {modules or 'all modules'}"
    return said({"released_to": to, "of": whose}, [f"released to {to}: {whose}"], as_json)


def resit(
    course: CourseFolderPath,
    candidate: Candidate,
    module: Module,
    opens: Annotated[str, typer.Option("--opens", metavar="DATE", help="From this day.")],
    closes: Annotated[str, typer.Option("--closes", metavar="DATE", help="Until this day.")],
    tries: Annotated[int, typer.Option("--tries", min=2, max=9, help="How many in all, the first included.")] = 3,
    tasks: Annotated[str | None, typer.Option("--tasks", metavar="IDS", help="These alone; else all of it.")] = None,
    reason: Reason = "",
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Open one module again after a signed refusal; what was granted is carried, with its date."""
    from assess.desk.resits import open_resit

    with acting(course, as_id) as desk:
        fact: Any = open_resit(
            desk, candidate, module, opens=opens, closes=closes, max_tries=tries, tasks=names(tasks), reason=reason
        ).fact
    carried = ", ".join(f"{name} until {day}" for name, day in fact.carried.items()) or "nothing"
    line = f"{candidate} {module} is open again {opens} to {closes}: {', '.join(fact.tasks)}; carried: {carried}"
    return said(
        {"candidate": candidate, "module": module, "tasks": list(fact.tasks), "carried": fact.carried}, [line], as_json
    )


def talk(
    course: CourseFolderPath,
    candidate: Candidate,
    kind: Annotated[Literal["interim", "result"], typer.Argument(metavar="interim|result")],
    minutes: Annotated[
        int, typer.Option("--minutes", min=1, max=240, help="How long; interim talks: the same for all.")
    ],
    told: Annotated[
        list[str] | None, typer.Option("--said", metavar="ENTRY", help="An observation told: `T1.C04.A2.d7h2k 3`.")
    ] = None,
    present: Present = None,
    words: Annotated[str, typer.Option("--words", metavar="TEXT", help="The candidate's own words.")] = "",
    copied: Annotated[bool, typer.Option("--copy-given", help="A copy was handed over.")] = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Log a talk: interim, with observations only, or about the signed result."""
    from assess.desk.feedback import interim_talk, result_talk

    with acting(course, as_id) as desk:
        if kind == "interim":
            interim_talk(desk, candidate, minutes, told or [], present=names(present), words=words)
        else:
            result_talk(desk, candidate, minutes, present=names(present), words=words, copied=copied)
    return said(
        {"candidate": candidate, "talk": kind, "minutes": minutes}, [f"logged: {kind} talk, {minutes} minutes"], as_json
    )


def action(
    course: CourseFolderPath,
    candidate: Candidate,
    module: Module,
    behaviour: Annotated[str, typer.Option("--behaviour", metavar="TEXT", help="What it will look like.")],
    evidence: Annotated[list[str], typer.Option("--evidence", metavar="ENTRY", help="The observation it comes from.")],
    checked_by: Annotated[str, typer.Option("--checked-by", metavar="TEXT", help="How one will see it.")],
    by_when: Annotated[str, typer.Option("--by-when", metavar="DATE", help="By when.")],
    drills: Annotated[str | None, typer.Option("--drills", metavar="IDS", help="Drills of the catalogue.")] = None,
    practice: Annotated[str, typer.Option("--practice", metavar="TEXT", help="How it is practised.")] = "",
    criterion: Annotated[
        str | None, typer.Option("--criterion", metavar="ID", help="The criterion it is about.")
    ] = None,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Write down one thing to train, from a signed decision; three at most."""
    from assess.desk.feedback import plan_action

    with acting(course, as_id) as desk:
        plan_action(
            desk, candidate, module, behaviour=behaviour, evidence=evidence, checked_by=checked_by, by_when=by_when,
            criterion=criterion, drills=names(drills), practice=practice,
        )  # fmt: skip
    return said({"candidate": candidate, "module": module, "behaviour": behaviour}, [f"to train: {behaviour}"], as_json)


def add_to(app: typer.Typer) -> None:
    """Put these commands into the program."""
    for name, function in (
        ("breach", breach), ("decide", decide), ("release", release), ("resit", resit), ("talk", talk),
        ("action", action),
    ):  # fmt: skip
        app.command(name)(function)
