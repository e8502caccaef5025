"""An assessor's sheets of a calibration round against the panel: numbers, habits, and which of them to look at.

Lessons are the cases: both markings of a lesson go together. Intervals resample lessons; below ten of them they are
Student's t with the jackknife's error. All habits of all assessors of a round are one family (Benjamini & Hochberg
1995); "look" asks for a flag of that family and an interval that agrees.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from assess.agreement.bootstrap import Bootstrap, Patterns, Resampled, jackknife_variance
from assess.agreement.chance import divided
from assess.agreement.multiplicity import benjamini_hochberg
from assess.agreement.rater_chance import FEW, chance, still
from assess.agreement.rater_remedies import todo_of
from assess.agreement.results import Estimate
from assess.agreement.results.raters import Effect, EffectName
from assess.agreement.results.rounds import MarkerNumbers, PanelError
from assess.agreement.round_markers import MarkerModel, simulated
from assess.agreement.round_scores import MarkerScores, RoundScores
from assess.agreement.round_words import effect_sentence, number_sentence
from assess.agreement.scores import Floats, Ints
from assess.agreement.share_intervals import wilson

__all__ = ["HABITS", "marker_numbers"]

HABITS: tuple[EffectName, ...] = ("severity", "drift", "spread", "central", "repeat")
FEWEST_REPEATS = 3
_ANYWHERE = (-np.inf, np.inf)
_SHARE = (0.0, 1.0)


@dataclass(frozen=True, eq=False)
class _Question:
    """Sums by lesson and what is made of them: (b, c) -> (b, 3), estimate, own and the panel's number."""

    name: EffectName
    rows: Floats
    numbers: Callable[[Floats], Floats]
    n: int
    why: str | None = None

    @property
    def patterns(self) -> Patterns:
        """The lessons that have a say."""
        return Patterns(self.rows, np.ones(len(self.rows), dtype=np.int64)).saying()


def marker_numbers(
    scores: RoundScores, markers: Mapping[str, MarkerScores], panel: PanelError, *, replicates: int = 2000,
    seed: int = 0, rate: float = 0.05,
) -> tuple[MarkerNumbers, ...]:  # fmt: skip
    """Every assessor against the reference, in the order given; the same scores give the same numbers.

    rate: of false flags among the habits of the round. Raises ScoreError for arrays that do not go together.
    """
    boot = Bootstrap(replicates, seed)
    found = {who: [_effect(who, ask, boot) for ask in _questions(scores, given)] for who, given in markers.items()}
    for who, given in markers.items():
        found[who].append(_repeat(who, scores, given, panel, boot))
    effects = [effect for several in found.values() for effect in several]
    tests = {f"{effect.assessor} {effect.name}": effect.p for effect in effects}
    family = {test.name: test for test in benjamini_hochberg("All habits of this round", tests, rate=rate).tests}
    judged: dict[str, list[Effect]] = {who: [] for who in markers}
    for effect in effects:
        test = family[f"{effect.assessor} {effect.name}"]
        judged[effect.assessor].append(_judged(effect, test.adjusted, flagged=test.flagged))
    return tuple(
        MarkerNumbers(who, *_estimates(who, scores, given, boot), effects=tuple(judged[who]))
        for who, given in markers.items()
    )


# --- numbers -----------------------------------------------------------------------------------


def _estimates(
    who: str, scores: RoundScores, given: MarkerScores, boot: Bootstrap
) -> tuple[Estimate, Estimate, Estimate, Estimate, Estimate]:
    gap = given.distances(scores)
    steps = np.abs(gap)
    there = ~np.isnan(gap)
    own, reference, counted = _values(scores, given)
    same = ((own >= scores.line) == (reference >= scores.line)) * counted

    def made(name: str, total: Floats, n: Floats, within: tuple[float, float]) -> Estimate:
        rows = _by_lesson(scores, given, np.column_stack([n, total]).astype(np.float64))
        return _estimate(name, who, rows, within, boot)

    n = there.sum(axis=1).astype(np.float64)
    return (
        made("distance", np.nansum(steps, axis=1), n, _ANYWHERE),
        made("severity", np.nansum(gap, axis=1), n, _ANYWHERE),
        # Of a reference between two levels either of them is exact.
        made("exact", (steps < 0.75).sum(axis=1).astype(np.float64), n, _SHARE),
        made("within_one", (steps < 1.75).sum(axis=1).astype(np.float64), n, _SHARE),
        made("line", same, counted, _SHARE),
    )


