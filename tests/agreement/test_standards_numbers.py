"""Worked numbers of the testing standards and of the four-fifths screen, through the functions that report them.

Own worked examples unless a source stands beside them; 29 CFR 1607.4 D gives the screen itself.
"""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import numpy as np
import pytest
from scipy import stats

from assess.agreement.decision import normal_decisions
from assess.agreement.group_differences import GroupDifference, GroupDifferences, adjusted_together, group_differences
from assess.agreement.mark_model import MarkModel, ModuleMarks, SheetMarks


def of(*groups: tuple[str, int, int]) -> GroupDifferences:
    rows = [(f"{name}{i}", name, i < passed, f"K{i % 2}") for name, passed, n in groups for i in range(n)]
    return group_differences(*zip(*rows, strict=True))


def pair(a: tuple[int, int], b: tuple[int, int]) -> GroupDifference:
    (one,) = of(("A", *a), ("B", *b)).differences
    return one


# --- four fifths ---------------------------------------------------------------------------------------


def test_48_of_80_against_12_of_24_is_five_sixths_and_hangs_on_one_person() -> None:
    one = pair((48, 80), (12, 24))
    assert (one.ratio, one.under_four_fifths, one.persons_to_flip_ratio) == (Fraction(5, 6), False, 1)
    assert f"{float(one.ratio or 0):.4f}" == "0.8333"


def test_one_person_fewer_is_under_four_fifths_and_far_from_significant() -> None:
    one = pair((48, 80), (11, 24))
    assert one.ratio == Fraction(55, 72) and f"{float(one.ratio):.4f}" == "0.7639"
    assert (one.under_four_fifths, one.persons_to_flip_ratio) == (True, 1)
    assert one.p == pytest.approx(0.247, abs=5e-4)
    # Beside it the pooled normal test of the same table: z = 1.229, p = .219.
    pooled = 59 / 104
    z = (48 / 80 - 11 / 24) / sqrt(pooled * (1 - pooled) * (1 / 80 + 1 / 24))
    assert z == pytest.approx(1.229, abs=5e-4)
    assert 2 * stats.norm.sf(z) == pytest.approx(0.219, abs=5e-4)
    assert "one person" in one.sentence


def test_48_of_80_against_12_of_40_is_one_half() -> None:
    one = pair((48, 80), (12, 40))
    assert (one.ratio, one.under_four_fifths) == (Fraction(1, 2), True)


@pytest.mark.parametrize(("a", "b"), [((24, 50), (30, 50)), ((12, 20), (15, 20))])
def test_exactly_four_fifths_is_not_below_though_floats_may_say_so(a: tuple[int, int], b: tuple[int, int]) -> None:
    one = pair(a, b)
    assert (one.ratio, one.under_four_fifths) == (Fraction(4, 5), False)
    # The trap: (3/5) / (15/20) prints 0.7999999999999999 in floats.
    assert (12 / 20) / (15 / 20) < 0.8


def test_no_exact_four_fifths_of_groups_up_to_60_is_flagged() -> None:
    trapped = 0
    for n in range(10, 61, 5):
        for m in range(10, 61, 5):
            for low in range(1, n + 1):
                if (5 * low * m) % (4 * n) == 0 and (high := 5 * low * m // (4 * n)) <= m:
                    one = pair((low, n), (high, m))
                    assert one.under_four_fifths is False
                    trapped += (low / n) / (high / m) < 0.8
    assert trapped > 0


def test_several_groupings_are_one_family() -> None:
    found = {"age": of(("x", 5, 20), ("y", 12, 20)), "language": of(("p", 9, 20), ("q", 11, 20), ("r", 18, 20))}
    together = adjusted_together(found)
    chances = [one.p for grouping in sorted(found) for one in found[grouping].differences]
    adjusted = [one.adjusted for grouping in sorted(together) for one in together[grouping].differences]
    assert adjusted == pytest.approx(stats.false_discovery_control(chances))
    assert adjusted[0] > found["age"].differences[0].adjusted
    assert adjusted_together({"none": of(("x", 1, 3))})["none"].undefined


@pytest.mark.parametrize(("passed", "told"), [(4, False), (5, True), (15, True), (16, False), (0, False), (20, False)])
def test_a_group_with_fewer_than_five_on_one_side_is_not_told(passed: int, told: bool) -> None:
    rate = of(("A", passed, 20), ("B", 10, 20)).rates[0]
    assert rate.may_be_told is told


# --- standard error of measurement ---------------------------------------------------------------------

SD, RELIABILITY, LINE = 6.0, 0.84, 60.0
SEM = 2.4


def test_the_chance_to_be_truly_on_the_line_with_a_flat_prior() -> None:
    """Observed 55, 58, 60, 62, 66 and an error of 2.4: .019, .202, .500, .798, .994 (normal error, flat prior)."""
    assert SD * sqrt(1 - RELIABILITY) == pytest.approx(SEM)
    scores = np.array([55.0, 58, 60, 62, 66])
    each = [0.019, 0.202, 0.500, 0.798, 0.994]
    found = normal_decisions(
        scores, reliability=1 - (SEM / np.std(scores, ddof=1)) ** 2, line=LINE, true_scores="observed"
    )
    assert found.pass_rate == pytest.approx(np.mean(each), abs=5e-4)
    # Each is right as often as its own chance or the rest of it.
    assert found.accuracy.estimate == pytest.approx(np.mean([max(p, 1 - p) for p in each]), abs=5e-4)
    assert found.consistency.estimate == pytest.approx(np.mean([p * p + (1 - p) ** 2 for p in each]), abs=5e-4)


def test_kelleys_estimate_is_another_number_than_the_flat_prior() -> None:
    """55 with mean 64 and reliability .84: 56.44 (Kelley 1947, from memory), as the model of marks gives it."""
    model = MarkModel({("T1", "a"): 64.0}, SD**2 * RELIABILITY, 0.0, 0.0, 0.0, SD**2 * (1 - RELIABILITY))
    module = ModuleMarks("C1", (SheetMarks("T1", "T1", "A1", {"a": Fraction(55)}),), {"T1": ("a",)}, {})
    true = model.true_levels(module)
    assert true.mean[0] == pytest.approx(56.44)
    assert abs(true.root[0, 0]) == pytest.approx(SEM * sqrt(RELIABILITY))
