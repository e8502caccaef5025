"""The written rule of a module on many markings at once: mean, minimum, count, band and third look, in whole numbers.

Levels are whole multiples of 1 / unit; every comparison is made after multiplying out, so nothing hangs on a last bit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import isqrt, lcm

import numpy as np
from numpy.typing import NDArray

__all__ = ["NOT_PASSED", "PASSED", "THIRD_LOOK", "RuleOfMany", "SheetOfMany", "WrittenRule"]

NOT_PASSED, PASSED, THIRD_LOOK = 0, 1, 2
Codes = NDArray[np.int8]
Whole = NDArray[np.int64]
Cell = tuple[str, str]
_MOST = 2**60


@dataclass(frozen=True, slots=True)
class WrittenRule:
    """What a rubric asks of a module.

    minimum: no task-criterion value under it (`inclusive`: itself is enough). allowed: values below the line at most.
    band_squared: (z * sheet error) squared, None without a band. weights: of the criteria, 1 where none is given.
    """

    line: Fraction
    minimum: Fraction | None
    inclusive: bool
    allowed: int | None
    band_squared: Fraction | None
    lowest: int
    highest: int
    weights: Mapping[str, Fraction]

    def weight(self, criterion: str) -> Fraction:
        """The weight of a criterion in a sheet value."""
        return self.weights.get(criterion, Fraction(1))


@dataclass(frozen=True, eq=False)
class SheetOfMany:
    """One sheet in r markings: its cells, (task, criterion) each, and levels times unit, shape (r or 1, cells)."""

    cells: tuple[Cell, ...]
    levels: Whole

    @property
    def criteria(self) -> tuple[str, ...]:
        """The criteria, in the order of the columns."""
        return tuple(criterion for _, criterion in self.cells)


@dataclass(frozen=True, slots=True, eq=False)
class _Sum:
    """How the sheet values add up: times the weights of each sheet, in whole numbers; total over `scale`."""

    times: tuple[tuple[int, ...], ...]
    scale: int
    wide: bool


@dataclass(frozen=True, slots=True, eq=False)
class RuleOfMany:
    """A rule for levels counted in 1 / unit."""

    rule: WrittenRule
    unit: int = 1
    _sums: dict[tuple[tuple[str, ...], ...], _Sum] = field(default_factory=dict)

    def outcomes(
        self, sheets: Sequence[SheetOfMany], third_lowest: Sequence[SheetOfMany], third_highest: Sequence[SheetOfMany]
    ) -> Codes:
        """PASSED, NOT_PASSED or THIRD_LOOK for each of the r markings.

        third_lowest, third_highest: the sheets a third look can add at most and at least. One that leads to the same
        outcome either way is not offered: the rule without the band then decides.
        """
        found = self.without_look(sheets, band=True)
        asked = found == THIRD_LOOK
        if asked.any():
            ends = [self.without_look([*sheets, *third]) for third in (third_lowest, third_highest)]
            found = np.where(asked & (ends[0] == ends[1]), self.without_look(sheets), found)
        return found.astype(np.int8)

    def without_look(self, sheets: Sequence[SheetOfMany], *, band: bool = False) -> Codes:
        """What mean, minimum and count give, first line that applies; THIRD_LOOK only where the band is read."""
        away, n, scale = self._away(sheets)
        under, below = self._failing(sheets)
        excess = below - self.rule.allowed if self.rule.allowed is not None else np.zeros_like(below)
        above = away >= 0
        by_one = (under == 1) | (excess == 1)
        found = np.where(above & ~by_one, PASSED, NOT_PASSED)
        if band:
            look = above & by_one
            if self.rule.band_squared is not None:
                # (mean - line)^2 n <= e, with away = (mean - line) scale: away^2 <= e scale^2 / n, both sides whole.
                look |= abs(away) <= isqrt(int(self.rule.band_squared * scale**2 / n))
            found = np.where(look, THIRD_LOOK, found)
        return np.where((under > 1) | (excess > 1), NOT_PASSED, found).astype(np.int8)

    def _away(self, sheets: Sequence[SheetOfMany]) -> tuple[Whole, int, int]:
        """(module mean - line) times scale, exact; the number of sheets; the scale."""
        held = tuple(sheet.criteria for sheet in sheets)
        if held not in self._sums:
            self._sums[held] = self._sum(held)
        made, line = self._sums[held], self.rule.line
        kind = np.object_ if made.wide else np.int64
        total = sum(
            sheet.levels.astype(kind) @ np.asarray(times, dtype=kind)
            for sheet, times in zip(sheets, made.times, strict=True)
        )
        away = total * line.denominator - line.numerator * (made.scale // line.denominator)
        return np.asarray(away), len(sheets), made.scale

    def _sum(self, held: tuple[tuple[str, ...], ...]) -> _Sum:
        kept = [[self.rule.weight(criterion) for criterion in criteria] for criteria in held]
        whole = lcm(*(weight.denominator for weights in kept for weight in weights))
        times = [[int(weight * whole) for weight in weights] for weights in kept]
        shared = lcm(*(sum(weights) for weights in times))
        scale = shared * len(held) * self.unit * self.rule.line.denominator
        # Weights with many decimals leave 64 bits; whole numbers of any size are slower and as exact.
        wide = scale * max(abs(self.rule.highest), abs(self.rule.lowest), 1) >= _MOST
        summed = tuple(tuple(shared // sum(weights) * weight for weight in weights) for weights in times)
        return _Sum(summed, scale, wide)

    def _failing(self, sheets: Sequence[SheetOfMany]) -> tuple[Whole, Whole]:
        """How many task-criterion values fail the minimum, and how many are below the line."""
        sums: dict[Cell, tuple[Whole, int]] = {}
        for sheet in sheets:
            for column, cell in enumerate(sheet.cells):
                level, n = sheet.levels[:, column], 1
                if cell in sums:
                    before, times = sums[cell]
                    level, n = before + level, times + 1
                sums[cell] = (level, n)
        under = below = np.zeros(1, dtype=np.int64)
        least, line = self.rule.minimum, self.rule.line
        for total, n in sums.values():
            below = below + (total * line.denominator < line.numerator * n * self.unit)
            if least is not None:
                left, right = total * least.denominator, least.numerator * n * self.unit
                under = under + ((left < right) if self.rule.inclusive else (left <= right))
        return under, below
