"""How alike assessors mark, and how far a result would repeat: from the sources named to the finished results."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from assess.desk.score_sources import ScoreSource, read_source
from assess.records.errors import UsageError

if TYPE_CHECKING:
    from assess.agreement.results import Agreement, Dependability
    from assess.agreement.scores import Scores

__all__ = [
    "Metric", "Weights", "agreement_document", "agreement_of", "dependability_document", "dependability_from",
    "dependability_of", "levels_from", "numbers_from",
]  # fmt: skip

Metric = Literal["nominal", "ordinal", "interval", "ratio"]
Weights = Literal["none", "linear", "quadratic", "ordinal"]
Progress = Callable[[float], bool] | None
_MOST_LEVELS = 100
_MOST_PLANNED = 20


def levels_from(text: str) -> tuple[float, ...]:
    """The scale in words like `1,2,3,4,5`. Raises UsageError when it is none."""
    try:
        levels = tuple(float(part) for part in text.split(","))
    except ValueError:
        levels = ()
    whole = all(abs(level) < float("inf") for level in levels)
    if not 1 < len(set(levels)) == len(levels) <= _MOST_LEVELS or not whole:
        raise UsageError(f"`{text}` is no scale", todo="name every level once, like --levels 1,2,3,4,5")
    return levels


def numbers_from(text: str, option: str) -> range:
    """The whole numbers in words like `1-6` or `4`. Raises UsageError."""
    low, dash, high = text.partition("-")
    if low.isdecimal() and (high.isdecimal() or not dash):
        first, last = int(low), int(high or low)
        if 1 <= first <= last <= _MOST_PLANNED:
            return range(first, last + 1)
    raise UsageError(
        f"`{text}` is no number of them", todo=f"write {option} 1-6, or one number, at most {_MOST_PLANNED}"
    )


def agreement_of(
    paths: Sequence[Path],
    *,
    levels: Sequence[float] | None = None,
    line: float | None = None,
    metric: Metric = "ordinal",
    weights: Weights = "none",
    replicates: int = 1000,
    seed: int = 0,
    same_assessors: bool = False,
    progress: Progress = None,
) -> Agreement:
    """All agreement statistics of one score table or of course folders, with what was not used among the warnings.

    levels, line: the scale and the pass line; of courses the rubric's unless given. Raises what `read_source`
    raises, and InputError, with the line of the table, for scores that are no set of scores.
    """
    source = read_source(paths, same_assessors=same_assessors)
    scores = _scores(source, levels, line)
    from assess.agreement.report import agreement

    found = agreement(scores, metric=metric, weights=weights, replicates=replicates, seed=seed, progress=progress)
    return replace(found, warnings=_each_once((*source.warnings, *found.warnings)))


def agreement_document(found: Agreement) -> dict[str, Any]:
    """The agreement as other programs read it."""
    from assess.agreement.agreement_json import agreement_json

    return agreement_json(found)


def dependability_of(
    paths: Sequence[Path],
    *,
    line: float | None = None,
    method: Literal["reml", "anova"] = "reml",
    assessors: range = range(1, 7),
    tasks: range = range(1, 7),
    same_assessors: bool = False,
    progress: Progress = None,
) -> Dependability:
    """Where the differences between scores come from, and what other numbers of assessors and tasks would give.

    Raises what `agreement_of` raises.
    """
    return dependability_from(
        read_source(paths, same_assessors=same_assessors),
        line=line, method=method, assessors=assessors, tasks=tasks, progress=progress,
    )  # fmt: skip


def dependability_from(
    source: ScoreSource,
    *,
    line: float | None = None,
    method: Literal["reml", "anova"] = "reml",
    assessors: range = range(1, 7),
    tasks: range = range(1, 7),
    progress: Progress = None,
) -> Dependability:
    """`dependability_of` scores that were read already. Raises InputError for scores that are no set of scores."""
    source = _facets(source)
    scores = _scores(source, source.levels, line)
    from assess.agreement.dependability import dependability

    found = dependability(scores, method=method, assessors=assessors, tasks=tasks, progress=progress)
    return replace(found, warnings=_each_once((*source.warnings, *found.warnings)))


def _facets(source: ScoreSource) -> ScoreSource:
    """The source without a task or a criterion that is the same in every row: of one nothing can be told apart."""
    warnings = list(source.warnings)
    alone = {"task": source.task, "criterion": source.criterion}
    for name, column in alone.items():
        if column is not None and len(set(column)) == 1:
            alone[name] = None
            warnings.append(f"there is only one {name}: how another would have come out cannot be told")
    return replace(source, task=alone["task"], criterion=alone["criterion"], warnings=tuple(warnings))


def dependability_document(found: Dependability) -> dict[str, Any]:
    """The dependability as other programs read it."""
    from assess.agreement.dependability_json import dependability_json

    return dependability_json(found)


def _scores(source: ScoreSource, levels: Sequence[float] | None, line: float | None) -> Scores:
    if line is not None and not abs(line) < float("inf"):
        raise UsageError("the pass line is no number", todo="write it like --line 3.5")
    from assess.agreement.scores import ScoreError, scores_of

    try:
        return scores_of(
            source.candidate,
            source.assessor,
            source.score,
            task=source.task,
            criterion=source.criterion,
            levels=source.levels if levels is None else levels,
            line=source.line if line is None else line,
        )
    except ScoreError as trouble:
        raise source.problem(trouble.row, str(trouble)) from trouble


def _each_once(warnings: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(warnings))
