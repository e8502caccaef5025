"""What always holds of the effects of assessors, and what happens where there is nothing to compare."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assess.agreement.rater_effects import rater_effects
from assess.agreement.rater_history import raters_over
from assess.agreement.rater_json import raters_json
from assess.agreement.results.raters import EFFECTS, Effect, RaterCourse
from assess.agreement.sheets import MarkedSheet
from tests.agreement.rater_courses import LEVELS, Made, made_course

SEEDS = st.integers(0, 10_000)
SLOW = settings(deadline=None, max_examples=12, suppress_health_check=[HealthCheck.too_slow])
SCALE = tuple(range(-20, 21))


def told(records: list[MarkedSheet], levels: tuple[int, ...] = LEVELS) -> RaterCourse:
    return rater_effects(records, levels, replicates=60)


def numbers(effect: Effect) -> tuple[float | None, ...]:
    return effect.estimate, effect.p, effect.own, effect.others, *(effect.ci95 or ())


def close(one: Effect, two: Effect) -> bool:
    return one.verdict == two.verdict and all(
        (a is None) == (b is None) and (a is None or math.isclose(a, b or 0.0, abs_tol=1e-7))
        for a, b in zip(numbers(one), numbers(two), strict=True)
    )


@given(SEEDS, st.randoms(use_true_random=False))
@SLOW
def test_the_order_of_the_records_changes_nothing_byte_for_byte(seed: int, shuffled: random.Random) -> None:
    records = made_course(seed, Made(candidates=7, tasks=3, twice=2))
    other = list(records)
    shuffled.shuffle(other)
    assert told(records) == told(other)


@given(SEEDS, st.permutations(["B7", "A0", "Z", "A9"]))
@SLOW
def test_other_names_for_assessors_change_nothing_but_the_names(seed: int, names: list[str]) -> None:
    records = made_course(seed, Made(tasks=3))
    new = {f"A{n + 1}": name for n, name in enumerate(names)}
    one, two = told(records), told([replace(r, assessor=new[r.assessor]) for r in records])
    for rater in one.raters:
        other = two.rater(new[rater.id])
        assert other is not None
        assert all(close(a, b) for a, b in zip(rater.effects, other.effects, strict=True))
        assert (rater.n_sheets, rater.n_flat, rater.levels) == (other.n_sheets, other.n_flat, other.levels)


@given(SEEDS, st.integers(-6, 6), st.sampled_from(["A1", "A2", "A3", "A4"]))
@SLOW
def test_a_constant_added_to_an_assessors_marks_moves_severity_and_the_side_of_the_line_alone(
    seed: int, by: int, who: str
) -> None:
    """The scale has room at both ends. The side of the line moves because passing does."""
    records = made_course(seed, Made(tasks=3, twice=2))
    moved = [
        replace(r, marks=tuple(m + by for m in r.marks), value=r.value + by, passes=r.value + by >= 3.5)
        if r.assessor == who else r
        for r in records
    ]  # fmt: skip
    one, two = told(records, SCALE), told(moved, SCALE)
    for before, after in zip(one.raters, two.raters, strict=True):
        for name in EFFECTS:
            a, b = before.effect(name), after.effect(name)
            if name == "severity":
                want = by * (3 / 4 if before.id == who else -1 / 4)
                assert (b.estimate or 0) - (a.estimate or 0) == pytest.approx(want, abs=1e-9)
            elif name != "line":
                assert numbers(a) == pytest.approx(numbers(b), abs=1e-7), name


@given(SEEDS, st.integers(-5, 5))
@SLOW
def test_a_constant_added_to_all_marks_changes_nothing(seed: int, by: int) -> None:
    records = made_course(seed, Made(tasks=3))
    moved = [replace(r, marks=tuple(m + by for m in r.marks), value=r.value + by) for r in records]
    for one, two in zip(told(records, SCALE).raters, told(moved, SCALE).raters, strict=True):
        for a, b in zip(one.effects, two.effects, strict=True):
            assert numbers(a) == pytest.approx(numbers(b), abs=1e-7), a.name


sheets = st.builds(
    MarkedSheet,
    candidate=st.sampled_from(["C1", "C2", "C3", "C4", "C5", "C6"]),
    task=st.sampled_from(["T1", "T2"]),
    assessor=st.sampled_from(["A1", "A2", "A3"]),
    marks=st.lists(st.sampled_from([1.0, 2.0, 3.0]), min_size=1, max_size=3).map(tuple),
    value=st.sampled_from([1.0, 1.5, 2.0, 7 / 3, 3.0]),
    passes=st.sampled_from([True, False, None]),
    place=st.one_of(st.none(), st.integers(1, 6)),
    day=st.one_of(st.none(), st.integers(1, 2)),
    look=st.sampled_from([1, 1, 1, 2]),
)


@given(st.lists(sheets, max_size=30, unique_by=lambda r: (r.candidate, r.task, r.assessor, r.look)))
@settings(deadline=None, max_examples=150)
def test_whatever_the_sheets_every_number_is_one_or_has_a_reason(records: list[MarkedSheet]) -> None:
    got = rater_effects(records, (1, 2, 3), replicates=20)
    assert [rater.id for rater in got.raters] == sorted({r.assessor for r in records})
    for effect in (effect for rater in got.raters for effect in rater.effects):
        assert all(n is None or math.isfinite(n) for n in numbers(effect))
        assert (effect.estimate is None) <= (effect.undefined is not None)
        assert (effect.p is None) == (effect.verdict == "too few")
        assert (effect.verdict == "too few") == (effect.undefined is not None)
        assert effect.ci95 is None or effect.ci95[0] <= effect.ci95[1]
        assert effect.sentence.endswith(".") and "None" not in effect.sentence and "nan" not in effect.sentence
    assert raters_json(raters_over([got]))["courses"][0]["n_sheets"] == len(records)


def reasons(records: list[MarkedSheet]) -> dict[str, str | None]:
    return {effect.name: effect.undefined for effect in told(records).raters[0].effects}


def test_one_assessor_alone_has_nothing_to_be_compared_with() -> None:
    got = reasons([r for r in made_course(1) if r.assessor == "A1"])
    assert got["severity"] == got["drift"] == "nobody else marked a performance that A1 marked"
    assert got["flat"] == "nobody else has a sheet of several marks beside one of A1"
    assert got["repeat"] == "A1 marked no performance twice here; a calibration round asks for that"
    assert all(got.values())


def test_two_groups_without_a_common_performance_have_no_severity_and_the_rest_all_the_same() -> None:
    records = [r for r in made_course(1) if r.task in ("T1", "T4")]
    got = told(records)
    assert got.groups == (("A1", "A2"), ("A3", "A4"))
    for rater in got.raters:
        severity = rater.effect("severity")
        assert severity.estimate is None and severity.verdict == "too few"
        assert "2 groups that have no performance in common (A1, A2; A3, A4)" in (severity.undefined or "")
        assert rater.effect("drift").estimate is not None and rater.effect("flat").estimate is not None


def test_of_two_assessors_one_is_the_mirror_of_the_other_and_the_sentence_says_so() -> None:
    got = told(made_course(1, Made(assessors=2, severity=1.0)))
    one, two = (rater.effect("severity") for rater in got.raters)
    assert (one.estimate or 0) == pytest.approx(-(two.estimate or 0)) and one.p == pytest.approx(two.p)
    assert "than the mean of the two" in one.sentence and "which of them is apart is not seen" in one.limit
    line = got.raters[0].effect("line")
    assert line.estimate is None and line.own is not None
    assert "two assessors" in (line.undefined or "") and "same side of the pass line" in line.sentence


def test_where_all_marks_are_equal_nobody_is_told_apart() -> None:
    records = [replace(r, marks=(4.0,) * 4, value=4.0, passes=True) for r in made_course(1)]
    got = told(records)
    assert {effect.undefined for rater in got.raters for effect in rater.effects} == {"all marks are the same level"}
    assert got.n_tests == 0 and "nothing was tested" in got.family_sentence


def test_where_every_candidate_says_the_same_the_chance_is_that_of_coins() -> None:
    """A1 always one digit, A2 never: no error to divide by; whose sheet of a performance it is, a coin decides."""
    records = [
        MarkedSheet(f"C{n}", task, who, marks, 4.0, True, n, 1)
        for n in range(1, 6)
        for task in ("T1", "T2")
        for who, marks in (("A1", (4.0, 4.0)), ("A2", (3.0, 5.0)))
    ]
    flat = told(records).raters[0].effect("flat")
    assert (flat.estimate, flat.ci95, flat.p, flat.verdict) == (1.0, None, 2.0**-9, "look")
    assert "how far it could move cannot be said" in flat.sentence


def test_without_places_days_or_a_line_there_is_no_drift_no_contrast_and_no_side() -> None:
    records = [replace(r, place=None, day=None, passes=None) for r in made_course(1)]
    got = reasons(records)
    assert "running order" in (got["drift"] or "") and "one day" in (got["days"] or "")
    assert "one after another" in (got["contrast"] or "") and "no pass line" in (got["line"] or "")
    assert got["severity"] is None and got["flat"] is None


def test_sheets_of_one_mark_have_no_spread() -> None:
    records = [replace(r, marks=r.marks[:1], value=r.marks[0]) for r in made_course(1)]
    got = reasons(records)
    assert got["flat"] == got["spread"] == "nobody else has a sheet of several marks beside one of A1"


def test_no_sheet_at_all_is_a_course_without_assessors() -> None:
    got = told([])
    assert (got.raters, got.n_tests, got.n_sheets, got.groups) == ((), 0, 0, ())


def test_a_scale_of_two_levels_has_no_narrow_range() -> None:
    records = [
        replace(r, marks=tuple(1.0 + (m > 3) for m in r.marks), value=1.0 + (r.value > 3), passes=r.value > 3)
        for r in made_course(1)
    ]
    got = rater_effects(records, (1, 2), replicates=20)
    assert got.raters[0].effect("central").undefined == "the scale has two levels"