def _estimate(name: str, who: str, rows: Floats, within: tuple[float, float], boot: Bootstrap) -> Estimate:
    patterns = Patterns(rows, np.ones(len(rows), dtype=np.int64)).saying()
    n, total = patterns.total()[0] if patterns.n else (0.0, 0.0)
    if n == 0:
        return Estimate(name, None, undefined="nothing was given that has a reference", n_assessors=1)
    value = float(total / n)
    how = boot.intervals(patterns, lambda sums: divided(sums[:, 1:], sums[:, :1]), within)[0]
    ends, text = how.ci95, _lessons(how.interval)
    if ends is None and within == _SHARE and value in (0.0, 1.0) and patterns.n > 1:
        ends, text = wilson(value * patterns.n, patterns.n), f"Wilson, as if each of {patterns.n} lessons were one case"
    made = Estimate(
        name, value, how.se, ends, text, n=int(n), n_candidates=patterns.n, n_assessors=1, n_scores=int(n),
        warnings=tuple(_lessons(told) for told in how.warnings),
    )  # fmt: skip
    return replace(made, sentence=number_sentence(made, who))


def _lessons(told: str) -> str:
    """What is said of candidates, said of lessons: here they are the cases."""
    return told.replace("candidate", "lesson")


def _by_lesson(scores: RoundScores, given: MarkerScores, features: Floats, some: Ints | None = None) -> Floats:
    """Features of sheets added up by lesson."""
    rows = np.zeros((scores.n_lessons, features.shape[1]))
    np.add.at(rows, given.lesson if some is None else given.lesson[some], features)
    return rows


def _values(scores: RoundScores, given: MarkerScores) -> tuple[Floats, Floats, Floats]:
    """Sheet values of the assessor and of the reference over the same criteria; 1 where they exist, else 0."""
    reference = scores.reference[given.lesson]
    both = ~np.isnan(given.levels) & ~np.isnan(reference)
    weight = np.where(both, scores.weights[given.lesson], 0).astype(np.float64)
    total = weight.sum(axis=1)
    own = np.where(both, given.levels, 0.0) * weight
    theirs = np.where(both, reference, 0.0) * weight
    safe = np.where(total > 0, total, 1.0)
    # The last bit of a mean must not decide on which side of the line it is.
    return np.round(own.sum(axis=1) / safe, 9), np.round(theirs.sum(axis=1) / safe, 9), (total > 0).astype(np.float64)


# --- habits ------------------------------------------------------------------------------------


def _questions(scores: RoundScores, given: MarkerScores) -> list[_Question]:
    return [_severity(scores, given), _drift(scores, given), _spread(scores, given), _central(scores, given)]


def _severity(scores: RoundScores, given: MarkerScores) -> _Question:
    """Levels above the reference."""
    gap = given.distances(scores)
    n = (~np.isnan(gap)).sum(axis=1)
    rows = _by_lesson(scores, given, np.column_stack([n, np.nansum(gap, axis=1)]).astype(np.float64))
    return _Question("severity", rows, lambda sums: _alone(divided(sums[:, 1], sums[:, 0])), int(n.sum()))


def _drift(scores: RoundScores, given: MarkerScores) -> _Question:
    """Levels more for each lesson marked before."""
    gap = given.distances(scores)
    some = np.flatnonzero((~np.isnan(gap)).any(axis=1))
    place, mean = some.astype(np.float64), np.nanmean(gap[some], axis=1) if len(some) else np.zeros(0)
    features = np.column_stack([np.ones(len(some)), place, place**2, mean, place * mean])
    why = "fewer than three lessons were marked" if len(some) < 3 else None

    def numbers(sums: Floats) -> Floats:
        n, r, rr, g, rg = sums.T
        square = n * rr - r * r
        return _alone(divided(n * rg - r * g, np.where(square > 1e-9 * n * n, square, 0.0)))

    return _Question("drift", _by_lesson(scores, given, features, some), numbers, len(some), why)


