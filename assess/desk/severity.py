"""How hard each assessor marks: from the sources named to the finished result."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from assess.desk.score_sources import ScoreSource, read_source

if TYPE_CHECKING:
    from assess.agreement.results import Severity

__all__ = ["Method", "Model", "severity_document", "severity_from", "severity_of"]

Method = Literal["marginal", "joint"]
Model = Literal["rating_scale", "partial_credit"]


def severity_of(
    paths: Sequence[Path],
    *,
    levels: Sequence[float] | None = None,
    method: Method = "marginal",
    model: Model = "rating_scale",
    same_assessors: bool = False,
    progress: Callable[[float], bool] | None = None,
) -> Severity:
    """Severities of one score table or of course folders, with what was not used among the warnings.

    levels: the scale; of courses the rubric's unless given. progress: told the share that is done, answers False to
    stop, which raises Cancelled. Raises what `read_source` raises, and InputError, with
    the line of the table, for scores that are no set of scores.
    """
    source = read_source(paths, same_assessors=same_assessors)
    return severity_from(source, levels=levels, method=method, model=model, progress=progress)


def severity_from(
    source: ScoreSource,
    *,
    levels: Sequence[float] | None = None,
    method: Method = "marginal",
    model: Model = "rating_scale",
    progress: Callable[[float], bool] | None = None,
) -> Severity:
    """`severity_of` scores that were read already. Raises InputError for scores that are no set of scores."""
    from assess.agreement.rasch import severity
    from assess.agreement.scores import ScoreError, scores_of

    try:
        scores = scores_of(
            source.candidate,
            source.assessor,
            source.score,
            task=source.task,
            criterion=source.criterion,
            levels=source.levels if levels is None else levels,
        )
    except ScoreError as trouble:
        raise source.problem(trouble.row, str(trouble)) from trouble
    found = severity(scores, method=method, model=model, progress=progress)
    return replace(found, warnings=tuple(dict.fromkeys((*source.warnings, *found.warnings))))


def severity_document(found: Severity) -> dict[str, Any]:
    """The severities as other programs read them."""
    from assess.agreement.rasch_json import severity_json

    return severity_json(found)
