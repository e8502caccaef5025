"""Sentences for a director: the number, what it means, how far it could move, and no verdict beyond that."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from assess.agreement.report import agreement
from assess.agreement.results import BlandAltman, Estimate
from assess.agreement.words import pair_sentence, told
from tests.agreement.score_tables import alike_table, scores_of_table

SHARE = Estimate("percent_agreement", 0.4732, ci95=(0.409, 0.547), n=224, n_candidates=12, n_assessors=4)
ALPHA = Estimate("krippendorff_alpha", 0.376, ci95=(0.2, 0.47), n=224, n_candidates=12, n_assessors=4)


def test_a_share_is_said_in_pairs_of_a_hundred() -> None:
    assert told(SHARE, 224).sentence == (
        "Of 100 pairs of scores on the same thing, 47 were equal; other candidates like these could well give 41 to 55 "
        "(224 pairs, 12 candidates)."
    )


def test_a_coefficient_says_what_0_and_1_are_and_how_far_it_could_move() -> None:
    assert told(ALPHA).sentence == (
        "Krippendorff's alpha is 0.38; 1 is full agreement and 0 what the same scores dealt out at random would give; "
        "with other candidates like these it could well lie between 0.20 and 0.47, so there is agreement beyond chance "
        "(224 things scored by two or more, 12 candidates)."
    )


@pytest.mark.parametrize(
    ("ci95", "said", "unsaid"),
    [
        ((0.01, 0.5), "there is agreement beyond chance", "not ruled out"),
        ((-0.01, 0.5), "agreement no better than chance is not ruled out", "there is agreement"),
        ((-0.4, -0.1), "between -0.40 and -0.10", "chance is not"),
        (None, "how far it could move with other candidates cannot be said", "beyond chance"),
    ],
)
def test_more_than_chance_is_said_only_where_the_whole_interval_is(
    ci95: tuple[float, float] | None, said: str, unsaid: str
) -> None:
    sentence = told(replace(ALPHA, ci95=ci95)).sentence
    assert said in sentence
    assert unsaid not in sentence


def test_w_is_never_called_more_than_chance_because_it_cannot_be_less() -> None:
    sentence = told(Estimate("kendall_w", 0.4, ci95=(0.2, 0.6), n=12, n_candidates=12, n_assessors=3)).sentence
    assert "chance" not in sentence
    assert "12 things scored by all 3" in sentence


@pytest.mark.parametrize("estimate", [SHARE, ALPHA])
def test_with_little_to_go_on_that_comes_first(estimate: Estimate) -> None:
    assert told(replace(estimate, n_candidates=7), 20).sentence.startswith("Only 7 candidates, so a hint at most: ")
    assert told(replace(estimate, n_candidates=1), 1).sentence.startswith("Only 1 candidate, so a hint at most: ")


def test_all_and_none_are_said_only_of_all_and_none() -> None:
    sentences = [told(replace(SHARE, estimate=share, ci95=None), 9).sentence for share in (1.0, 0.999, 0.001, 0.0)]
    for sentence, number in zip(sentences, ("100", "more than 99", "fewer than 1", "0"), strict=True):
        assert f"on the same thing, {number} were equal" in sentence


def test_what_does_not_exist_is_said_with_its_reason() -> None:
    sentence = told(Estimate("gwet_ac", None, undefined="there are no scores"), form="AC2").sentence
    assert sentence == "Gwet's AC2 cannot be given: there are no scores."


def test_a_pair_names_who_scored_higher_and_acts_only_on_an_interval_clear_of_0() -> None:
    rng = np.random.default_rng(1)
    table = alike_table(rng, 30, 3, 0.4)
    table[:, 1] = np.clip(table[:, 0] + 1, 1, 5)
    table[:, 2] = table[:, 0] + np.tile([0, 0, 1, 1, -1, 0], 5) * ((table[:, 0] > 1) & (table[:, 0] < 5))
    first, second, _ = agreement(scores_of_table(table, range(1, 6)), replicates=20).pairs
    assert "; a01 was " in first.sentence
    assert "higher than a00 on average" in first.sentence
    assert first.sentence.endswith(": worth looking at the same performance together.")
    assert second.sentence.endswith("so which of the two is higher is not settled.")
    equal = round(30 * (first.percent_agreement or 0))
    assert f"Of 30 things both scored (30 candidates), a00 and a01 gave the same level to {equal};" in first.sentence


def test_the_interval_of_a_pair_turns_with_who_is_named_first() -> None:
    table = alike_table(np.random.default_rng(1), 12, 2)
    (pair,) = agreement(scores_of_table(table, range(1, 6)), replicates=20).pairs
    gaps = BlandAltman(-0.5, 0.4, None, None, bias_ci95=(-0.8, -0.2), n=12)
    assert "a01 was 0.50 higher than a00 on average, with other candidates like these 0.20 to 0.80: worth" in (
        pair_sentence(replace(pair, bland_altman=gaps))
    )
    none = replace(gaps, bias=0.0, bias_ci95=(-0.2, 0.2))
    assert pair_sentence(replace(pair, bland_altman=none)).endswith("on average neither was higher.")
