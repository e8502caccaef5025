"""Cross references of `round.yaml` and `reference.yaml`: ids, lessons, orders, panel, rubric, reasons."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from assess.records.errors import Problem
from assess.records.ids import base_task
from assess.records.round import LEAST_PANEL, Reasons, Round, RoundLesson
from assess.records.rubric import Rubric
from assess.store.reading import why_not_plain
from assess.store.yaml_file import YamlDoc

__all__ = ["reason_problems", "round_problems"]

FEW_LESSONS, FEW_REPEATS = 12, 4
APART = 3
"""A lesson marked again within so many others is remembered, not judged again."""
_Said = Iterator[tuple[tuple[str | int, ...], str, str, bool]]


def round_problems(doc: YamlDoc, this: Round, rubrics: Mapping[str, Rubric], root: Path) -> list[Problem]:
    """Everything in `round.yaml` that points to nothing, contradicts itself or makes a poor round."""
    rubric = rubrics.get(f"sha256:{this.rubric.sha256}")
    parts = (_people(this), _lessons(this, rubric, root), _twice(this), _orders(this), _worth(this))
    return [
        Problem(doc.shown, doc.line(*place), what, todo, doubt) for part in parts for place, what, todo, doubt in part
    ]


def _people(this: Round) -> _Said:
    seen: dict[str, str] = {}
    for key, ids in (("panel", this.panel), ("assessors", this.assessors)):
        for place, who in enumerate(ids):
            if who in seen and seen[who] != key:
                what = f"`{who}` would be compared with a reference they helped to make"
                yield (key, place), what, "take them out of the panel or of the assessors", False
            elif who in seen:
                yield (key, place), f"the id `{who}` stands twice", "take one out", False
            seen[who] = key
    n = len(set(this.panel))
    if n < LEAST_PANEL:
        what = f"a reference is built from at least {LEAST_PANEL} blind markings, and the panel has {n}"
        yield ("panel",), what, "ask more people to mark the lessons, each on their own", False
    if not this.directors:
        yield ("directors",), "the round has no director", "name who signs the results", False
    for key, given in (("assessors", this.assessors), ("lessons", this.lessons)):
        if not given:
            yield (key,), f"the round has no {key}", "list them", False


def _lessons(this: Round, rubric: Rubric | None, root: Path) -> _Said:
    ids = [lesson.id for lesson in this.lessons]
    people = {*this.panel, *this.assessors, *this.directors}
    if rubric is not None and this.area not in rubric.areas:
        yield ("area",), f"rubric `{rubric.id}` has no area `{this.area}`", f"one of {', '.join(rubric.areas)}", False
    for number, lesson in enumerate(this.lessons):
        place = ("lessons", number)
        if lesson.id in ids[:number]:
            yield (*place, "id"), f"the id `{lesson.id}` stands twice", "an id is given once: change one", False
        elif lesson.id in people:
            yield (*place, "id"), f"the id `{lesson.id}` is that of a person", "an id is given once: change one", False
        elif base_task(lesson.id, set(ids) - {lesson.id}) != lesson.id:
            yield (*place, "id"), f"`{lesson.id}` reads as the second marking of another lesson", "change it", False
        if len(f"{lesson.id}-2") > 16 and lesson.id in this.repeats:
            yield (*place, "id"), f"`{lesson.id}-2` is too long for an id", "shorten the id", False
        task = rubric.tasks.get(lesson.task) if rubric else None
        if rubric is not None and (task is None or task.area != this.area):
            known = ", ".join(name for name, each in rubric.tasks.items() if each.area == this.area) or "none"
            what = f"rubric `{rubric.id}` has no task `{lesson.task}` in area `{this.area}`"
            yield (*place, "task"), what, f"its tasks there: {known}", False
        yield from _source(place, lesson, root)


def _source(place: tuple[str, int], lesson: RoundLesson, root: Path) -> _Said:
    if bool(lesson.film) == bool(lesson.written):
        what = "has a film and a written lesson" if lesson.film else "has neither a film nor a written lesson"
        yield place, what, "say with `film` where it is kept, or with `written` which file and id", not lesson.film
    if lesson.written:
        file = Path(lesson.written.split(" ", 1)[0])
        why = "leads out of the folder" if file.is_absolute() or ".." in file.parts else why_not_plain(root / file)
        if why is not None:
            yield (*place, "written"), f"the lesson file `{file}` {why}", "put it into `lessons/`", False


def _twice(this: Round) -> _Said:
    known = {lesson.id for lesson in this.lessons}
    for number, lesson in enumerate(this.repeats):
        if lesson not in known:
            yield ("repeats", number), f"there is no lesson `{lesson}`", "name a lesson of the round", False
        elif lesson in this.repeats[:number]:
            yield ("repeats", number), f"`{lesson}` stands twice", "a lesson is marked twice at most", False


def _orders(this: Round) -> _Said:
    for who, order in this.orders.items():
        place = ("orders", who)
        mine = {slot for slot in this.slots if who in this.markers(slot)}
        if not mine:
            yield place, f"`{who}` marks nothing in this round", "take the order out", False
            continue
        twice = sorted({slot for slot in order if order.count(slot) > 1})
        strange, left = sorted(set(order) - mine), sorted(mine - set(order))
        for names, what in ((twice, "stands twice"), (strange, "is nothing they mark"), (left, "is missing")):
            if names:
                yield place, f"in the order of `{who}`: {', '.join(names)} {what}", "list each of theirs once", False
        for slot in (f"{lesson}-2" for lesson in this.repeats):
            first = slot.removesuffix("-2")
            if slot in order and first in order and (gap := order.index(slot) - order.index(first)) <= APART:
                todo = f"leave more than {APART - 1} others between" if gap > 0 else "put it after the first marking"
                what = f"`{who}` marks `{first}` again " + ("too soon to have forgotten it" if gap > 0 else "before it")
                yield place, what, todo, gap > 0


def _worth(this: Round) -> _Said:
    if 0 < len(this.lessons) < FEW_LESSONS:
        what = f"{len(this.lessons)} lessons tell a good marker from a poor one badly"
        yield ("lessons",), what, f"take {FEW_LESSONS} or more, half of them near the line", True
    if len(this.repeats) < FEW_REPEATS:
        what = f"{len(this.repeats)} lessons are marked twice: too few to see who agrees with themselves"
        yield ("repeats",) if this.repeats else ("lessons",), what, f"take {FEW_REPEATS} or more", True


def reason_problems(doc: YamlDoc, reasons: Reasons, this: Round, rubrics: Mapping[str, Rubric]) -> list[Problem]:
    """Reasons of another round, or for lessons and criteria there are not."""
    problems = []
    if reasons.round != this.id:
        what = f"is the reference of round `{reasons.round}`, not of `{this.id}`"
        problems.append(Problem(doc.shown, doc.line("round"), what, "put the right file here"))
    rubric = rubrics.get(f"sha256:{this.rubric.sha256}")
    for number, item in enumerate(reasons.reasons):
        lesson = this.lesson(item.lesson)
        if lesson is None or lesson.id != item.lesson:
            line = doc.line("reasons", number, "lesson")
            problems.append(Problem(doc.shown, line, f"there is no lesson `{item.lesson}`", "name one of the round"))
            continue
        task = rubric.tasks.get(lesson.task) if rubric else None
        if task is not None and item.criterion not in task.criteria:
            line = doc.line("reasons", number, "criterion")
            what = f"`{item.criterion}` is no criterion of {lesson.task}"
            problems.append(Problem(doc.shown, line, what, f"one of {', '.join(task.criteria)}"))
    return problems
