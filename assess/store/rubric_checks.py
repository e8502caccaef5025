"""Cross references inside a rubric: every name it uses is one it gives, and every level has its sentence."""

from __future__ import annotations

from collections.abc import Iterable

from assess.records.errors import Problem
from assess.records.rubric import Rubric
from assess.store.yaml_file import YamlDoc

__all__ = ["rubric_problems"]

_Place = tuple[str | int, ...]


def rubric_problems(doc: YamlDoc, rubric: Rubric) -> list[Problem]:
    """Everything in a rubric that points to nothing or contradicts itself, with its line."""
    found = [
        *_scale(rubric),
        *_ids(rubric),
        *_unknown(_uses_of_areas(rubric), set(rubric.areas), "area"),
        *_unknown(_uses_of_criteria(rubric), set(rubric.criteria), "criterion"),
        *_unknown(_uses_of_tasks(rubric), set(rubric.tasks), "task"),
        *_unknown(_uses_of_modules(rubric), set(rubric.modules), "module"),
        *_areas_fit(rubric),
        *_levels(rubric),
    ]
    return sorted(Problem(doc.shown, doc.line(*place), what, todo) for place, what, todo in found)


_Found = Iterable[tuple[_Place, str, str]]


def _unknown(uses: Iterable[tuple[_Place, str]], known: set[str], word: str) -> _Found:
    for place, name in uses:
        if name not in known:
            yield place, f"there is no {word} `{name}` in this rubric", f"known: {', '.join(sorted(known)) or 'none'}"


def _scale(rubric: Rubric) -> _Found:
    scale = rubric.scale
    if scale.min >= scale.max:
        yield ("scale", "max"), "the scale has no two levels", "make `max` larger than `min`"
    elif not scale.min < scale.pass_line <= scale.max:
        yield ("scale", "pass_line"), "the pass line is outside the scale", "put it between two levels"
    if scale.max - scale.min > 20:
        yield ("scale", "max"), "the scale has more than 21 levels", "no assessor tells that many apart"
    elif sorted(scale.words) != list(scale.levels):
        yield ("scale", "words"), "the scale's words do not stand for each level once", "one sentence for each level"


def _ids(rubric: Rubric) -> _Found:
    ids = [item.id for item in rubric.must_nots]
    for place, name in enumerate(ids):
        if name in ids[:place]:
            yield ("must_nots", place), f"the must-not `{name}` stands twice", "give one of the two another id"


def _uses_of_areas(rubric: Rubric) -> Iterable[tuple[_Place, str]]:
    for name, module in rubric.modules.items():
        yield ("modules", name, "area"), module.area
    for name, task in rubric.tasks.items():
        yield ("tasks", name, "area"), task.area
    for name, criterion in rubric.criteria.items():
        yield ("criteria", name, "area"), criterion.area


def _uses_of_criteria(rubric: Rubric) -> Iterable[tuple[_Place, str]]:
    for name, task in rubric.tasks.items():
        for place, criterion in enumerate(task.criteria):
            yield ("tasks", name, "criteria", place), criterion
    if isinstance(rubric.weights, dict):
        for criterion in rubric.weights:
            yield ("weights", criterion), criterion


def _uses_of_tasks(rubric: Rubric) -> Iterable[tuple[_Place, str]]:
    for name, module in rubric.modules.items():
        for place, task in enumerate(module.tasks):
            yield ("modules", name, "tasks", place), task
    for task in rubric.runs:
        yield ("runs", task), task
    for task in rubric.passes:
        yield ("passes", task), task


def _uses_of_modules(rubric: Rubric) -> Iterable[tuple[_Place, str]]:
    for place, must_not in enumerate(rubric.must_nots):
        for number, module in enumerate(must_not.closes):
            yield ("must_nots", place, "closes", number), module
    for module in rubric.below_line:
        yield ("below_line", module), module
    for module in rubric.band.sheet_error if rubric.band else ():
        yield ("band", "sheet_error", module), module


def _areas_fit(rubric: Rubric) -> _Found:
    for name, module in rubric.modules.items():
        for place, task in enumerate(module.tasks):
            if task in rubric.tasks and rubric.tasks[task].area != module.area:
                what = f"task `{task}` is of another area than the module that counts it"
                yield ("modules", name, "tasks", place), what, "count it in a module of its area"
    for name, item in rubric.tasks.items():
        seen = set()
        for place, criterion in enumerate(item.criteria):
            if criterion in seen:
                yield ("tasks", name, "criteria", place), f"criterion `{criterion}` stands twice", "take one out"
            seen.add(criterion)


def _levels(rubric: Rubric) -> _Found:
    levels = set(rubric.scale.levels) if rubric.scale.max - rubric.scale.min <= 20 else set()
    for name, criterion in rubric.criteria.items():
        if levels and set(criterion.levels) - levels:
            yield ("criteria", name, "levels"), "describes a level outside the scale", "use the levels of the scale"
    if levels and set(rubric.evidence_needed.also) - levels:
        yield ("evidence_needed", "also"), "names a level outside the scale", "use the levels of the scale"
