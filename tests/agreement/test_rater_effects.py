"""Effects of assessors on the sample course, held against its own table and against plain computations."""

from __future__ import annotations

import numpy as np
import pytest

from assess.agreement.bootstrap import Cancelled
from assess.agreement.rater_chance import FEW
from assess.agreement.rater_effects import rater_effects
from assess.agreement.results.raters import EFFECTS, Effect, RaterCourse
from assess.agreement.scores import Floats, ScoreError
from assess.agreement.sheets import MarkedSheet, sheets_of
from tests.agreement.rater_courses import LEVELS, Made, made_course
from tests.agreement.rater_sample import sample_sheets
from tests.agreement.score_tables import value

# Sources: the table "What the assessors look like" of the sample course's own description (computed from the same
# score rows by drawing the ten candidates 2,000 times, percentiles).
SEVERITY = {"A1": (0.04, -0.16, 0.20), "A2": (0.27, 0.16, 0.39), "A3": (-0.45, -0.60, -0.31), "A4": (0.15, 0.02, 0.27)}
DRIFT = {"A1": (0.01, -0.07, 0.09), "A2": (-0.06, -0.13, 0.02), "A3": (0.04, -0.02, 0.08), "A4": (0.01, -0.10, 0.10)}
SHEETS = {"A1": (26, 6, 0.46), "A2": (27, 24, 0.09), "A3": (28, 7, 0.53), "A4": (27, 7, 0.44)}


@pytest.fixture(scope="module")
def found() -> RaterCourse:
    return rater_effects(sample_sheets(), LEVELS, course="K-2026-01")


def effect(found: RaterCourse, who: str, name: str) -> Effect:
    return next(one for rater in found.raters if rater.id == who for one in rater.effects if one.name == name)


@pytest.mark.parametrize(("name", "table"), [("severity", SEVERITY), ("drift", DRIFT)])
def test_severity_and_drift_of_the_sample_course_are_those_of_its_own_table(
    found: RaterCourse, name: str, table: dict[str, tuple[float, float, float]]
) -> None:
    for who, (estimate, low, high) in table.items():
        one = effect(found, who, name)
        assert value(one.estimate) == pytest.approx(estimate, abs=0.006), who
        # The table's intervals resample candidates and are too short for ten of them; these hold them.
        assert one.ci95 is not None and one.ci95[0] < low + 0.02 and high - 0.02 < one.ci95[1], who
        assert "10 candidates" in one.interval


def test_severity_and_its_interval_are_those_of_least_squares_and_students_t_written_out(found: RaterCourse) -> None:
    sheets = sample_sheets()
    names = sorted({sheet.assessor for sheet in sheets})
    candidates = sorted({sheet.candidate for sheet in sheets})

    def by_hand(kept: list[str]) -> Floats:
        rows = [sheet for sheet in sheets if sheet.candidate in kept]
        slots = sorted({(sheet.task, sheet.candidate) for sheet in rows})
        design = np.zeros((len(rows), len(slots) + len(names)))
        for row, sheet in zip(design, rows, strict=True):
            row[slots.index((sheet.task, sheet.candidate))] = 1.0
            row[len(slots) + names.index(sheet.assessor)] = 1.0
        found = np.linalg.lstsq(design, np.array([sheet.value for sheet in rows]), rcond=None)[0][len(slots) :]
        return np.asarray(found - found.mean())

    whole = by_hand(candidates)
    without = np.array([by_hand([other for other in candidates if other != one]) for one in candidates])
    n = len(candidates)
    error = np.sqrt((n - 1) / n * ((without - without.mean(axis=0)) ** 2).sum(axis=0))
    # Student's t with 9 degrees of freedom, 97.5 %: 2.262157 (any table).
    for who, estimate, se in zip(names, whole, error, strict=True):
        one = effect(found, who, "severity")
        assert value(one.estimate) == pytest.approx(estimate, abs=1e-9)
        assert one.ci95 == pytest.approx((estimate - 2.262157 * se, estimate + 2.262157 * se), abs=1e-6)


def test_sheets_flat_sheets_and_spread_are_those_of_its_own_table(found: RaterCourse) -> None:
    for who, (n, flat, spread) in SHEETS.items():
        rater = found.rater(who)
        assert rater is not None
        assert (rater.n_sheets, rater.n_flat) == (n, flat)
        assert value(rater.spread) == pytest.approx(spread, abs=0.005)
    assert (found.n_candidates, found.n_assessors, found.n_sheets, found.n_slots) == (10, 4, 108, 54)


