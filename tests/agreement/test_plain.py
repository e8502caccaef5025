"""Equal scores, scores at most one apart, and the same side of the pass line."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings

from assess.agreement.bootstrap import Bootstrap
from assess.agreement.cohen import cohen
from assess.agreement.plain import pass_line, plain_agreement
from assess.agreement.results import Estimate, PassLine
from assess.agreement.scores import Scores
from assess.agreement.share_intervals import wilson
from assess.agreement.tally import tally_of
from tests.agreement.plain_sums import observed
from tests.agreement.score_tables import Table, random_table, scores_of_table, tables, value


def plain(scores: Scores, replicates: int = 200) -> tuple[Estimate, Estimate, Estimate | None]:
    return plain_agreement(scores, tally_of(scores), Bootstrap(replicates))


def line_of(scores: Scores, replicates: int = 200) -> PassLine:
    made = pass_line(scores, tally_of(scores), plain(scores, replicates)[2], Bootstrap(replicates))
    assert made is not None
    return made


@settings(max_examples=60, deadline=None)
@given(tables())
def test_all_three_are_means_over_units_of_means_over_pairs(table: Table) -> None:
    equal, near, side = plain(scores_of_table(table, [1, 2, 3, 4], line=2.5))
    assume(equal.estimate is not None)
    assert equal.estimate == pytest.approx(observed(table, lambda x, y: float(x == y)))
    assert near.estimate == pytest.approx(observed(table, lambda x, y: float(abs(x - y) <= 1)))
    assert side is not None
    assert side.estimate == pytest.approx(observed(table, lambda x, y: float((x >= 2.5) == (y >= 2.5))))


def test_a_unit_scored_by_many_does_not_outweigh_the_others() -> None:
    table = np.array([[1, 1, 1, 1], [1, 2, np.nan, np.nan]])
    assert plain(scores_of_table(table, [1, 2]))[0].estimate == 0.5  # pooled over pairs it were 6 / 7


def test_two_assessors_and_one_unit_per_candidate_have_wilsons_interval() -> None:
    # Newcombe (1998), Stat. Med. 17, 857-872, table I, method 3: 81 of 263 gives .2553 to .3662; 0 of 20, 0 to .1611.
    assert wilson(81, 263) == pytest.approx((0.2553, 0.3662), abs=5e-5)
    assert wilson(0, 20) == pytest.approx((0.0, 0.1611), abs=5e-5)
    table = np.ones((20, 2))
    table[:6, 1] = 2
    equal = plain(scores_of_table(table, [1, 2]))[0]
    assert equal.ci95 == pytest.approx(wilson(14, 20))
    assert equal.interval == "Wilson, 20 candidates"


def test_otherwise_candidates_are_resampled() -> None:
    table = random_table(np.random.default_rng(1), most_assessors=4, missing=0.0)
    table = np.vstack([table] * 6)[:36]
    equal = plain(scores_of_table(table, range(1, 6), units_each=2))[0]
    assert equal.interval == "BCa bootstrap over 18 candidates, 200 resamples"
    assert equal.n == 36
    assert equal.n_candidates == 18


def test_the_error_of_a_share_is_that_between_candidates() -> None:
    # Every criterion copied: no more is known than from one, so the error is that of the candidates' own shares.
    one = np.array([[1, 1], [1, 2], [2, 2], [1, 1], [2, 1.0]])
    want = np.std([1, 0, 1, 1, 0], ddof=1) / 5**0.5
    copied = scores_of_table(np.repeat(one, 3, axis=0), [1, 2], units_each=3)
    assert plain(copied)[0].se == pytest.approx(want)
    assert plain(scores_of_table(one, [1, 2]))[0].se == pytest.approx(want)


def test_full_agreement_is_no_certainty() -> None:
    equal = plain(scores_of_table(np.tile([[1.0], [2.0], [3.0], [1.0]], (3, 3)), [1, 2, 3]))[0]
    assert equal.estimate == 1.0
    assert equal.ci95 == pytest.approx((12 / (12 + 1.959964**2), 1.0), abs=1e-6)
    assert equal.interval == "Wilson, as if each of 12 candidates were one case"


def test_within_one_of_a_scale_only_seen_goes_by_value() -> None:
    table = np.array([[2, 4], [1, 2], [4, 4.0]])
    assert plain(scores_of_table(table))[1].estimate == pytest.approx(2 / 3)
    assert plain(scores_of_table(table, [1, 2, 4]))[1].estimate == 1.0


def test_the_table_of_two_assessors_is_by_the_first_ones_side_and_kappa_is_cohens() -> None:
    # a: 3 3 1 4 2; b: 3 2 1 4 4; on the line from 3.
    table = np.array([[3, 3], [3, 2], [1, 1], [4, 4], [2, 4.0]])
    made = line_of(scores_of_table(table, [1, 2, 3, 4], line=3))
    assert made.table == ((1, 1), (1, 2))
    assert made.agreement.estimate == pytest.approx(0.6)
    assert made.kappa.estimate == pytest.approx(value(cohen([[1, 1], [1, 2]]).kappa))


def test_with_more_assessors_every_pair_counts_both_ways_round() -> None:
    table = np.array([[1, 3, 3], [4, 4, np.nan]])
    made = line_of(scores_of_table(table, [1, 2, 3, 4], line=3))
    assert made.table == ((0, 2), (2, 4))


def test_everybody_on_the_line_leaves_kappa_without_a_value_but_not_agreement() -> None:
    made = line_of(scores_of_table(np.array([[3, 4], [4, 4], [3, 3.0]]), [1, 2, 3, 4], line=3))
    assert made.agreement.estimate == 1.0
    assert made.kappa.estimate is None
    assert made.kappa.undefined


def test_without_a_line_there_is_no_question_of_it() -> None:
    scores = scores_of_table(np.array([[1, 2], [2, 2.0]]))
    assert plain(scores)[2] is None
    assert pass_line(scores, tally_of(scores), None, Bootstrap()) is None
