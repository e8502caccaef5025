"""The panel's own error: by hand, and recovered from panels one knows."""

from __future__ import annotations

import numpy as np
import pytest

from assess.agreement.round_markers import ROUNDED, MarkerModel, simulated
from assess.agreement.round_panel import panel_error
from assess.agreement.round_scores import MarkerScores, RoundScores
from assess.agreement.scores import Floats, ScoreError
from tests.agreement.round_designs import ERROR, SHARED, simulated_round


def of_panel(panel: Floats) -> RoundScores:
    middle = np.nanmedian(panel, axis=0)
    return RoundScores(middle, panel, np.ones(middle.shape, dtype=np.int64), 3.5, 1, 6)


def test_by_hand_two_markers_two_lessons_two_criteria() -> None:
    # Lesson 1: [4, 4] and [2, 4]; lesson 2: [3, 5] and [3, 3]. Row means less the lesson's: +.5, -.5; +.5, -.5: all of
    # it severity of the first marker, nothing of the sheet. What is left of rows and columns: +-.5 in all eight places.
    found = panel_error(of_panel(np.array([[[4.0, 4.0], [3.0, 5.0]], [[2.0, 4.0], [3.0, 3.0]]])))
    rest = 8 * 0.25 / 2  # square sum over (K - 1)(P - 1) = 1 in each lesson
    assert found.rest == pytest.approx(rest**0.5)
    assert found.sheet == 0.0
    assert found.score == pytest.approx(rest**0.5)
    # Means +.5 and -.5 over the lessons: variance .5, of which the lessons' own error gives rest / 2 / 2.
    assert found.severity == pytest.approx((0.5 - rest / 2 / 2) ** 0.5)
    assert (found.n_markers, found.n_lessons, found.n_scores) == (2, 2, 8)


def test_a_large_panel_gives_back_the_error_it_was_made_with() -> None:
    scores, _ = simulated_round(np.random.default_rng(4), {}, n_lessons=400, n_panel=8, n_repeats=0, spread=0.3)
    found = panel_error(scores)
    assert found.score == pytest.approx((ERROR**2 + ROUNDED) ** 0.5, rel=0.04)
    assert found.sheet == pytest.approx(ERROR * SHARED**0.5, rel=0.08)
    assert found.severity == pytest.approx(0.3, abs=0.2)


def test_markers_like_the_panel_are_as_far_off_as_the_panel() -> None:
    rng = np.random.default_rng(5)
    scores, _ = simulated_round(rng, {}, n_lessons=300, n_panel=8, n_repeats=0)
    levels = simulated(scores, np.arange(300), MarkerModel.like(panel_error(scores)), 6, rng)
    assert panel_error(of_panel(levels)).score == pytest.approx(panel_error(scores).score, rel=0.06)


def test_the_error_that_is_stated_stands_in_place_of_the_panels() -> None:
    scores, _ = simulated_round(np.random.default_rng(6), {}, n_repeats=0)
    panel = panel_error(scores)
    assert MarkerModel.like(panel, 0.8).error == 0.8
    assert MarkerModel.like(panel).error == panel.score


@pytest.mark.parametrize("panel", [np.full((1, 5, 4), 3.0), np.full((4, 1, 4), 3.0), np.full((4, 5, 4), np.nan)])
def test_too_little_gives_a_reason_and_no_number(panel: Floats) -> None:
    reference = np.where(np.isnan(panel).all(axis=0), np.nan, 3.0)
    found = panel_error(RoundScores(reference, panel, np.ones(reference.shape, dtype=np.int64), 3.5, 1, 6))
    assert found.score is None and found.undefined
    with pytest.raises(ValueError, match="too few lessons"):
        MarkerModel.like(found)


def test_a_panel_of_one_mind_has_no_error() -> None:
    found = panel_error(of_panel(np.tile(np.array([[3.0, 4.0, 5.0, 2.0]]), (5, 6, 1))))
    assert (found.score, found.sheet, found.rest, found.severity) == (0.0, 0.0, 0.0, 0.0)


def test_arrays_that_do_not_go_together_are_refused() -> None:
    with pytest.raises(ScoreError):
        RoundScores(np.ones((3, 4)), np.ones((4, 2, 4)), np.ones((3, 4), dtype=np.int64), 3.5, 1, 6)
    with pytest.raises(ScoreError):
        RoundScores(np.ones((3, 4)), np.ones((4, 3, 4)), -np.ones((3, 4), dtype=np.int64), 3.5, 1, 6)
    with pytest.raises(ScoreError):
        MarkerScores(np.array([0, 1]), np.ones((3, 4)))