def test_what_there_is_to_look_at_on_the_sample_course_and_nothing_else(found: RaterCourse) -> None:
    looks = {(rater.id, one.name) for rater in found.raters for one in rater.effects if one.verdict == "look"}
    assert looks == {("A3", "severity"), ("A2", "flat"), ("A2", "spread")}
    # The family flags A2's severity too; beside A1 and A4 alone it is not shown.
    assert found.n_flagged == 4 and effect(found, "A2", "severity").mirror_of == "A3"
    assert "not shown without A3" in effect(found, "A2", "severity").sentence
    # Four assessors, nine effects, nobody marked a performance twice.
    assert found.n_tests == 32 and "K-2026-01" in found.family and "4 of 32" in found.family_sentence
    assert all(one.todo for rater in found.raters for one in rater.effects if one.verdict == "look")
    assert not any(one.todo for rater in found.raters for one in rater.effects if one.verdict != "look")
    order = [one.name for one in found.raters[0].effects]
    assert order == list(EFFECTS)


def test_the_same_side_of_the_line_is_48_of_54(found: RaterCourse) -> None:
    """The same source: every pair is counted with both of its assessors."""
    effects = [effect(found, who, "line") for who in SHEETS]
    assert sum(round(value(one.own) * one.n) for one in effects) == 2 * 48
    assert sum(one.n for one in effects) == 2 * 54


def by_least_squares(records: tuple[MarkedSheet, ...]) -> dict[str, float]:
    """Slot + assessor with dummy columns, all rows, numpy's own least squares; mean 0."""
    slots = sorted({(r.candidate, r.task) for r in records})
    who = sorted({r.assessor for r in records})
    design = np.zeros((len(records), len(slots) + len(who)))
    for row, record in enumerate(records):
        design[row, slots.index((record.candidate, record.task))] = 1
        design[row, len(slots) + who.index(record.assessor)] = 1
    told = np.linalg.lstsq(design, np.asarray([r.value for r in records]), rcond=None)[0][len(slots) :]
    return dict(zip(who, (told - told.mean()).tolist(), strict=True))


@pytest.mark.parametrize("assessors", [3, 4])
def test_severities_are_those_of_least_squares_with_dummy_columns(assessors: int) -> None:
    """Three assessors who mark everything, and fixed pairs of four; sheets taken out so that slots differ in size."""
    records = made_course(3, Made(assessors=assessors, severity=-0.5))
    records = [r for n, r in enumerate(records) if n % 7]
    got = rater_effects(records, LEVELS, replicates=0)
    want = by_least_squares(tuple(records))
    assert {r.id: value(r.effect("severity").estimate) for r in got.raters} == pytest.approx(want, abs=1e-9)


def test_slopes_are_those_of_a_plain_regression_of_the_gap() -> None:
    records = made_course(5, Made(assessors=3))
    got = rater_effects(records, LEVELS, replicates=0)
    severity = by_least_squares(tuple(records))
    by_slot = {(r.candidate, r.task, r.assessor): r for r in records}
    for who in severity:
        own = [r for r in records if r.assessor == who]
        gap = [
            r.value - np.mean([by_slot[r.candidate, r.task, b].value - severity[b] for b in severity if b != who])
            for r in own
        ]
        rater = got.rater(who)
        assert rater is not None
        places, day_numbers = [value(r.place) for r in own], [value(r.day) for r in own]
        for one, regressor in ((rater.effect("drift"), places), (rater.effect("days"), day_numbers)):
            want = np.polyfit(np.asarray(regressor), gap, 1)[0]
            assert value(one.estimate) == pytest.approx(want, abs=1e-9)
        in_order = {(r.task, place): r.value for r, place in zip(own, places, strict=True)}
        pairs = [(in_order[r.task, place - 1], g) for r, place, g in zip(own, places, gap, strict=True) if place > 1]
        want = np.polyfit([before for before, _ in pairs], [g for _, g in pairs], 1)[0]
        contrast = rater.effect("contrast")
        assert value(contrast.estimate) == pytest.approx(want, abs=1e-9) and contrast.n == len(pairs)


