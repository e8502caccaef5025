"""Tables of weights and distances."""

from __future__ import annotations

import numpy as np
import pytest

from assess.agreement.weights import (
    agreement_from_disagreement,
    distance_table,
    same_side_table,
    weight_table,
    within_one_table,
)


@pytest.mark.parametrize("kind", ["none", "linear", "quadratic", "ordinal"])
@pytest.mark.parametrize("k", [2, 3, 6])
def test_every_table_is_symmetric_with_1_for_equal_and_0_for_the_farthest_levels(kind: str, k: int) -> None:
    table = weight_table(kind, range(1, k + 1))
    assert np.array_equal(table, table.T)
    assert np.array_equal(np.diag(table), np.ones(k))
    assert table[0, -1] == 0
    assert ((table >= 0) & (table <= 1)).all()


def test_linear_and_quadratic_go_by_position_on_an_evenly_spaced_scale() -> None:
    # Cohen (1968): 1 - |i - j| / (k - 1) and 1 - (i - j)^2 / (k - 1)^2.
    for levels in ([1, 2, 3, 4, 5], [0, 0.5, 1, 1.5, 2]):
        assert weight_table("linear", levels)[0] == pytest.approx([1, 0.75, 0.5, 0.25, 0])
        assert weight_table("quadratic", levels)[0] == pytest.approx([1, 15 / 16, 0.75, 7 / 16, 0])


def test_linear_goes_by_value_where_a_level_is_missing_and_ordinal_by_order() -> None:
    assert weight_table("linear", [1, 2, 4])[0] == pytest.approx([1, 2 / 3, 0])
    # Gwet (2014), ch. 3: 1 - C(2, 2) / C(3, 2).
    assert weight_table("ordinal", [1, 2, 4])[0] == pytest.approx([1, 2 / 3, 0])
    assert weight_table("ordinal", [1, 2, 4])[1] == pytest.approx([2 / 3, 1, 2 / 3])


def test_an_unknown_kind_is_named() -> None:
    with pytest.raises(ValueError, match="cubic is no kind of weights"):
        weight_table("cubic", [1, 2])
    with pytest.raises(ValueError, match="ordinal has no table"):
        distance_table("ordinal", [1, 2])


def test_disagreement_is_turned_by_its_largest_entry() -> None:
    got = agreement_from_disagreement([[0, 1, 3], [1, 0, 6], [3, 6, 0]])
    assert got[0] == pytest.approx([1, 5 / 6, 0.5])
    assert got[1, 2] == 0


@pytest.mark.parametrize("bad", [[[0, 1]], [[0, 0], [0, 0]], [[0, -1], [1, 0]], [1, 2]])
def test_a_table_that_is_no_disagreement_is_refused(bad: list[list[float]]) -> None:
    with pytest.raises(ValueError, match="square table"):
        agreement_from_disagreement(bad)


def test_within_one_means_neighbours_when_declared_and_at_most_1_when_only_seen() -> None:
    assert within_one_table([1, 2, 4], declared=True)[1].tolist() == [1, 1, 1]
    assert within_one_table([1, 2, 4], declared=False)[1].tolist() == [1, 1, 0]
    assert within_one_table([0, 0.5, 1], declared=True)[0].tolist() == [1, 1, 0]


def test_a_level_on_the_line_is_on() -> None:
    assert same_side_table([1, 2, 3, 4], 3)[2].tolist() == [0, 0, 1, 1]


def test_distances_are_krippendorffs() -> None:
    # Krippendorff (2011): nominal 0 or 1, interval (c - k)^2, ratio ((c - k) / (c + k))^2; 0 and 0 are equal.
    assert distance_table("nominal", [1, 3])[0].tolist() == [0, 1]
    assert distance_table("interval", [1, 3])[0].tolist() == [0, 4]
    assert distance_table("ratio", [0, 1, 3])[1] == pytest.approx([1, 0, 0.25])
    assert distance_table("ratio", [0, 1])[0, 0] == 0
