"""How sure the marks of each module are: the error of a sheet and of a module mean, near the line too, and repeats."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import sqrt
from statistics import median_low
from typing import TYPE_CHECKING

from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.agreement.results import Dependability, Estimate
    from assess.desk.quality_marks import QualityModule
    from assess.records.rubric import SheetError

__all__ = ["WITHIN", "ModuleReliability", "PooledError", "pooled_errors", "reliability_of"]

WITHIN = 0.5


@dataclass(frozen=True)
class ModuleReliability:
    """One module.

    sheet_error: of one sheet value; near_line: the same from turns within WITHIN levels of the line; written: what the
    rubrics in force take it for, by rubric. mean_error, mean_ci95: of a module mean of n_sheets sheets (the middle
    number here), None without a sheet error. dependability: of the scores; None with `why`.
    """

    module: str
    line: Fraction
    sheet_error: Estimate
    near_line: Estimate
    written: tuple[tuple[str, SheetError], ...]
    n_sheets: int
    mean_error: float | None
    mean_ci95: tuple[float, float] | None
    dependability: Dependability | None
    why: str
    sentences: tuple[str, ...] = ()


@dataclass(frozen=True)
class PooledError:
    """The error of one sheet value over several modules of one scale; what a module with few turns takes."""

    modules: tuple[str, ...]
    sheet_error: Estimate
    sentence: str


def pooled_errors(modules: Sequence[QualityModule]) -> tuple[PooledError, ...]:
    """One for every scale that two modules or more are marked on."""
    from assess.agreement.sheet_error import sheet_error

    by_scale: dict[tuple[int, int], list[QualityModule]] = {}
    for module in modules:
        by_scale.setdefault(module.scale, []).append(module)
    found = []
    for _, held in sorted(by_scale.items()):
        if len(held) < 2:
            continue
        error = sheet_error(
            [who for one in held for who in one.candidate], [turn for one in held for turn in one.turn],
            [value for one in held for value in one.value], name="sheet error, modules pooled",
        )  # fmt: skip
        names = tuple(one.name for one in held)
        if error.estimate is None:
            said = f"All modules together: {error.undefined}."
        else:
            said = (
                f"All modules together the error of one sheet value is {error.estimate:.2f}{_range(error.ci95)}; "
                f"{_turns(error)}. For a module with fewer than 30 such turns this is the one for "
                "the band of later courses."
            )
        found.append(PooledError(names, error, said))
    return tuple(found)


def reliability_of(module: QualityModule, *, same_assessors: bool) -> ModuleReliability:
    """The figures of one module. same_assessors: an assessor's id means the same person in all courses."""
    from assess.agreement.sheet_error import sheet_error

    columns = (module.candidate, module.turn, module.value)
    whole = sheet_error(*columns)
    near = sheet_error(*columns, name="sheet error near the line", around=float(module.line), within=WITHIN)
    n = median_low(module.n_sheets) if module.n_sheets else 0
    value, ci95 = _of_mean(whole, n)
    found, why = _dependability(module, same_assessors)
    made = ModuleReliability(
        module.name, module.line, whole, near, tuple(sorted(module.written.items())), n, value, ci95, found, why
    )
    return replace(made, sentences=tuple(_sentences(made)))


def _of_mean(error: Estimate, n: int) -> tuple[float | None, tuple[float, float] | None]:
    if error.estimate is None or not n:
        return None, None
    ci95 = None if error.ci95 is None else (error.ci95[0] / sqrt(n), error.ci95[1] / sqrt(n))
    return error.estimate / sqrt(n), ci95


def _dependability(module: QualityModule, same_assessors: bool) -> tuple[Dependability | None, str]:
    from assess.desk.agreeing import dependability_from
    from assess.desk.score_sources import joined_courses

    if not module.scores:
        return None, "not estimable (n=0): no turn has all its sheets locked yet"
    try:
        source = joined_courses(module.scores, same_assessors=same_assessors)
    except Refusal as refusal:
        return None, f"not estimable: {refusal.what}"
    found = dependability_from(source, line=float(module.line), assessors=range(1, 2), tasks=range(1, 2))
    if found.undefined is not None:
        return None, f"not estimable (n={found.n_candidates} candidates): {found.undefined}"
    return found, ""


def _sentences(made: ModuleReliability) -> Sequence[str]:
    error, near = made.sheet_error, made.near_line
    if error.estimate is None:
        told = [f"The error of one sheet value is {error.undefined}."]
    else:
        told = [
            f"Another marker of the same turn would give a sheet value that differs from the mean of many by "
            f"{error.estimate:.2f} levels as a rule{_range(error.ci95)}; {_turns(error)}.{_beside(made)}"
        ]
    if made.mean_error is not None:
        told.append(
            f"A module mean of {made.n_sheets} sheets is then off by {made.mean_error:.2f} levels"
            f"{_range(made.mean_ci95)}; that is marking error only, not another task or another day."
        )
    if near.estimate is None:
        told.append(f"The error near the line (within {WITHIN:g} levels) is {near.undefined}.")
    else:
        told.append(
            f"Near the line (within {WITHIN:g} levels) it is {near.estimate:.2f}{_range(near.ci95)}; {_turns(near)}."
        )
    return [*told, _repeats(made)]


def _beside(made: ModuleReliability) -> str:
    error = made.sheet_error
    said = []
    for rubric, written in made.written:
        value = float(written.value)
        side = ""
        if error.ci95 is not None and not error.ci95[0] <= value <= error.ci95[1]:
            side = f"; these marks show {'less' if value > error.ci95[1] else 'more'}"
        said.append(f" {rubric} takes {value:g} from {written.n_pairs} earlier pairs{side}.")
    return "".join(said)


def _repeats(made: ModuleReliability) -> str:
    found = made.dependability
    if found is None:
        return f"How far the result would repeat with other assessors and tasks is {made.why}"
    who = f"{found.n_candidates} candidates, {found.n_assessors} assessors, {found.n_scores} scores"
    phi = found.phi.estimate
    if phi is None:
        return f"How far the result would repeat cannot be said: {found.phi.undefined}"
    return (
        f"About {100 * phi:.0f} % of the differences between candidates' means would repeat with other assessors and "
        f"tasks{_percent(found.phi.ci95)}; {who}."
    )


def _turns(error: Estimate) -> str:
    return f"{error.n} turns marked twice, {error.n_candidates} candidates"


def _range(ci95: tuple[float, float] | None) -> str:
    return "" if ci95 is None else f" (95 % interval {ci95[0]:.2f} to {ci95[1]:.2f})"


def _percent(ci95: tuple[float, float] | None) -> str:
    return "" if ci95 is None else f" (95 % interval {100 * ci95[0]:.0f} to {100 * ci95[1]:.0f})"
