"""How true severities come out of the many-facet Rasch model, by seeded simulation: slope and coverage.

Scores follow the model itself: candidates' ability, criteria's difficulty and assessors' severity in logits, five
levels. A halo is one number more for each sheet, shared by its criteria. Slope: of estimated on true severity through
zero, 1 where nothing is exaggerated or lost. Coverage: how often 95 % intervals hold the true severity. Every figure
has the standard error that so many data sets leave; severities of one data set count as one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from itertools import combinations
from typing import Any, Literal

import numpy as np
from scipy.special import ndtri

from assess.agreement.rasch import severity
from assess.agreement.results import Severity
from assess.agreement.scores import Floats, Scores, scores_of

__all__ = ["DESIGNS", "Design", "Drawn", "Tallied", "drawn", "loose_rows", "loosely", "rows", "scored", "simulated"]

LEVELS = (1.0, 2.0, 3.0, 4.0, 5.0)
STEPS = np.concatenate([[0.0], np.cumsum(np.linspace(-1.5, 1.5, len(LEVELS) - 1))])
ABILITY, SEVERITY, DIFFICULTY = 1.3, 0.5, 0.5
METHODS: tuple[Literal["marginal", "joint"], ...] = ("marginal", "joint")
HALOS = (0.0, 0.5, 1.0)
APART = 1.6
SENT = "Criteria of one sheet are closer together"


@dataclass(frozen=True)
class Design:
    """So many candidates, each marked by `each` of so many assessors on so many criteria."""

    candidates: int
    assessors: int
    each: int
    criteria: int = 5

    def __str__(self) -> str:
        who = f"{self.assessors}" if self.each == self.assessors else f"{self.each} of {self.assessors}"
        return f"{self.candidates} x {who} x {self.criteria}"


DESIGNS = (Design(24, 4, 4), Design(60, 8, 2))
SMALL = Design(10, 4, 2)


@dataclass(frozen=True, eq=False)
class Drawn:
    """Scores and what they were drawn from: severities in logits, zero on average; in levels, against severity zero."""

    scores: Scores
    severity: Floats
    in_levels: Floats


@dataclass
class Tallied:
    """Sums of each data set: true by estimated severity, and how many intervals of each kind held."""

    rows: list[tuple[float, ...]] = field(default_factory=list)
    said: Counter[str] = field(default_factory=Counter)
    without: int = 0

    def add(self, found: Severity, truth: Drawn) -> None:
        """One data set more."""
        if found.undefined is not None or any(measure.value is None for measure in found.assessors):
            self.without += 1
            return
        value, se, levels, low, high, least, most, sheet = (np.array(part, dtype=np.float64) for part in _parts(found))
        inverse = np.abs(value - truth.severity) <= ndtri(0.975) * se
        told = (low <= truth.severity) & (truth.severity <= high)
        in_levels = (least <= truth.in_levels) & (truth.in_levels <= most)
        sums = (
            truth.severity @ value, truth.severity @ truth.severity, truth.in_levels @ levels,
            truth.in_levels @ truth.in_levels, inverse.sum(), told.sum(), in_levels.sum(), len(value), sheet.mean(),
        )  # fmt: skip
        self.rows.append(tuple(map(float, sums)))
        self.said[SENT] += any(sentence.startswith(SENT) for sentence in found.sentences)

    def ratio(self, top: int, below: int) -> tuple[float, float]:
        """Sum over sum of two columns, with the standard error of a ratio whose cases are data sets."""
        a, b = (np.array([row[k] for row in self.rows]) for k in (top, below))
        found = float(a.sum() / b.sum())
        left = a - found * b
        n = len(self.rows)
        return found, float(np.sqrt((left**2).sum() * n / max(1, n - 1)) / b.sum())

    @property
    def slope(self) -> tuple[float, float]:
        """Of estimated on true severity, in logits."""
        return self.ratio(0, 1)

    @property
    def slope_in_levels(self) -> tuple[float, float]:
        """The same of severity in levels."""
        return self.ratio(2, 3)

    @property
    def inverse(self) -> tuple[float, float]:
        """Coverage of value and 1.96 errors of the full inverse information."""
        return self.ratio(4, 7)

    @property
    def told(self) -> tuple[float, float]:
        """Coverage of the interval that is shown, in logits."""
        return self.ratio(5, 7)

    @property
    def told_in_levels(self) -> tuple[float, float]:
        """Coverage of the interval that is shown, in levels."""
        return self.ratio(6, 7)

    @property
    def sheet(self) -> float:
        """Spread within a sheet over what the model foresees, mean of all."""
        return float(np.mean([row[8] for row in self.rows]))


def _parts(found: Severity) -> Iterator[list[float | None]]:
    yield [m.value for m in found.assessors]
    yield [m.se for m in found.assessors]
    yield [m.levels for m in found.assessors]
    yield [m.ci95[0] if m.ci95 else None for m in found.assessors]
    yield [m.ci95[1] if m.ci95 else None for m in found.assessors]
    yield [m.levels_ci95[0] if m.levels_ci95 else None for m in found.assessors]
    yield [m.levels_ci95[1] if m.levels_ci95 else None for m in found.assessors]
    yield [m.within_sheet.seen / m.within_sheet.foreseen if m.within_sheet else None for m in found.assessors]


def rows(sets: int = 500) -> Iterator[str]:
    """A line for each design, halo and method; then groups that hang together by few candidates."""
    yield f"severity, {sets} data sets each; in brackets the standard error of the figure"
    yield (
        f"{'candidates x assessors x criteria':34}{'halo':>5} {'method':9}{'slope':>14}{'in levels':>14}"
        f"{'full inverse':>15}{'as shown':>15}{'shown, levels':>15}{'sheet':>7}{'halo told':>10}"
    )
    for design in (*DESIGNS, SMALL):
        for halo in HALOS:
            found = simulated(design, halo, sets)
            for method in METHODS:
                yield _line(design, halo, method, found[method], sets)
    yield from loose_rows(sets)


def _line(design: Design, halo: float, method: str, found: Tallied, sets: int) -> str:
    told = f"{design!s:34}{halo:>5.1f} {method:9}"
    told += "".join(f"{_pair(pair):>14}" for pair in (found.slope, found.slope_in_levels))
    told += "".join(f"{_pair(pair):>15}" for pair in (found.inverse, found.told, found.told_in_levels))
    told += f"{found.sheet:>7.2f}{found.said[SENT] / max(1, len(found.rows)):>10.2f}"
    return told + (f"  without a value: {found.without} of {sets}" if found.without else "")


def _pair(pair: tuple[float, float]) -> str:
    return f"{pair[0]:.3f} ({pair[1]:.3f})"


def simulated(design: Design, halo: float, sets: int) -> dict[str, Tallied]:
    """Both methods on the same data sets."""
    found: dict[str, Tallied] = {method: Tallied() for method in METHODS}
    for number in range(sets):
        truth = drawn(design, halo, number)
        for method in METHODS:
            found[method].add(severity(truth.scores, method=method), truth)
    return found


def drawn(design: Design, halo: float, number: int) -> Drawn:
    """Data set `number` of a design. With fewer assessors than all, every set of them is taken about as often."""
    rng = np.random.default_rng([number, design.candidates, design.assessors])
    teams = np.array(list(combinations(range(design.assessors), design.each)))
    order = np.concatenate([rng.permutation(len(teams)) for _ in range(-(-design.candidates // len(teams)))])
    hard = rng.normal(0.0, SEVERITY, design.assessors)
    ability = rng.normal(0.0, ABILITY, design.candidates)
    return scored(rng, ability, hard - hard.mean(), teams[order[: design.candidates]], design.criteria, halo)


def scored(rng: np.random.Generator, ability: Floats, hard: Floats, teams: Any, criteria: int, halo: float) -> Drawn:
    """Scores by the model. teams: the assessors of every candidate, an array or a list of different lengths."""
    difficulty = rng.normal(0.0, DIFFICULTY, criteria)
    difficulty -= difficulty.mean()
    person = np.concatenate([np.full(len(team), c) for c, team in enumerate(teams)])
    marker = np.concatenate([np.asarray(team) for team in teams])
    sheet = ability[person] - hard[marker] + halo * rng.normal(0.0, 1.0, len(person))
    chance = _chance(np.repeat(sheet, criteria) - np.tile(difficulty, len(sheet)))
    level = (rng.random(len(chance))[:, None] > chance.cumsum(axis=1)).sum(axis=1)
    scores = scores_of(
        [f"C{c:03d}" for c in np.repeat(person, criteria)], [f"A{a}" for a in np.repeat(marker, criteria)],
        np.asarray(LEVELS)[np.minimum(level, len(LEVELS) - 1)],
        criterion=[f"k{k}" for k in np.tile(np.arange(criteria), len(sheet))], levels=LEVELS,
    )  # fmt: skip
    return Drawn(scores, hard, _levels_lost(hard, difficulty, halo))


def _chance(logit: Floats) -> Floats:
    power = np.exp(logit[:, None] * np.arange(len(LEVELS)) - STEPS)
    return np.asarray(power / power.sum(axis=1, keepdims=True))


@cache
def _normal(n: int = 61) -> tuple[Floats, Floats]:
    place = np.linspace(-5.0, 5.0, n)
    weight = np.exp(-0.5 * place**2)
    return place, weight / weight.sum()


def _levels_lost(hard: Floats, difficulty: Floats, halo: float) -> Floats:
    """How many levels lower than with severity zero the scores of candidates drawn so are."""
    place, weight = _normal()
    spread = float(np.hypot(ABILITY, halo))
    logit = (spread * place[:, None, None] - difficulty[:, None] - np.append(hard, 0.0)).ravel()
    mean = (_chance(logit) @ np.asarray(LEVELS)).reshape(len(place), len(difficulty), -1).mean(axis=1)
    return np.asarray(weight @ (mean[:, -1:] - mean[:, :-1]))


@dataclass
class _Loose:
    """Severity of A2, A3 over A0, A1 in each data set; whether intervals of A0 hold zero; whether anybody is named."""

    gaps: list[float] = field(default_factory=list)
    inverse: list[bool] = field(default_factory=list)
    told: list[bool] = field(default_factory=list)
    named: list[bool] = field(default_factory=list)
    warned: Counter[str] = field(default_factory=Counter)


def loose_rows(sets: int) -> Iterator[str]:
    """Two pairs of assessors, equally severe, whose candidates differ, joined by few."""
    yield ""
    yield (
        f"{'two pairs joined by candidates':34}{'apart':>5} {'method':9}{'difference':>16}{'spread':>8}"
        f"{'full inverse':>15}{'as shown':>15}{'named':>15}   true difference 0"
    )
    warned: Counter[str] = Counter()
    for joints in (1, 2, 5):
        for apart in (0.0, APART):
            for method in METHODS:
                found = loosely(joints, apart, method, sets)
                if method == "marginal" and joints == 1:
                    warned.update(found.warned)
                gaps = np.array(found.gaps)
                where = f"{joints} of 24, {'by chance' if not apart else 'weaker with A2, A3'}"
                spread = float(gaps.std(ddof=1))
                yield (
                    f"{where:34}{apart:>5.1f} {method:9}{_pair((gaps.mean(), spread / len(gaps) ** 0.5)):>16}"
                    f"{spread:>8.2f}{_share(found.inverse):>15}{_share(found.told):>15}{_share(found.named):>15}"
                )
    yield f"said with one candidate between them, in how many of {2 * sets}:"
    for text, times in warned.most_common():
        yield f"  {times:5d}  {text}"


def _share(held: list[bool]) -> str:
    share = float(np.mean(held))
    return _pair((share, float((share * (1 - share) / len(held)) ** 0.5)))


def loosely(joints: int, apart: float, method: Literal["marginal", "joint"], sets: int) -> _Loose:
    """24 candidates, so many of them marked by both pairs; those of the second pair are `apart` logits weaker."""
    found = _Loose()
    for number in range(sets):
        rng = np.random.default_rng([number, joints, int(10 * apart)])
        ability = rng.normal(0.0, ABILITY, 24)
        ability[12:] -= apart
        teams = [[0, 1, 2, 3] if c < joints else [0, 1] if c < 12 else [2, 3] for c in range(24)]
        told = severity(scored(rng, ability, np.zeros(4), teams, 5, 0.0).scores, method=method)
        if told.undefined is not None or any(m.value is None or m.ci95 is None for m in told.assessors):
            continue
        value, se, _, low, high, *_ = (np.array(part, dtype=np.float64) for part in _parts(told))
        found.gaps.append(float((value[2:] - value[:2]).mean()))
        found.inverse.append(bool(abs(value[0]) <= ndtri(0.975) * se[0]))
        found.told.append(bool(low[0] <= 0 <= high[0]))
        found.named.append(any("more than chance" in m.sentence for m in told.assessors))
        found.warned.update(warning.replace("C000", "<candidate>") for warning in told.warnings)
    return found
