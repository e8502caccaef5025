"""Did the learner change, on one measure, beyond what it moves without teaching.

The unit is the run: turns of one run are not independent. The limit is the retest error of people who were not
taught, for as many runs as were made. A change is one of five words, never a p-value alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt
from statistics import fmean, stdev

from assess.lesson.change_words import change_sentences
from assess.lesson.effect import cliff_delta, hedges_g, lag_one, n_effective, permutation_p, smallest_p
from assess.lesson.last_bit import above, below
from assess.lesson.results import Basis, ChangeReading, Verdict
from assess.records.measure import Measure
from assess.records.practice import EndedForSafety, Measured, Outcome
from assess.records.reading_settings import Settings

__all__ = ["ground_differs", "read_change", "unread_change", "verdict_of"]

# Nothing measured on a learner is larger, in any unit; a larger number is a slip of the hand, and squares of some
# do not fit into a float.
LARGEST = 1e9


def ground_differs(before: Measured, after: Measured, ability: float, settings: Settings) -> str | None:
    """Why the two grounds cannot be compared, in words; None when they can."""
    slack = settings.slope_same_low if ability <= settings.low_ability else settings.slope_same_high
    if before.place != after.place:
        return f"not the same place: {before.place} before, {after.place} after"
    if before.snow != after.snow:
        return f"not the same snow: {_plain(before.snow)} before, {_plain(after.snow)} after"
    if above(abs(before.slope - after.slope), slack):
        return f"not the same slope: {before.slope:g}° before, {after.slope:g}° after, more than {slack:g}° apart"
    return None


def verdict_of(net: float, limit: float, retest_pairs: int, settings: Settings) -> Verdict:
    """`improved` or `worse` beyond the limit, otherwise `not shown`; with too few retest pairs always `not shown`."""
    if retest_pairs < settings.min_retest:
        return "not shown"
    return "improved" if above(net, limit) else "worse" if below(net, -limit) else "not shown"


def read_change(
    measure: Measure,
    outcome: Outcome,
    ability: float,
    settings: Settings,
    *,
    ended: EndedForSafety | None = None,
) -> ChangeReading:
    """The reading of one measure. Void (with the words `too few` or `not comparable`) when nothing can be said."""
    before, after = outcome.before, outcome.after
    reading = _described(measure, before, after)
    if ended is not None:
        return _void(reading, "too few", f"the lesson was ended for safety at minute {ended.minute:g} ({ended.why})")
    few = min(len(before.values), len(after.values))
    if few < settings.min_values:
        side = "before" if len(before.values) == few else "after"
        found = f"{few} {'value' if few == 1 else 'values'} {side}" if few else f"not measured {side}"
        return _void(reading, "too few", f"{found}; at least {settings.min_values} on each side are needed")
    for side, values in (("before", before.values), ("after", after.values)):
        if not _readable(values):
            slip = next(value for value in values if abs(value) > LARGEST)
            return _void(reading, "not comparable", f"{slip:g} {side} cannot be right; put that number right")
    differs = ground_differs(before, after, ability, settings)
    if differs is not None:
        return _void(reading, "not comparable", f"{differs}; measure again on the same ground")
    return _compared(reading, measure, before, after, settings)


def unread_change(name: str, outcome: Outcome) -> ChangeReading:
    """What was measured, when nobody knows how far this measure moves without teaching, or nothing was measured."""
    before, after = outcome.before, outcome.after
    if before.values and after.values:
        verdict: Verdict = "not shown"
        reason = f"nobody knows how far {name or 'this measure'} moves without teaching; measure people twice untaught"
    else:
        verdict, reason = "too few", f"not measured {'after' if before.values else 'before'}"
    error = "no retest error is known"
    return _void(replace(_blank(name, before, after), basis=Basis(0, "runs a side", 0.0, error)), verdict, reason)


def _compared(
    reading: ChangeReading, measure: Measure, before: Measured, after: Measured, settings: Settings
) -> ChangeReading:
    means = [[measure.sign * fmean(run) for run in side.runs] for side in (before, after)]
    values = [[measure.sign * value for value in side.values] for side in (before, after)]
    delta = fmean(means[1]) - fmean(means[0])
    net = delta - measure.mdc95.untaught_change
    limit = measure.mdc95.value / sqrt(min(len(before.runs), len(after.runs)))
    read = replace(
        reading,
        delta=delta,
        net=net,
        limit=limit,
        hedges_g=hedges_g(values[0], values[1]),
        cliff_delta=cliff_delta(values[0], values[1]),
        verdict=verdict_of(net, limit, measure.mdc95.retest_pairs, settings),
        p_one_sided=permutation_p(means[0], means[1]),
        p_smallest=smallest_p(len(before.runs), len(after.runs)),
    )
    return replace(read, why=change_sentences(read, measure, before, after, settings))


def _described(measure: Measure, before: Measured, after: Measured) -> ChangeReading:
    """Everything that can be told without a comparison; the verdict is a placeholder until one is made."""
    limit = measure.mdc95
    interval = f"95 % interval {limit.ci95[0]:g} to {limit.ci95[1]:g}"
    error = f"retest limit {limit.value:g} from {limit.retest_pairs} pairs, {interval}"
    basis = Basis(min(len(before.runs), len(after.runs)), "runs a side", 1.0, error)
    return replace(_blank(measure.id, before, after), mdc95=limit.value, basis=basis)


def _blank(name: str, before: Measured, after: Measured) -> ChangeReading:
    return ChangeReading(
        void=None,
        measure=name,
        delta=None,
        net=None,
        mdc95=None,
        limit=None,
        hedges_g=None,
        cliff_delta=None,
        verdict="too few",
        means=(_mean(before), _mean(after)),
        sds=(_sd(before.values), _sd(after.values)),
        n_values=(len(before.values), len(after.values)),
        n_runs=(len(before.runs), len(after.runs)),
        n_effective=(_effective(before), _effective(after)),
        p_one_sided=None,
        p_smallest=None,
        why=(),
        basis=Basis(0, "runs a side", 0.0, ""),
    )


def _void(reading: ChangeReading, verdict: Verdict, reason: str) -> ChangeReading:
    basis = replace(reading.basis, coverage=0.0)
    return replace(reading, verdict=verdict, void=f"{verdict}: {reason}", why=(f"{verdict}: {reason}",), basis=basis)


def _readable(values: Sequence[float]) -> bool:
    return all(abs(value) <= LARGEST for value in values)


def _mean(side: Measured) -> float | None:
    return fmean(fmean(run) for run in side.runs) if side.runs and _readable(side.values) else None


def _sd(values: Sequence[float]) -> float | None:
    return stdev(values) if len(values) > 1 and _readable(values) else None


def _effective(side: Measured) -> float | None:
    """Neighbours less alike than chance are worth no more than independent ones."""
    r1 = lag_one(side.runs) if _readable(side.values) else None
    return None if r1 is None else min(float(len(side.values)), n_effective(len(side.values), r1))


def _plain(name: str) -> str:
    return name.replace("-", " ")
