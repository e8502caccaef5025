"""Invariant 20: a number shown as a result carries its count and its uncertainty."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given

from assess.marking.outcome import module_result
from assess.marking.results_json import to_json
from tests.marking.building import even, rubric
from tests.marking.drawn import Drawn, modules


@given(modules(medians=True))
def test_a_mean_never_stands_without_its_n_and_its_band(drawn: Drawn) -> None:
    told = to_json(module_result(drawn.case()))
    assert (told["mean"] is None) == (told["mean_exact"] is None) == (told["n_sheets"] == 0)
    if told["mean"] is not None:
        assert told["n_sheets"] >= 1
        assert (told["band"] is not None) == (drawn.rules.band is not None)
    else:
        assert told["band"] is None


@given(modules(medians=True))
def test_a_smallest_value_never_stands_without_the_count_of_values(drawn: Drawn) -> None:
    result = module_result(drawn.case())
    told = to_json(result)
    assert (told["min_value"] is None) == (told["below_line"] is None)
    assert all(item.n >= 1 for item in result.values)


def test_a_rubric_without_a_sheet_error_says_so_beside_the_mean() -> None:
    told = to_json(module_result(even(rubric(band=None), 4)))
    assert (told["mean"], told["band"], told["n_sheets"]) == ("4.00", None, 4)
    assert told["band_note"] == "the rubric gives no sheet error for this module, so no band"
    with_band = to_json(module_result(even(rubric(), 4)))
    assert with_band["band_note"] is None


def test_the_mean_is_exact_and_n_is_the_number_of_observed_sheets() -> None:
    result = module_result(even(rubric(), 4))
    assert (result.mean, result.n_sheets, result.band_squared) == (Fraction(4), 4, Fraction(1, 16))
