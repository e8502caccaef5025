"""The command for practice at judging: practice."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from assess.cli.acting import names, said
from assess.cli.options import As, Json, Plain

if TYPE_CHECKING:
    from assess.desk.judging import Answer, Judged, PracticeLesson

__all__ = ["add_to"]


def practice(
    files: Annotated[list[Path] | None, typer.Argument(metavar="FILE...", help="Written lessons.")] = None,
    lesson: Annotated[str | None, typer.Option("--lesson", metavar="ID", help="This one.")] = None,
    ruled_out: Annotated[str | None, typer.Option("--ruled-out", metavar="IDS", help="Causes it is not.")] = None,
    named: Annotated[str | None, typer.Option("--named", metavar="IDS", help="Faults, weightiest first.")] = None,
    drills: Annotated[str | None, typer.Option("--drills", metavar="IDS", help="What you would take.")] = None,
    hazards: Annotated[str | None, typer.Option("--hazards", metavar="IDS", help="Dangers you saw.")] = None,
    history: Annotated[bool, typer.Option("--history", help="What came of your attempts.")] = False,
    as_id: As = None,
    as_json: Json = False,
    plain: Plain = False,
) -> int:
    """Practise judging: a written lesson unfolds; you name what you see, then see the panel's reference with reasons.

    Without files the shipped lessons; the one not seen for longest comes first. In a terminal it asks, else give
    your answer as options. It is kept for you alone: no mark, and in no decision.
    """
    from assess.cli.say import on_terminal, show_lines
    from assess.desk.judging import Answer, attempts_of, chosen_lesson, history_of, judged_and_kept, judged_lines

    who = as_id or "me"
    if history:
        told = history_of(who)
        return said({"who": who, "attempts": attempts_of(who), "sentence": told[-1]}, list(told), as_json)
    item = chosen_lesson(files or [], who, lesson)
    given = any((ruled_out, named, drills, hazards))
    if not given and not (on_terminal() and not as_json):
        return said(_scene_json(item), [*_scene(item), *_names(item)], as_json)
    if given:
        answer = Answer(names(ruled_out), names(named), names(drills), names(hazards))
    else:
        show_lines(_scene(item)[: len(item.scene) + 1])
        answer = _asked(item)
    found = judged_and_kept(item, answer, who)
    return said(_judged_json(found), list(judged_lines(found, item)), as_json)


def _scene(item: PracticeLesson) -> list[str]:
    return [*item.scene, "", *(f"{minute:4g} min  {what}" for minute, what in item.unfolding)]


def _names(item: PracticeLesson) -> Iterator[str]:
    yield ""
    yield f"answer with --lesson {item.lesson.id} --ruled-out --named --drills --hazards"
    yield f"hazards: {', '.join(hazard.id for hazard in item.scenario.hazards)}"
    yield "faults, causes and drills: the ids of the catalogue (`assess lesson` shows them in use)"


def _asked(item: PracticeLesson) -> Answer:
    """Unfold it minute by minute, then ask; each name by its first letters."""
    from assess.cli.say import show_lines
    from assess.desk.judging import Answer

    for minute, what in item.unfolding:
        show_lines([f"{minute:4g} min  {what}"])
        _line("       Enter goes on")
    faults = item.choices("faults")
    return Answer(
        _several("ruled out (what it is not)", faults),
        _several("faults and causes, the weightiest first", faults),
        _several("drills you would take", item.choices("drills")),
        _several("hazards of the place", item.choices("hazards")),
    )


def _several(title: str, known: dict[str, str]) -> tuple[str, ...]:
    """Names typed by their first letters, one a line, until an empty line."""
    from assess.cli.say import complain, show_lines

    show_lines([f"{title}: first letters of a name, an empty line ends"])
    chosen: list[str] = []
    while word := _line("  > ").strip().casefold():
        hits = [ident for ident, label in known.items() if word in (ident.casefold(), label.casefold())]
        hits = hits or [i for i, label in known.items() if i.casefold().startswith(word) or word in label.casefold()]
        if len(hits) == 1:
            chosen.append(hits[0])
            show_lines([f"    {known[hits[0]]}"])
        else:
            complain(f"    {', '.join(hits[:6]) or 'nothing is called so'}")
    return tuple(dict.fromkeys(chosen))


def _line(prompt: str) -> str:
    sys.stderr.write(prompt)
    sys.stderr.flush()
    return sys.stdin.readline()


def _scene_json(item: PracticeLesson) -> dict[str, Any]:
    steps = [{"minute": minute, "what": what} for minute, what in item.unfolding]
    return {"lesson": item.lesson.id, "scene": list(item.scene), "unfolding": steps}


def _judged_json(found: Judged) -> dict[str, Any]:
    return {
        "lesson": found.lesson, "score": found.score, "chance": found.chance, "found": found.found,
        "why": list(found.why), "reference": list(found.reference), "drills": dict(found.drills),
        "hazards_missed": list(found.hazards_missed), "hazards_share": found.hazards_share,
    }  # fmt: skip


def add_to(app: typer.Typer) -> None:
    """Put this command into the program."""
    app.command("practice")(practice)
