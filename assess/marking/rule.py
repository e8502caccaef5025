"""The rule of a module on its figures: mean, minimum, count and band, first line that applies."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from assess.marking.band import error_squared
from assess.marking.results import Outcome, TaskValue
from assess.marking.values import Tally
from assess.records.rubric import Rubric

__all__ = ["ModuleRule", "module_rule", "rule_outcome"]


@dataclass(frozen=True, slots=True)
class ModuleRule:
    """The numbers a rubric sets for a module.

    minimum: no value may be under it (`inclusive`: itself is enough); None for no minimum.
    allowed: how many values may be below the line; None for no count. error: (z * sheet_error) squared or None.
    """

    line: Fraction
    minimum: Fraction | None
    inclusive: bool
    allowed: int | None
    error: Fraction | None

    def under(self, values: tuple[TaskValue, ...]) -> tuple[TaskValue, ...]:
        """The values that fail the minimum."""
        return tuple(item for item in values if not self.holds(item.value))

    def holds(self, value: Fraction) -> bool:
        """True when a value does not fail the minimum."""
        if self.minimum is None:
            return True
        return value >= self.minimum if self.inclusive else value > self.minimum

    def below(self, values: tuple[TaskValue, ...]) -> tuple[TaskValue, ...]:
        """The values below the line."""
        return tuple(item for item in values if item.value < self.line)

    def excess(self, values: tuple[TaskValue, ...]) -> int:
        """How many values more than allowed stand below the line; 0 or less when the count holds."""
        return 0 if self.allowed is None else len(self.below(values)) - self.allowed

    def in_band(self, mean: Fraction, n: int) -> bool:
        """True when the mean is within the band, its edge included. Never without a sheet error."""
        return self.error is not None and (mean - self.line) ** 2 * n <= self.error


def module_rule(rubric: Rubric, module: str) -> ModuleRule:
    """The rule of a module by its kind.

    mixed: mean, minimum and count. compensatory: the mean alone. conjunctive: no value below the line at all.
    """
    line, error = rubric.scale.pass_line, error_squared(rubric, module)
    if rubric.rule == "compensatory":
        return ModuleRule(line, None, True, None, error)
    if rubric.rule == "conjunctive":
        return ModuleRule(line, line, True, 0, error)
    least = rubric.minimum
    return ModuleRule(
        line,
        least.value if least else None,
        least.inclusive if least else True,
        rubric.below_line.get(module),
        error,
    )


def rule_outcome(figures: Tally, rule: ModuleRule, *, read_band: bool) -> Outcome:
    """What the numbers give: `passed`, `not_passed` or, while the band is read, `third_look`.

    read_band: False after a closed third look, and where a third look is not offered.
    """
    under, excess = len(rule.under(figures.values)), rule.excess(figures.values)
    mean = figures.mean
    if under > 1 or excess > 1:
        return "not_passed"
    if read_band and rule.in_band(mean, figures.n):
        return "third_look"
    fails_by_one = under == 1 or excess == 1
    if read_band and fails_by_one and mean >= rule.line:
        return "third_look"
    return "passed" if mean >= rule.line and not fails_by_one else "not_passed"