def _spread(scores: RoundScores, given: MarkerScores) -> _Question:
    """Standard deviation of the levels within a sheet, less the panel's on the same lessons."""
    own = _within(np.where(np.isnan(scores.reference[given.lesson]), np.nan, given.levels))
    panel = np.stack([_within(np.where(np.isnan(scores.reference), np.nan, levels)) for levels in scores.panel])
    known = ~np.isnan(panel)
    theirs = divided(np.where(known, panel, 0.0).sum(axis=0), known.sum(axis=0).astype(np.float64))[given.lesson]
    some = np.flatnonzero(~np.isnan(own) & ~np.isnan(theirs))
    features = np.column_stack([np.ones(len(some)), own[some], theirs[some]])

    def numbers(sums: Floats) -> Floats:
        mine, panels = divided(sums[:, 1], sums[:, 0]), divided(sums[:, 2], sums[:, 0])
        return np.stack([mine - panels, mine, panels], axis=1)

    why = None if len(some) else "no sheet has several levels"
    return _Question("spread", _by_lesson(scores, given, features, some), numbers, len(some), why)


def _within(levels: Floats) -> Floats:
    """The spread (n - 1) of the levels of each row; NaN for fewer than two."""
    n = (~np.isnan(levels)).sum(axis=1)
    mean = np.nansum(levels, axis=1) / np.maximum(n, 1)
    square = np.nansum((levels - mean[:, None]) ** 2, axis=1)
    return np.where(n > 1, np.sqrt(square / np.maximum(n - 1, 1)), np.nan)


def _central(scores: RoundScores, given: MarkerScores) -> _Question:
    """Share of the scores on the two neighbouring levels used most, less that of the panel on their own two."""
    scale = np.arange(scores.low, scores.high + 1)
    there = ~np.isnan(scores.reference)
    sheets = np.bincount(given.lesson, minlength=scores.n_lessons)[:, None]
    mine = _by_lesson(scores, given, _counts(np.where(there[given.lesson], given.levels, np.nan), scale))
    panel = [_counts(np.where(there, levels, np.nan), scale) * sheets for levels in scores.panel]
    rows = np.hstack([mine, *panel])
    k, total = len(scale), rows.sum(axis=0)
    windows = [int(np.argmax(total[at : at + k - 1] + total[at + 1 : at + k])) for at in range(0, len(total), k)]

    def numbers(sums: Floats) -> Floats:
        shares = [
            divided(sums[:, at + low] + sums[:, at + low + 1], sums[:, at : at + k].sum(axis=1))
            for at, low in zip(range(0, sums.shape[1], k), windows, strict=True)
        ]
        theirs = np.mean(shares[1:], axis=0)
        return np.stack([shares[0] - theirs, shares[0], theirs], axis=1)

    why = "the scale has two levels" if k <= 2 else None
    return _Question("central", rows, numbers, int(mine.sum()), why)


def _counts(levels: Floats, scale: Ints) -> Floats:
    return np.asarray((levels[:, :, None] == scale).sum(axis=1), dtype=np.float64)


def _alone(estimate: Floats) -> Floats:
    nothing = np.full_like(estimate, np.nan)
    return np.stack([estimate, nothing, nothing], axis=1)


def _effect(who: str, ask: _Question, boot: Bootstrap) -> Effect:
    """One habit, not yet judged."""
    patterns = ask.patterns
    effect = Effect(who, ask.name, None, n=ask.n, n_candidates=patterns.n)
    if ask.why is not None or patterns.n == 0:
        return replace(effect, undefined=ask.why or "nothing was given that has a reference")
    estimate, own, others = (float(value) for value in ask.numbers(patterns.total())[0])
    if not np.isfinite(estimate):
        return replace(effect, undefined="it does not exist with these sheets")
    how = boot.intervals(patterns, lambda sums: ask.numbers(sums)[:, :1])[0]
    variance = float(jackknife_variance(patterns, lambda sums: ask.numbers(sums)[:, :1])[0])
    told = _told(replace(effect, estimate=estimate, own=_or_none(own), others=_or_none(others)), how)
    if patterns.n < FEW:
        return replace(told, undefined=f"it rests on {patterns.n} lesson{'' if patterns.n == 1 else 's'}")
    if not np.isfinite(variance) or (how.ci95 is None and not still(estimate, variance)):
        return replace(told, undefined="it would not exist without one of the lessons")
    return replace(told, p=chance(ask.name, estimate, variance, patterns.n, patterns.n))


