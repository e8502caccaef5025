"""The simulation of decisions (`tests.bench.decisions`): it is the program's own rule, and errs only where marks do."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from assess.marking.outcome import module_result
from tests.bench import decisions
from tests.bench.decisions import CANDIDATES, NAMES, _case, drawn, passes, rows, simulated, ways
from tests.marking.sample import MODULES, TASKS

NOTHING = [Fraction(0)] * 4


def test_without_noise_every_way_passes_whoever_is_on_or_above_the_line(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("TASK", "CRITERION", "SEVERITY", "HALO", "ERROR"):
        monkeypatch.setattr(decisions, name, 0.0)
    found = simulated(2)
    assert {name: rates.ratio((0, 2), (1, 3))[0] for name, rates in found.items()} == dict.fromkeys(found, 0.0)


def test_outcomes_are_those_of_the_written_rule() -> None:
    course = drawn(1)
    way = next(way for way in ways() if way.name == "rule: two, third looks")
    looked = 0
    for candidate in range(CANDIDATES):
        for module in MODULES:
            first = module_result(_case(way, course, candidate, module, 0))
            passed, sheets = passes(way, course, candidate, module, NOTHING)
            if first.outcome != "third_look":
                assert (passed, sheets) == (first.outcome == "passed", first.n_sheets)
                continue
            looked += 1
            after = module_result(_case(way, course, candidate, module, 1))
            assert (passed, sheets) == (after.outcome == "passed", after.n_sheets)
            assert after.n_sheets == first.n_sheets * 3 // 2
    assert looked > 2


def test_pairs_have_no_assessor_in_common_and_change_from_task_to_task() -> None:
    course = drawn(2)
    for at, task in enumerate([*TASKS, *TASKS]):
        assert (np.sort(course.seats[at], axis=1) == np.arange(4)).all()
        pairs = {frozenset(NAMES[a] for a in seats[:2]) for seats in course.seats[at]}
        assert len(pairs) == 2 and frozenset.union(*pairs) == frozenset(NAMES), task


def test_the_same_number_draws_the_same_course_and_costs_are_counted() -> None:
    assert (drawn(3).levels == drawn(3).levels).all() and (drawn(3).true == drawn(3).true).all()
    told = list(rows(2))
    found = simulated(2)
    sheets = {name: rates.ratio((8,), (1, 3))[0] for name, rates in found.items()}
    assert (sheets["mean: one assessor"], sheets["mean: two"], sheets["mean: three for everybody"]) == (2.0, 4.0, 6.0)
    assert sheets["mean: one, twice the performances"] == 4.0
    for kind in ("mean", "rule"):
        looks = sheets[f"{kind}: two, third looks"]
        assert 4.0 < looks < 6.0
        assert looks == pytest.approx(sheets[f"{kind}: two, as many thirds by chance"])
    assert len(told) == 3 + len(found)
