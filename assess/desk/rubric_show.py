"""A rubric as plain lines for a terminal, as an assessor reads it."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from math import sqrt
from typing import TYPE_CHECKING

from assess.desk.rubric_check import EXPECTED_BEST
from assess.records.errors import UsageError
from assess.records.ids import base_task
from assess.records.text import pictured

if TYPE_CHECKING:
    from assess.records.rubric import MustNot, Question, Rubric, SafetyListItem, Task

__all__ = ["show_rubric"]

_WIDTH = 100
_MARKERS = 2
_FOLDS = {
    "last": "the last counts",
    "median": "the median counts",
    "best": "the best counts",
    "overall": "one overall mark counts",
}


def show_rubric(rubric: Rubric, *, task: str | None = None) -> list[str]:
    """The rubric, or what one task needs of it, as lines of at most 100 terminal cells without colour or frames.

    Raises UsageError for a task the rubric does not have; `T2-2` shows `T2`.
    """
    if task is None:
        return list(_whole(rubric))
    name = base_task(task, set(rubric.tasks))
    if name not in rubric.tasks:
        raise UsageError(f"there is no task {task} in {rubric.id}", todo=f"use one of {', '.join(rubric.tasks)}")
    return list(_one(rubric, name))


def _whole(rubric: Rubric) -> Iterator[str]:
    replaces = f", replaces {rubric.replaces}" if rubric.replaces else ""
    yield from _wrapped(f"{rubric.id}  {rubric.title}", "")
    yield from _wrapped(f"{rubric.activity}, {rubric.language}{replaces}", "  ")
    yield from _wrapped(rubric.note, "  ")
    yield from _scale(rubric)
    yield from ("", "AREAS AND MODULES")
    for name, area in rubric.areas.items():
        yield from _wrapped(f"area {name}: {area.title}", "  ")
    for name, module in rubric.modules.items():
        title = f" ({module.title})" if module.title else ""
        yield from _wrapped(f"module {name}{title} counts {', '.join(module.tasks)}", "  ")
    yield from ("", "TASKS")
    for name in rubric.tasks:
        yield from _task(rubric, name)
    for name, area in rubric.areas.items():
        criteria = [key for key, criterion in rubric.criteria.items() if criterion.area == name]
        if criteria:
            yield from ("", *_wrapped(f"CRITERIA: {area.title}", ""))
        yield from _criteria(rubric, criteria)
    loose = [key for key, criterion in rubric.criteria.items() if criterion.area not in rubric.areas]
    if loose:
        yield from ("", "CRITERIA OF NO AREA", *_criteria(rubric, loose))
    yield from ("", "RULES")
    yield from _rules(rubric)
    yield from _must_nots(rubric, rubric.must_nots)
    yield from _lists(rubric)


def _one(rubric: Rubric, name: str) -> Iterator[str]:
    task = rubric.tasks[name]
    yield from _task(rubric, name)
    yield from _criteria(rubric, [key for key in task.criteria if key in rubric.criteria])
    yield from ("", *_wrapped(_evidence(rubric), ""))
    modules = set(rubric.modules_of(name))
    yield from _must_nots(rubric, [rule for rule in rubric.must_nots if modules & set(rule.closes)])
    if task.lesson:
        yield from _lists(rubric)


def _scale(rubric: Rubric) -> Iterator[str]:
    scale, line = rubric.scale, _text(rubric.scale.pass_line)
    yield from ("", f"SCALE {scale.min} to {scale.max}")
    for level, words in sorted(scale.words.items()):
        yield from _wrapped(words, f"  {level}  ")
    yield f"  pass line {line}: a value of {line} or more is above it"


def _task(rubric: Rubric, name: str) -> Iterator[str]:
    task = rubric.tasks[name]
    yield from _wrapped(task.title, f"  {name}  ")
    facts = [f"area {task.area}", f"{task.minutes} min"]
    if task.lesson or task.learners:
        facts.append(f"{'lesson, ' if task.lesson else ''}{task.learners} learner{'s' * (task.learners != 1)}")
    yield from _wrapped(", ".join(facts), "      ")
    yield from _ground(task)
    yield from _wrapped(task.plan_b, "      spare plan: ")
    yield from _wrapped(", ".join(task.criteria), "      criteria: ")
    if name in rubric.runs or name in rubric.passes:
        yield from _wrapped(_runs(rubric, name), "      runs: ")


def _ground(task: Task) -> Iterator[str]:
    terrain = task.terrain
    if terrain is None:
        return
    slope = f"{terrain.slope_deg[0]} to {terrain.slope_deg[1]} degrees" if terrain.slope_deg else ""
    yield from _wrapped("; ".join(filter(None, (slope, ", ".join(terrain.snow)))), "      ground: ")
    yield from _wrapped(", ".join(terrain.features), "      with: ")


def _criteria(rubric: Rubric, names: Sequence[str]) -> Iterator[str]:
    for name in names:
        criterion = rubric.criteria[name]
        weight = f", weight {_text(rubric.weight(name))}" if isinstance(rubric.weights, dict) else ""
        seen = f", seen from {', '.join(criterion.observable_from)}" if criterion.observable_from else ""
        tasks = [key for key, task in rubric.tasks.items() if name in task.criteria]
        yield from ("", *_wrapped(f"{criterion.label}  ({name}{weight}{seen})", "  "))
        yield from _wrapped(criterion.text + (f" [{', '.join(tasks)}]" if len(tasks) > 1 else ""), "    ")
        for level, sentence in sorted(criterion.levels.items()):
            yield from _wrapped(sentence, f"    {level}  ")


def _rules(rubric: Rubric) -> Iterator[str]:
    told = [
        f"at least {_text(rubric.coverage)} of a sheet's weight must have been seen, or the sheet is not observed",
        _evidence(rubric),
        _values(rubric),
        _meeting(rubric),
        _least(rubric),
        *_band(rubric),
    ]
    for sentence in told:
        yield from _wrapped(sentence, "  ")
    for name in sorted({*rubric.runs, *rubric.passes}):
        yield from _wrapped(_runs(rubric, name), f"  {name} ")
    if rubric.rerun_reasons:
        yield from _wrapped(", ".join(rubric.rerun_reasons), "  another run only for: ")
    resit = rubric.resit
    if resit:
        again = f"within {resit.within_months} months, at most {resit.max_tries} tries"
        new = f"at least {resit.new_assessors_at_least} assessor who is new"
        carried = f"passed modules are carried {resit.carried_months} months"
        yield from _wrapped(f"{again}, {new}; {carried}", "  resit: ")


def _evidence(rubric: Rubric) -> str:
    rule = rubric.evidence_needed
    parts = [f"for every level below {_text(rule.below)}"] if rule.below is not None else []
    parts += [f"for {', '.join(map(str, rule.also))}"] if rule.also else []
    needed = ", and ".join(parts)
    return f"something seen in the task is needed {needed}" if needed else "no level needs something seen in the task"


def _values(rubric: Rubric) -> str:
    line = _text(rubric.scale.pass_line)
    if rubric.rule == "conjunctive":
        return f"a module passes with no value below {line}"
    mean = f"a module passes with a mean of {line} or more"
    if rubric.rule == "compensatory":
        return mean
    parts = []
    if rubric.minimum:
        parts.append(f"no value {'under' if rubric.minimum.inclusive else 'at or under'} {_text(rubric.minimum.value)}")
    rooms = [
        f"{room} of {_count(rubric, name)}{' values below the line' if at == 0 else ''} in {name}"
        for at, (name, room) in enumerate(rubric.below_line.items())
    ]
    parts += [f"at most {', '.join(rooms)}"] if rooms else []
    return f"{mean}, and: {'; '.join(parts)}" if parts else mean


def _count(rubric: Rubric, module: str) -> int:
    tasks = rubric.modules[module].tasks if module in rubric.modules else ()
    return sum(len(rubric.tasks[task].criteria) for task in tasks if task in rubric.tasks)


def _meeting(rubric: Rubric) -> str:
    rule = rubric.two_markers
    side = ", or on different sides of the line" if rule.other_side_of_line else ""
    return (
        f"two markers talk about sheets more than {_text(rule.sheet_apart)} apart{side}, "
        f"or one criterion {rule.criterion_apart} or more apart"
    )


def _least(rubric: Rubric) -> str:
    least = rubric.minimum_evidence
    wanted = ((least.scores, "mark"), (least.viewpoints, "viewpoint"), (least.tasks, "task"))
    parts = [f"{number} {word}{'s' * (number != 1)}" for number, word in wanted if number]
    if not parts:
        return "a criterion nobody marked leaves no module open"
    return f"least for each criterion of a module: {', '.join(parts)}; with less the module stays open"


def _band(rubric: Rubric) -> Iterator[str]:
    if rubric.band is None:
        yield "no band: nobody near the line is looked at again"
        return
    third = rubric.third_look.median_if_apart
    join = f"; the median counts where two are more than {_text(third)} apart" if third is not None else ""
    yield f"in the band a third look decides, its sheets join the others{join}; z is {_text(rubric.band.z)}"
    for name, error in rubric.band.sheet_error.items():
        sheets = _MARKERS * len(rubric.modules[name].tasks) if name in rubric.modules else 0
        # For reading only: the rule itself compares exact fractions.
        reach = (
            f"{float(rubric.band.z * error.value) / sqrt(sheets):.3f} on both sides of the line with {sheets} sheets"
        )
        low, high = (_text(end) for end in error.ci95)
        yield (
            f"{name} {reach if sheets else 'counts no task'}: sheet_error {_text(error.value)} ({low} to {high}, "
            f"{error.n_pairs} pairs, {error.date}; {error.source})"
        )


def _runs(rubric: Rubric, name: str) -> str:
    runs, fold = rubric.runs.get(name, 1), rubric.passes.get(name, "last")
    gain = EXPECTED_BEST.get(runs)
    noise = f" (on average {gain} of the run-to-run noise above one run)" if fold == "best" and gain else ""
    return f"{runs} run{'s' * (runs != 1)}, {_FOLDS[fold]}{noise}"


def _must_nots(rubric: Rubric, rules: Iterable[MustNot]) -> Iterator[str]:
    listed = list(rules)
    if listed:
        yield from ("", "MUST-NOTS")
    for rule in listed:
        yield from _wrapped(f"{rule.text}  ({rule.id}; closes {', '.join(rule.closes)})", "  - ")
    if listed and rubric.breach:
        barred = f"; not by: {', '.join(rubric.breach.confirmer_not)}" if rubric.breach.confirmer_not else ""
        yield from _wrapped(f"{rubric.breach.standard}{barred}", "  confirmed when: ")


def _lists(rubric: Rubric) -> Iterator[str]:
    titles: list[tuple[str, tuple[SafetyListItem, ...] | tuple[Question, ...]]] = [
        ("SAFETY LIST OF A LESSON", rubric.safety_list),
        ("QUESTIONS AFTER", rubric.questions),
    ]
    for title, items in titles:
        if items:
            yield from ("", title)
        for item in items:
            yield from _wrapped(f"{item.text}  ({item.id})", "  - ")


def _text(number: Fraction) -> str:
    return f"{float(number):.12g}"


def _wrapped(text: str, first: str) -> Iterator[str]:
    """Lines of a text behind `first`, the later ones as far in; nothing for an empty text."""
    line, filled = first, False
    for word in _fitting(pictured(text).split(), _WIDTH - _cells(first)):
        gap = " " if filled else ""
        if _cells(line + gap + word) > _WIDTH:
            yield line.rstrip()
            line, gap = " " * _cells(first), ""
        line, filled = line + gap + word, True
    if filled:
        yield line.rstrip()


def _fitting(words: Iterable[str], room: int) -> Iterator[str]:
    """The words, those wider than the room cut into pieces."""
    for word in words:
        piece = ""
        for char in word:
            if _cells(piece + char) > room:
                yield piece
                piece = ""
            piece += char
        yield piece


def _cells(text: str) -> int:
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1 for char in text
    )