def _told(effect: Effect, how: Resampled) -> Effect:
    warnings = tuple(_lessons(warning) for warning in how.warnings)
    return replace(effect, ci95=how.ci95, interval=_lessons(how.interval), warnings=warnings)


def _or_none(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _repeat(who: str, scores: RoundScores, given: MarkerScores, panel: PanelError, boot: Bootstrap) -> Effect:
    """Error of one of two scores of the same thing, less that of the panel; p from simulated markers like the panel."""
    pairs = given.pairs()
    gaps = np.array([given.levels[second] - given.levels[first] for first, second in pairs])
    gaps = gaps.reshape(len(pairs), scores.reference.shape[1])
    n = int((~np.isnan(gaps)).sum())
    effect = Effect(who, "repeat", None, n=n, n_candidates=len(pairs))
    if n == 0 or panel.score is None:
        return replace(effect, undefined="nothing was marked twice" if n == 0 else panel.undefined)
    rows = np.zeros((scores.n_lessons, 2))
    lessons = given.lesson[[first for first, _ in pairs]]
    np.add.at(rows, lessons, np.column_stack([(~np.isnan(gaps)).sum(axis=1), np.nansum(gaps**2, axis=1) / 2]))
    patterns = Patterns(rows, np.ones(len(rows), dtype=np.int64)).saying()
    how = boot.intervals(patterns, lambda sums: np.sqrt(divided(sums[:, 1:], sums[:, :1])), (0.0, np.inf))[0]
    own = float(np.sqrt(np.nansum(gaps**2) / 2 / n))
    # Few lessons are marked twice: what they say of their own spread is wide, and the chance is told instead.
    told = replace(
        _told(effect, how), estimate=own - panel.score, own=own, others=panel.score, ci95=None, own_ci95=how.ci95,
        interval=f"of the first number: {_lessons(how.interval)}; p from {boot.replicates} simulated markers",
    )  # fmt: skip
    if len(pairs) < FEWEST_REPEATS:
        return replace(told, undefined=f"{len(pairs)} lesson{' was' if len(pairs) == 1 else 's were'} marked twice")
    return replace(told, p=1.0 if own <= panel.score else _repeat_p(scores, given, panel, pairs, boot))


def _repeat_p(
    scores: RoundScores, given: MarkerScores, panel: PanelError, pairs: list[tuple[int, int]], boot: Bootstrap
) -> float:
    """How often a marker with the panel's own error is at least as far from themselves."""
    rows = np.array(pairs)
    seen = given.levels[rows[:, 1]] - given.levels[rows[:, 0]]
    rng = np.random.default_rng(boot.seed)
    lessons = given.lesson[rows[:, 0]]
    first, second = (simulated(scores, lessons, MarkerModel.like(panel), boot.replicates, rng) for _ in range(2))
    drawn = np.where(np.isnan(seen), np.nan, second - first)
    return float((1 + (np.nansum(drawn**2, axis=(1, 2)) >= np.nansum(seen**2) - 1e-9).sum()) / (boot.replicates + 1))


def _judged(effect: Effect, adjusted: float | None, *, flagged: bool) -> Effect:
    if effect.p is None:
        judged = replace(effect, verdict="too few")
    else:
        # Without an interval all lessons say the same, or the chance was simulated.
        clear = effect.ci95 is None or effect.ci95[0] > 0 or effect.ci95[1] < 0
        judged = replace(effect, adjusted=adjusted, verdict="look" if flagged and clear else "nothing to say")
    todo = todo_of(effect.name) if judged.verdict == "look" else ""
    return replace(judged, sentence=effect_sentence(judged), todo=todo)