def test_spread_flat_and_levels_used_are_counted_on_the_same_performances() -> None:
    records = [
        MarkedSheet("C1", "T1", "A1", (3, 3, 3), 3.0), MarkedSheet("C1", "T1", "A2", (2, 4, 4), 10 / 3),
        MarkedSheet("C2", "T1", "A1", (4, 4, 5), 13 / 3), MarkedSheet("C2", "T1", "A2", (6, 4, 5), 5.0),
        # Nobody else marked C3: this sheet says nothing beside others.
        MarkedSheet("C3", "T1", "A1", (1, 6, 1), 8 / 3),
    ]  # fmt: skip
    got = rater_effects(records, LEVELS, replicates=0)
    flat, spread, central = (got.raters[0].effect(name) for name in ("flat", "spread", "central"))
    assert (flat.own, flat.others, flat.estimate, flat.n) == (0.5, 0.0, 0.5, 2)
    assert value(spread.own) == pytest.approx((0 + np.std([4, 4, 5], ddof=1)) / 2)
    assert value(spread.others) == pytest.approx((np.std([2, 4, 4], ddof=1) + np.std([6, 4, 5], ddof=1)) / 2)
    # A1: 3 and 4 hold 5 of 6 marks; A2: 4 and 5 hold 4 of 6.
    assert (value(central.own), value(central.others)) == pytest.approx((5 / 6, 4 / 6))
    assert got.raters[0].n_flat == 1 and got.raters[0].levels == (2, 0, 3, 2, 1, 1)


def test_the_same_performance_twice_is_compared_with_that_of_the_others() -> None:
    first = [MarkedSheet(f"C{n}", "T1", who, (3, 4), 3.5) for n in range(1, 7) for who in ("A1", "A2")]
    moved = {"A1": 1.0, "A2": 0.5}
    again = [
        MarkedSheet(r.candidate, "T1", r.assessor, (4, 4), r.value + moved[r.assessor] * (-1) ** int(r.candidate[1]),
                    look=2)
        for r in first
    ]  # fmt: skip
    got = rater_effects(first + again, LEVELS, replicates=0)
    one = got.raters[0].effect("repeat")
    assert (value(one.own), value(one.others), one.n) == pytest.approx((1 / 2**0.5, 0.5 / 2**0.5, 6))
    # Second sheets are compared with the first of the same assessor only.
    assert got.n_sheets == 24 and got.raters[0].n_sheets == 6


def test_work_that_is_left_ends_and_progress_runs_from_nothing_to_all() -> None:
    told: list[float] = []

    def tell(share: float) -> bool:
        told.append(share)
        return True

    rater_effects(sample_sheets(), LEVELS, replicates=50, progress=tell)
    assert told == sorted(told) and told[-1] == 1.0
    with pytest.raises(Cancelled):
        rater_effects(sample_sheets(), LEVELS, replicates=50, progress=lambda share: False)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (MarkedSheet("C1", "T1", "A1", (), 3.0), "no mark"),
        (MarkedSheet("C1", "T1", "A1", (7,), 7.0), "7 is no level of the scale 1, 2, 3, 4, 5, 6"),
        (MarkedSheet("C1", "T1", "A1", (3,), float("nan")), "no number"),
        (MarkedSheet("C1", "T1", "A1", (3,), 3.0, place=0), "counted from 1"),
        (MarkedSheet("C1", "T1", "A1", (3,), 3.0, look=3), "looks are 1 or 2"),
        (MarkedSheet("C0", "T1", "A1", (3,), 3.0), "two sheets of one performance"),
    ],
)
def test_records_that_are_no_sheets_are_told_with_their_number(wrong: MarkedSheet, words: str) -> None:
    with pytest.raises(ScoreError, match=words) as raised:
        sheets_of([MarkedSheet("C0", "T1", "A1", (3,), 3.0), wrong], LEVELS)
    assert raised.value.row == 1


def test_an_effect_of_few_candidates_is_not_tested() -> None:
    few = made_course(1, Made(candidates=FEW - 1))
    got = rater_effects(few, LEVELS, replicates=50)
    assert got.n_tests == 0 and {e.verdict for r in got.raters for e in r.effects} == {"too few"}
    told = got.raters[0].effect("severity")
    assert told.estimate is not None and "too few to say more" in told.sentence
