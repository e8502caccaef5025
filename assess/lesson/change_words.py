"""The reasons of a change reading in plain words, what would have changed it, and what it cannot tell."""

from __future__ import annotations

from assess.lesson.results import ChangeReading
from assess.lesson.rounding import rounded
from assess.records.measure import Measure
from assess.records.practice import Measured
from assess.records.reading_settings import Settings

__all__ = ["change_sentences"]


def change_sentences(
    read: ChangeReading, measure: Measure, before: Measured, after: Measured, settings: Settings
) -> tuple[str, ...]:
    """The means, the limit, the verdict with what it needed, the runs, and cautions that apply."""
    told = [_means(read, measure), _limit(read, measure), _verdict(read, measure, settings)]
    if read.p_one_sided is not None and read.p_smallest is not None:
        told.append(
            f"{_runs(read)}: by chance alone at least this much {_share(read.p_one_sided)};"
            f" with so few runs never less than {_share(read.p_smallest)}"
        )
    for side, n, worth in zip(("before", "after"), read.n_values, read.n_effective, strict=True):
        if worth is not None and worth < 0.95 * n:
            told.append(f"turns of a run are alike: the {n} values {side} are worth about {rounded(worth, 1):g}")
    fewest = min(len(run) for run in (*before.runs, *after.runs))
    if fewest < measure.mdc95.turns_per_run:
        told.append(
            f"the limit holds for runs of {measure.mdc95.turns_per_run} turns; one here has {fewest},"
            " so the true limit is larger"
        )
    if len(before.runs) == 1:
        told.append("a single run before: people picked on a bad run do better on the next without teaching")
    told.append("one measure, taken once: warming up, the teacher's track or the easier side can look like learning")
    return tuple(told)


def _means(read: ChangeReading, measure: Measure) -> str:
    before, after = read.means
    spread = [f" (spread {rounded(sd, 1):g})" if sd is not None else "" for sd in read.sds]
    return (
        f"{measure.what}: {_number(before)}{spread[0]} before, {_number(after)}{spread[1]} after;"
        f" {_number(read.delta)} in the better direction"
    )


def _limit(read: ChangeReading, measure: Measure) -> str:
    pairs, gain = measure.mdc95.retest_pairs, measure.mdc95.untaught_change
    return (
        f"less {gain:g} that people gain untaught: {_number(read.net)}; the limit of retest error is"
        f" {_number(read.limit)} ({measure.mdc95.value:g} for one run a side, from {pairs} people measured twice)"
    )


def _verdict(read: ChangeReading, measure: Measure, settings: Settings) -> str:
    if measure.mdc95.retest_pairs < settings.min_retest:
        return (
            f"not shown: the limit rests on {measure.mdc95.retest_pairs} retest pairs;"
            f" at least {settings.min_retest} are needed before a change is called shown"
        )
    if read.verdict == "improved":
        return "improved: beyond what the measure moves without teaching"
    if read.verdict == "worse":
        return "worse: beyond what the measure moves without teaching, in the worse direction"
    return f"not shown: a gain above {_number(read.limit)} would have been needed; more runs a side lower the limit"


def _runs(read: ChangeReading) -> str:
    return f"{read.n_runs[0]} {'run' if read.n_runs[0] == 1 else 'runs'} before and {read.n_runs[1]} after"


def _share(p: float) -> str:
    return f"{rounded(100 * p, 0 if p >= 0.01 else 2):g} times in 100"


def _number(value: float | None) -> str:
    return "-" if value is None else f"{rounded(value, 2):g}"
