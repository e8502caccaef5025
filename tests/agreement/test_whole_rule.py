"""The rule on many markings at once gives what the rules of marking give, one by one."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.whole_rule import NOT_PASSED, PASSED, THIRD_LOOK, RuleOfMany, SheetOfMany, WrittenRule
from assess.marking.band import error_squared
from assess.marking.outcome import module_result
from assess.marking.rule import module_rule, rule_outcome
from assess.marking.values import CountedSheet, tally, weighted_mean
from assess.records.rubric import Rubric
from tests.marking.building import case, rubric, sheet_error, slot

WORDS = {"passed": PASSED, "not_passed": NOT_PASSED, "third_look": THIRD_LOOK}
TASKS = {"T1": ("a", "b", "c"), "T2": ("a", "d")}
Table = list[dict[str, int]]


def written(rules: Rubric) -> WrittenRule:
    """The numbers of a rubric's one module."""
    rule = module_rule(rules, "m")
    weights = {k: rules.weight(k) for k in rules.criteria}
    scale = rules.scale
    return WrittenRule(
        rule.line, rule.minimum, rule.inclusive, rule.allowed, error_squared(rules, "m"), scale.min, scale.max, weights
    )


RULES = st.fixed_dictionaries(
    {
        "rule": st.sampled_from(["mixed", "mixed", "compensatory", "conjunctive"]),
        "minimum": st.sampled_from([None, {"value": "2.5"}, {"value": "2", "inclusive": False}, {"value": "3"}]),
        "below_line": st.sampled_from([{}, {"m": 0}, {"m": 1}, {"m": 2}]),
        "band": st.sampled_from([None, "0", "0.3", "0.46", "0.8", "1.5"]),
        "weights": st.sampled_from(["1", {"a": "2"}, {"b": "0.333333", "c": "1.7"}, {"a": "123.456789", "d": "0.01"}]),
        "line": st.sampled_from(["3.5", "3", "3.25"]),
    }
)
SHEET = st.tuples(
    st.lists(st.integers(1, 6), min_size=3, max_size=3), st.lists(st.integers(1, 6), min_size=2, max_size=2)
)


def made(drawn: dict[str, Any]) -> Rubric:
    band = None if drawn["band"] is None else {"z": "1", "sheet_error": {"m": sheet_error(drawn["band"])}}
    words = {level: f"level {level}" for level in range(1, 7)}
    return rubric(
        TASKS, rule=drawn["rule"], minimum=drawn["minimum"], below_line=drawn["below_line"], band=band,
        weights=drawn["weights"], scale={"min": 1, "max": 6, "pass_line": drawn["line"], "words": words},
    )  # fmt: skip


def of_many(levels: Sequence[dict[str, int]], task: str) -> SheetOfMany:
    """One sheet of a task in as many markings as there are rows."""
    criteria = TASKS[task]
    return SheetOfMany(tuple((task, k) for k in criteria), np.array([[row[k] for k in criteria] for row in levels]))


def flat(task: str, level: int) -> SheetOfMany:
    return of_many([dict.fromkeys(TASKS[task], level)], task)


@given(RULES, st.lists(st.tuples(SHEET, SHEET), min_size=1, max_size=6))
@settings(deadline=None, max_examples=150)
def test_every_marking_has_the_outcome_the_rules_of_marking_give(drawn, markings) -> None:
    rules = made(drawn)
    told = []
    tables: dict[tuple[str, int], Table] = {}
    for pair in markings:
        slots = []
        for place, task in enumerate(TASKS):
            given = {f"A{who + 1}": dict(zip(TASKS[task], one[place], strict=True)) for who, one in enumerate(pair)}
            for who, marks in enumerate(given.values()):
                tables.setdefault((task, who), []).append(marks)
            slots.append(slot(rules, task, given))
        told.append(WORDS[module_result(case(rules, *slots)).outcome])
    many = RuleOfMany(written(rules))
    sheets = [of_many(rows, task) for (task, _), rows in tables.items()]
    ends = [[flat(task, level) for task in TASKS] for level in (1, 6)]
    assert many.outcomes(sheets, *ends).tolist() == told


@given(RULES, st.lists(SHEET, min_size=3, max_size=3), st.booleans())
@settings(deadline=None, max_examples=100)
def test_after_a_third_look_the_result_is_that_of_three_sheets_without_the_band(drawn, three, halves) -> None:
    """Also in half levels, as the median of two runs gives them."""
    rules = made(drawn)
    unit = 2 if halves else 1
    sheets, counted = [], []
    for one in three:
        for place, task in enumerate(TASKS):
            levels = {
                k: Fraction(level, 2) + 3 if halves else Fraction(level)
                for k, level in zip(TASKS[task], one[place], strict=True)
            }
            cells = tuple((task, k) for k in levels)
            sheets.append(SheetOfMany(cells, np.array([[int(level * unit) for level in levels.values()]])))
            counted.append(CountedSheet(task, task, "A", levels, weighted_mean(levels, rules)))
    want = rule_outcome(tally(counted, "m", rules), module_rule(rules, "m"), read_band=False)
    assert RuleOfMany(written(rules), unit).without_look(sheets).tolist() == [WORDS[want]]


def test_a_mean_on_the_edge_of_the_band_is_in_it_and_one_a_hair_outside_is_not() -> None:
    # Two sheets, mean 4: (4 - 3.5)^2 * 2 = 0.5; a band of sqrt(0.5) is 0.70710678...
    sheet = of_many([dict.fromkeys(TASKS["T1"], 4)], "T1")
    ends = [[flat("T1", level)] for level in (1, 6)]
    rule = WrittenRule(Fraction(7, 2), None, True, None, Fraction(1, 2), 1, 6, {})
    assert RuleOfMany(rule).outcomes([sheet, sheet], *ends).tolist() == [THIRD_LOOK]
    less = WrittenRule(Fraction(7, 2), None, True, None, Fraction(1, 2) - Fraction(1, 10**18), 1, 6, {})
    assert RuleOfMany(less).outcomes([sheet, sheet], *ends).tolist() == [PASSED]


@pytest.mark.parametrize("weight", ["1", "0.000001", "999999.999999"])
def test_weights_with_many_decimals_stay_exact(weight: str) -> None:
    """The mean stands exactly on the line: a value on the line passes."""
    rule = WrittenRule(
        Fraction(7, 2),
        None,
        True,
        None,
        None,
        1,
        6,
        {"a": Fraction(weight), "b": Fraction(weight), "c": Fraction("0.333333")},
    )
    low, high = {"a": 3, "b": 4, "c": 3}, {"a": 3, "b": 4, "c": 4}
    both = [of_many([low], "T1"), of_many([high], "T1")]
    assert RuleOfMany(rule).without_look(both).tolist() == [PASSED]
    assert RuleOfMany(rule).without_look([both[0], both[0]]).tolist() == [NOT_PASSED]
