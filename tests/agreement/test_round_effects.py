"""An assessor against the panel: counts as the rule counts them, habits found that were built in, nothing invented."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.round_chances import rule_chances
from assess.agreement.round_counts import count_figures
from assess.agreement.round_effects import HABITS, marker_numbers
from assess.agreement.round_panel import panel_error
from assess.agreement.round_scores import MarkerScores, RoundScores
from assess.marking.qualification import figures
from tests.agreement.round_designs import GOOD, Habit, simulated_round
from tests.bench.rounds import PLANTED, rates
from tests.round_sheets import RUBRIC, reference_of_levels, sheet

HALVES = (3, Fraction(7, 2), 4)


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_simulated_markers_are_counted_as_the_rule_counts_sheets(data: st.DataObject) -> None:
    """The same sheets through `marking`, exactly, and through the arrays of the simulation."""
    n = data.draw(st.integers(2, 5))
    lessons: dict[str, list[int | Fraction]] = {
        f"L{i:02d}": data.draw(st.lists(st.sampled_from((1, 2, *HALVES, 5, 6)), min_size=4, max_size=4))
        for i in range(1, n + 1)
    }
    repeats = data.draw(st.lists(st.sampled_from(sorted(lessons)), unique=True))
    slots = data.draw(st.permutations([*lessons, *(f"{lesson}-2" for lesson in repeats)]))
    level = st.one_of(st.none(), st.integers(1, 6))
    given_levels = {slot: data.draw(st.lists(level, min_size=4, max_size=4)) for slot in slots}
    exact = figures([sheet("A1", slot, given_levels[slot]) for slot in slots], reference_of_levels(lessons), RUBRIC)
    reference = np.array([[float(value) for value in levels] for levels in lessons.values()])
    scores = RoundScores(
        reference, np.tile(reference, (5, 1, 1)), np.ones(reference.shape, dtype=np.int64), 3.5, 1, 6
    )  # fmt: skip
    rows = np.array([int(slot[1:3]) - 1 for slot in slots])
    levels = np.array([[np.nan if value is None else float(value) for value in given_levels[slot]] for slot in slots])
    assert count_figures(scores, rows, levels[None]) == [exact]


def numbers_of(scores: RoundScores, **markers: MarkerScores):
    return {found.assessor: found for found in marker_numbers(scores, markers, panel_error(scores), replicates=400)}


@pytest.fixture(scope="module")
def simulated() -> tuple[RoundScores, dict[str, MarkerScores]]:
    markers = {"A1": GOOD, "A2": Habit(severity=0.7), "A3": Habit(drift=-0.13), "A4": Habit(flat=True)}
    return simulated_round(np.random.default_rng(11), markers)


def test_numbers_are_those_one_counts(simulated: tuple[RoundScores, dict[str, MarkerScores]]) -> None:
    scores, markers = simulated
    for who, found in numbers_of(scores, **markers).items():
        counted = count_figures(scores, markers[who].lesson, markers[who].levels[None])[0]
        assert found.exact.estimate == pytest.approx(counted.exact / counted.scores)
        assert found.within_one.estimate == pytest.approx(counted.within_one / counted.scores)
        assert found.line.estimate == pytest.approx(counted.same_side / counted.sheets)
        assert found.distance.estimate == pytest.approx(float(counted.distance / counted.scores))
        assert found.severity.estimate == pytest.approx(float(counted.above / counted.scores))
        assert found.effects[0].estimate == found.severity.estimate
        for number in (found.exact, found.within_one, found.line, found.distance, found.severity):
            assert number.ci95 is None or number.ci95[0] <= (number.estimate or 0.0) <= number.ci95[1]
            assert number.n_candidates == 12 and number.sentence.startswith(f"{who}: ")


def test_each_habit_is_found_where_it_was_built_in(simulated: tuple[RoundScores, dict[str, MarkerScores]]) -> None:
    found = numbers_of(simulated[0], **simulated[1])
    looks = {who: [effect.name for effect in told.effects if effect.verdict == "look"] for who, told in found.items()}
    assert looks["A1"] == []
    assert "severity" in looks["A2"] and "drift" in looks["A3"] and "spread" in looks["A4"]
    mild = next(effect for effect in found["A2"].effects if effect.name == "severity")
    assert "milder than the panel" in mild.sentence and mild.todo
    drifts = next(effect for effect in found["A3"].effects if effect.name == "drift")
    assert drifts.estimate is not None and drifts.estimate < 0 and "less" in drifts.sentence


def test_the_order_of_the_assessors_and_asking_twice_change_nothing(
    simulated: tuple[RoundScores, dict[str, MarkerScores]],
) -> None:
    scores, markers = simulated
    once = numbers_of(scores, **markers)
    assert numbers_of(scores, **dict(reversed(markers.items()))) == once
    assert numbers_of(scores, **markers) == once


def test_whoever_marks_as_the_reference_has_nothing_to_look_at() -> None:
    scores, _ = simulated_round(np.random.default_rng(2), {}, n_panel=5)
    lesson = np.arange(12)
    found = numbers_of(scores, A1=MarkerScores(lesson, scores.reference.copy()))["A1"]
    assert (found.distance.estimate, found.severity.estimate) == (0.0, 0.0)
    assert (found.exact.estimate, found.line.estimate) == (1.0, 1.0)
    assert found.exact.ci95 is not None and found.exact.ci95[0] < 1 and "Wilson" in found.exact.interval
    verdicts = {effect.name: effect.verdict for effect in found.effects}
    assert verdicts.pop("repeat") == "too few"
    assert set(verdicts.values()) == {"nothing to say"}


def test_a_level_more_throughout_is_a_severity_of_one_level() -> None:
    scores, given = simulated_round(np.random.default_rng(3), {"A1": GOOD})
    inside = np.clip(given["A1"].levels, 1, 5)
    before, after = (
        numbers_of(scores, A1=MarkerScores(given["A1"].lesson, levels))["A1"] for levels in (inside, inside + 1)
    )
    by_name = [{effect.name: effect.estimate for effect in found.effects} for found in (before, after)]
    assert after.severity.estimate == pytest.approx(before.severity.estimate + 1)
    for name in ("drift", "spread", "central", "repeat"):
        assert by_name[0][name] == pytest.approx(by_name[1][name], abs=1e-9)


@pytest.mark.parametrize("rows", [[], [0], [0, 1, 2, 3]])
def test_little_is_called_too_little_and_nothing_is_nan(rows: list[int]) -> None:
    scores, _ = simulated_round(np.random.default_rng(7), {})
    found = numbers_of(scores, A1=MarkerScores(np.array(rows, dtype=np.int64), scores.reference[rows] + 0.0))["A1"]
    assert {effect.verdict for effect in found.effects} == {"too few"}
    assert all(effect.undefined for effect in found.effects)
    for number in (found.distance, found.severity, found.exact, found.within_one, found.line):
        assert number.estimate is None or np.isfinite(number.estimate)
        assert (number.estimate is None) == (not rows)


def test_what_was_not_observed_counts_for_nothing() -> None:
    scores, given = simulated_round(np.random.default_rng(8), {"A1": GOOD})
    levels = given["A1"].levels.copy()
    levels[3] = np.nan
    levels[5, 2] = np.nan
    without = numbers_of(scores, A1=MarkerScores(given["A1"].lesson, levels))["A1"]
    assert without.exact.n == levels.size - 5
    kept = np.delete(np.arange(len(levels)), 3)
    same = numbers_of(scores, A1=MarkerScores(given["A1"].lesson[kept], levels[kept]))["A1"]
    assert same.exact == without.exact and same.severity == without.severity


def test_a_lesson_without_a_reference_counts_for_nothing_anywhere() -> None:
    scores, given = simulated_round(np.random.default_rng(9), {"A1": GOOD, "A4": Habit(flat=True)})
    reference = scores.reference.copy()
    reference[4] = np.nan
    less = RoundScores(reference, scores.panel, scores.weights, 3.5, 1, 6)
    found = numbers_of(less, **given)["A1"]
    on_it = int((given["A1"].lesson == 4).sum())
    assert found.exact.n == 64 - 4 * on_it and found.exact.n_candidates == 11
    shares = rule_chances(
        less, given["A1"].lesson.tolist(), panel_error(less), lambda figures: "current" if figures.scores else "train",
        error=0.5, severity=0.75, drift=0.1, n=50,
    )  # fmt: skip
    assert {each.marker: dict(each.shares)["current"] for each in shares} == {
        "good": 1.0, "severe": 1.0, "drifting": 1.0, "flat": 1.0,
    }  # fmt: skip


def test_flags_on_good_markers_are_rare_and_built_in_habits_are_found() -> None:
    """A small, seeded run of `python -m tests.bench rounds`; its 200 rounds stand there."""
    found = rates(30, spread=0.1, seed=3, replicates=200)
    false = sum(found.any[who] for who in ("good 1", "good 2"))
    assert false <= 12, false  # of 60 good markers; about one in twelve is expected
    for who, least in (("mild", 25), ("drifting", 22), ("flat", 27), ("erratic", 15), ("narrow", 8)):
        assert found.flags[who, PLANTED[who]] >= least, who
    assert sum(found.results[who, "current"] for who in ("good 1", "good 2")) >= 50
    assert sum(found.results[who, "current"] for who in ("mild", "flat")) <= 3
    assert {name for _, name in found.tested} == set(HABITS)
