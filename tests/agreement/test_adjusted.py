"""Severity taken out of module means: the table of the sample course, and what always holds."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.adjusted import ModuleMean, adjusted_means
from assess.agreement.rater_effects import rater_effects
from assess.agreement.results.adjusted import AdjustedMeans
from assess.agreement.sheets import MarkedSheet
from tests.agreement.rater_courses import Made, made_course
from tests.agreement.rater_sample import sample_sheets

LEVELS = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)
MODULES = {"T1": "demo", "T2": "demo", "T3": "demo", "T4": "teach", "T5": "teach", "T6": "safety"}
# Invented data of the sample course, K-2026-01: means after taking out estimated severity; `-` where nothing was seen.
TABLE = {
    "C01": "4.34 4.53 4.65", "C02": "3.47 3.53 4.10", "C03": "4.85 4.13 5.03", "C04": "2.68 4.10 3.78",
    "C05": "4.13 4.08 -", "C06": "3.84 4.21 4.60", "C07": "4.35 4.63 4.78", "C08": "3.72 2.79 4.15",
    "C09": "4.68 3.96 3.60", "C10": "3.94 3.35 4.10",
}  # fmt: skip
SEVERITY = {"A1": ".04", "A2": ".27", "A3": "-.45", "A4": ".15"}


def means_of(sheets: tuple[MarkedSheet, ...]) -> list[ModuleMean]:
    held: dict[tuple[str, str], list[MarkedSheet]] = defaultdict(list)
    for sheet in sheets:
        held[sheet.candidate, MODULES.get(sheet.task, "all")].append(sheet)
    return [
        ModuleMean(*key, float(np.mean([s.value for s in some])), tuple(s.assessor for s in some))
        for key, some in sorted(held.items())
    ]


def test_the_table_of_the_sample_course_comes_out_to_two_decimals() -> None:
    sheets = sample_sheets()
    found = adjusted_means(sheets, LEVELS, means_of(sheets))
    for candidate, row in TABLE.items():
        for module, text in zip(("demo", "teach", "safety"), row.split(), strict=True):
            one = found.of(candidate, module)
            assert (f"{one.mean:.2f}" if one else "-") == text, (candidate, module)
    for shift in found.shifts:
        assert f"{shift.levels:.2f}".replace("0.", ".") == SEVERITY[shift.assessor]
        assert shift.ci95 is not None and shift.ci95[0] < shift.levels < shift.ci95[1]
    assert {shift.assessor: shift.n for shift in found.shifts} == {"A1": 26, "A2": 27, "A3": 28, "A4": 27}
    assert all(one.ci95 is not None and one.ci95[0] <= one.mean <= one.ci95[1] for one in found.means)
    assert "Student" in found.interval and "No rule" in found.sentence


def all_marked(seed: int, severity: dict[str, float], noise: float = 0.0) -> tuple[MarkedSheet, ...]:
    rng = np.random.default_rng(seed)
    made = []
    for c in range(8):
        true = 3.0 + rng.normal(0.0, 0.5)
        for who, more in severity.items():
            made.append(MarkedSheet(f"C{c}", "T9", who, (3.0,), float(true + more + noise * rng.normal())))
    return tuple(made)


def test_of_severity_alone_nothing_is_left() -> None:
    sheets = all_marked(1, {"A1": 0.4, "A2": -0.4})
    found = adjusted_means(
        sheets, LEVELS, [ModuleMean(s.candidate, s.assessor, s.value, (s.assessor,)) for s in sheets]
    )
    for c in range(8):
        one, two = found.of(f"C{c}", "A1"), found.of(f"C{c}", "A2")
        assert one is not None and two is not None and one.mean == pytest.approx(two.mean, abs=1e-9)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 1000), st.floats(-1.0, 1.0))
def test_everybody_marking_everybody_no_mean_moves_and_a_constant_of_one_assessor_is_gone(
    seed: int, more: float
) -> None:
    sheets = all_marked(seed, {"A1": 0.2, "A2": 0.0, "A3": -0.3}, 0.3)
    found = adjusted_means(sheets, LEVELS, means_of(sheets))
    assert [one.mean for one in found.means] == pytest.approx([one.mean for one in means_of(sheets)], abs=1e-9)
    shifted = tuple(replace(s, value=s.value + more) if s.assessor == "A1" else s for s in sheets)
    some = [ModuleMean(s.candidate, s.assessor, s.value, (s.assessor,)) for s in sheets]
    other = [ModuleMean(s.candidate, s.assessor, s.value, (s.assessor,)) for s in shifted]
    before, after = adjusted_means(sheets, LEVELS, some), adjusted_means(shifted, LEVELS, other)
    # Only the common zero moves, by the share of one in three.
    gaps = [b.mean - a.mean for a, b in zip(before.means, after.means, strict=True)]
    assert gaps == pytest.approx([more / 3] * len(gaps), abs=1e-9)


def apart() -> AdjustedMeans:
    sheets = [*all_marked(1, {"A1": 0.0, "A2": 0.1}), *all_marked(2, {"A3": 0.0, "A4": 0.1})]
    made = tuple(replace(s, candidate=f"{s.candidate}-{s.assessor > 'A2'}") for s in sheets)
    return adjusted_means(made, LEVELS, means_of(made))


def test_in_pieces_there_is_a_reason_and_no_number() -> None:
    found = apart()
    assert found.means == () and found.shifts == () and found.undefined is not None
    assert "2 groups" in found.undefined and found.undefined.startswith("Severity cannot be taken out: ")


def test_alone_nobody_is_stricter() -> None:
    sheets = all_marked(1, {"A1": 0.0})
    assert adjusted_means(sheets, LEVELS, means_of(sheets)).undefined is not None
    assert adjusted_means((), LEVELS, ()).undefined is not None


def test_a_module_marked_by_somebody_nobody_marked_beside_has_no_adjusted_mean() -> None:
    sheets = (*all_marked(1, {"A1": 0.0, "A2": 0.1}, 0.1), MarkedSheet("C0", "T8", "A9", (3.0,), 3.0))
    found = adjusted_means(
        sheets, LEVELS, [ModuleMean("C0", "x", 3.0, ("A1", "A9")), ModuleMean("C0", "y", 3.0, ("A1",))]
    )
    assert found.of("C0", "x") is None and found.of("C0", "y") is not None


def test_of_two_candidates_nothing_is_taken_out() -> None:
    sheets = tuple(s for s in all_marked(1, {"A1": 0.0, "A2": 0.4}, 0.1) if s.candidate in ("C0", "C1"))
    assert adjusted_means(sheets, LEVELS, means_of(sheets)).undefined is not None


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_severity_has_one_interval_wherever_it_is_shown(seed: int) -> None:
    sheets = made_course(seed, Made(candidates=12, severity=0.3))
    beside = {shift.assessor: shift for shift in adjusted_means(sheets, LEVELS, means_of(tuple(sheets))).shifts}
    for rater in rater_effects(sheets, LEVELS).raters:
        effect = next(effect for effect in rater.effects if effect.name == "severity")
        shift = beside[rater.id]
        assert effect.estimate == pytest.approx(shift.levels) and effect.ci95 == pytest.approx(shift.ci95)
