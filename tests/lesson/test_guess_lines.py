"""What a guess and a recited list get, against going through all of them one by one (the project's arithmetic)."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from assess.lesson.credit import CreditTable
from assess.lesson.diagnosis import read_diagnosis, score_names
from assess.lesson.guessing import chance, guess_for, guesses
from assess.lesson.stock import stock_answers
from assess.records.practice import LearnerReference
from tests.lesson.samples import catalogue, learner, named, scenarios

SETTINGS = catalogue().settings
TARGETS = [place.reference.target_learner for place in scenarios()]


def score(who: LearnerReference, *names: str) -> float:
    return score_names(names, CreditTable(who, SETTINGS), SETTINGS).score


def small(
    name: str, roots: dict[str, float], *chains: tuple[str, ...], harmful: tuple[str, ...] = ()
) -> LearnerReference:
    return LearnerReference.model_validate({
        "id": name, "roots": [{"id": target, "w": w} for target, w in roots.items()], "chains": chains,
        "tolerated": [], "harmful": harmful,
    })  # fmt: skip


def test_a_guess_of_two_names_gets_almost_nothing_on_the_third_learner() -> None:
    found = chance(learner("S3"), catalogue().names, SETTINGS)
    assert len(catalogue().names) == 54 and found is not None
    assert round(found[0], 2) == 0.06 and round(found[1], 2) == 0.43


@pytest.mark.parametrize("name", ["S1", "S3", "S5"])
def test_a_guess_is_the_mean_and_percentile_over_every_ordered_pair(name: str) -> None:
    who = learner(name)
    scores = [score(who, *pair) for pair in permutations(catalogue().names, 2)]
    found = chance(who, catalogue().names, SETTINGS)
    assert found is not None and len(scores) == 54 * 53
    assert found == pytest.approx((np.mean(scores), np.percentile(scores, 95)))


def test_without_two_names_or_targets_there_is_no_guess() -> None:
    assert chance(learner("S3"), ("flat-start",), SETTINGS) is None
    assert chance(small("nobody", {}), catalogue().names, SETTINGS) is None


def test_reciting_gets_far_more_than_a_guess_without_looking() -> None:
    """[flat-start, bank-in, early-hip-drop] on the third learner."""
    assert round(score(learner("S3"), "flat-start", "bank-in", "early-hip-drop"), 2) == 0.59
    found = guess_for(learner("S3"), [who for who in TARGETS if who.id != learner("S3").id], catalogue())
    assert found.stock_answer == pytest.approx(0.586, abs=0.0005)
    assert found.chance_mean is not None and found.stock_answer is not None
    assert found.stock_answer > 5 * found.chance_mean


def plain_stock(who: LearnerReference, others: list[LearnerReference]) -> tuple[float, set[tuple[str, ...]]]:
    """Every list of one to three names of the others, its mean on them; ties by fewest names."""
    pool = sorted({name for one in others for chain in one.chains for name in chain}
                  | {root.id for one in others for root in one.roots})  # fmt: skip
    lists = [names for length in (1, 2, 3) for names in permutations(pool, length)]
    means = {names: np.mean([score(one, *names) for one in others]) for names in lists}
    best = max(means.values())
    equal = [names for names in lists if means[names] > best - 1e-9]
    fewest = {names for names in equal if len(names) == min(map(len, equal))}
    return float(np.mean([score(who, *names) for names in fewest])), fewest


LITTLE = [
    small("a", {"p": 1.0}, ("p", "s")),
    small("b", {"p": 0.5, "q": 0.5}, ("p", "s"), ("q", "t")),
    small("c", {"r": 1.0}, ("r", "t"), harmful=("q",)),
    small("d", {"q": 1.0}, ("q", "t", "u")),
]


@pytest.mark.parametrize("at", range(4))
def test_the_stock_answer_is_the_best_list_for_all_other_learners(at: int) -> None:
    others = [one for place, one in enumerate(LITTLE) if place != at]
    found = stock_answers(LITTLE, SETTINGS)[at]
    wanted, lists = plain_stock(LITTLE[at], others)
    assert found is not None and found.score == pytest.approx(wanted)
    assert set(found.lists) == lists


def test_a_learner_alone_or_nobody_diagnosed_has_no_stock_answer() -> None:
    assert stock_answers(LITTLE[:1], SETTINGS) == (None,)
    found = stock_answers([*LITTLE[:2], small("nobody", {})], SETTINGS)
    assert found[2] is None and found[0] is not None
    assert guesses([small("nobody", {})], catalogue())[0].stock_answer is None


def test_how_far_beyond_the_stock_answer_may_be_below_nothing() -> None:
    who = learner("S3")
    guess = guess_for(who, [one for one in TARGETS if one.id != who.id], catalogue())
    stock = guess.stock_answer
    assert stock is not None
    for names, d in ((("flat-start", "upper-rotation"), 1.0), (("bank-in",), 0.0)):
        reading = read_diagnosis(named(*names, learner=who.id), who, catalogue(), guess=guess)
        assert reading.score == pytest.approx(d)
        assert reading.beyond_stock == pytest.approx((d - stock) / (1 - stock))


def test_a_confusion_pair_and_a_deeper_cause_are_told() -> None:
    who = small("x", {"upper-rotation": 1.0}, ("flat-start", "upper-rotation", "square-finish"))
    reading = read_diagnosis(named("flat-start", learner="x"), who, catalogue())
    assert reading.deeper == ("flat-start",) and reading.recall == pytest.approx(0.7)
    assert any("for the panel to look at" in line for line in reading.why)
    pairs = [
        (fault.id, other) for fault in catalogue().faults for other in fault.look_alike
        if other in {root for one in TARGETS for chain in one.chains for root in chain}
    ]  # fmt: skip
    name, other = pairs[0]
    owner = small("y", {other: 1.0}, (other,))
    found = read_diagnosis(named(name, learner="y"), owner, catalogue())
    assert [(pair.named, pair.taken_for) for pair in found.confusions] == [(name, other)]
