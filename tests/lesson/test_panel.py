"""A panel's reference from blind experts, and the ceiling it sets (the project's arithmetic)."""

from __future__ import annotations

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from assess.lesson.credit import CreditTable
from assess.lesson.diagnosis import score_names
from assess.lesson.panel import Expert, panel_reference, read_panel
from tests.lesson.samples import catalogue, learner

S3 = learner("S3")
SETTINGS = catalogue().settings
FAULTS = ("flat-start", "upper-rotation", "late-pressure", "bank-in")


def panel(*answers: dict[str, float]) -> list[Expert]:
    return [Expert(f"E{number}", tuple(answer.items())) for number, answer in enumerate(answers, 1)]


def weights(*answers: dict[str, float]) -> dict[str, float]:
    return {root.id: root.w for root in panel_reference(panel(*answers), S3).roots}


def test_a_target_named_by_half_is_kept_and_the_mean_weights_sum_to_one() -> None:
    found = weights(
        {"flat-start": 1.0}, {"flat-start": 0.5, "upper-rotation": 0.5}, {"upper-rotation": 1.0}, {"bank-in": 1.0}
    )
    # Means over four experts .375 and .375; bank-in has one voice of four.
    assert found == pytest.approx({"flat-start": 0.5, "upper-rotation": 0.5})


def test_of_three_experts_two_are_needed() -> None:
    found = weights({"flat-start": 3, "bank-in": 1}, {"flat-start": 0.5, "upper-rotation": 0.5}, {"upper-rotation": 9})
    # (.75 + .5 + 0)/3 and (0 + .5 + 1)/3, brought to 1.
    assert found == pytest.approx({"flat-start": 1.25 / 2.75, "upper-rotation": 1.5 / 2.75})


def test_experts_who_agree_on_nothing_give_no_target() -> None:
    assert weights({"flat-start": 1}, {"upper-rotation": 1}, {"bank-in": 1}) == {}


def test_the_learners_chains_and_what_does_harm_are_kept() -> None:
    found = panel_reference(panel(*[{"bank-in": 1.0}] * 3), S3)
    assert (found.chains, found.tolerated, found.harmful) == (S3.chains, S3.tolerated, S3.harmful)


@pytest.mark.parametrize(
    ("experts", "words"),
    [
        (panel({"flat-start": 1}, {"flat-start": 1}), "at least 3 experts, got 2"),
        (panel({"flat-start": 1}, {}, {"flat-start": 1}), "E2 must name one to 3 targets"),
        (panel({"flat-start": 1}, {"flat-start": 1}, dict.fromkeys(FAULTS, 1.0)), "named 4"),
        (panel({"flat-start": 1}, {"flat-start": 1}, {"flat-start": 0}), "above 0"),
        (panel({"flat-start": 1}, {"flat-start": 1}, {"flat-start": float("nan")}), "above 0"),
        ([Expert("E1", (("flat-start", 1), ("flat-start", 1)))] * 3, "each once"),
        ([Expert("E1", (("flat-start", 1.0),))] * 3, "E1 stands twice"),
    ],
)  # fmt: skip
def test_what_is_no_panel_is_refused_in_words(experts: list[Expert], words: str) -> None:
    for asked in (lambda: panel_reference(experts, S3), lambda: read_panel(experts, S3, SETTINGS)):
        with pytest.raises(ValueError, match=words):
            asked()


def test_the_ceiling_is_the_mean_of_each_expert_against_the_others() -> None:
    answers = (
        {"flat-start": 0.6, "upper-rotation": 0.4},
        {"flat-start": 0.7, "upper-rotation": 0.3},
        {"flat-start": 1.0},
    )
    found = read_panel(panel(*answers), S3, SETTINGS)

    def against(names: list[str], others: dict[str, float]) -> float:
        roots = S3.model_copy(
            update={"roots": tuple(S3.roots[0].model_copy(update={"id": k, "w": v}) for k, v in others.items())}
        )
        return score_names(names, CreditTable(roots, SETTINGS), SETTINGS).score

    # With three experts and one left out both others must name a target.
    first = against(["flat-start", "upper-rotation"], {"flat-start": 1.0})
    third = against(["flat-start"], {"flat-start": 0.65, "upper-rotation": 0.35})
    assert dict(found.scores) == pytest.approx({"E1": first, "E2": first, "E3": third})
    assert found.ceiling == pytest.approx((2 * first + third) / 3)
    assert (found.basis.n, found.basis.of, found.void) == (3, "experts", None)


def test_experts_of_one_mind_have_a_ceiling_of_one_and_of_three_minds_none() -> None:
    alike = read_panel(panel(*[{"flat-start": 0.6, "upper-rotation": 0.4}] * 3), S3, SETTINGS)
    assert alike.ceiling == pytest.approx(1)
    apart = read_panel(panel({"flat-start": 1}, {"upper-rotation": 1}, {"bank-in": 1}), S3, SETTINGS)
    assert apart.ceiling is None and apart.void is not None and apart.basis.coverage == 0


ANSWER = st.dictionaries(st.sampled_from(FAULTS), st.integers(1, 9).map(float), min_size=1, max_size=3)


@drawn(st.lists(ANSWER, min_size=3, max_size=6), st.integers(2, 7))
@settings(deadline=None, max_examples=80)
def test_kept_targets_have_half_of_the_voices_weights_sum_to_one_and_their_scale_does_not_matter(answers, by) -> None:
    found = weights(*answers)
    voices = {name: sum(name in answer for answer in answers) for name in FAULTS}
    assert set(found) == {name for name in FAULTS if 2 * voices[name] >= len(answers)}
    if found:
        assert sum(found.values()) == pytest.approx(1)
    assert weights(*[{name: by * w for name, w in answer.items()} for answer in answers]) == pytest.approx(found)
    assert weights(*answers[::-1]) == pytest.approx(found)
    ceiling = read_panel(panel(*answers), S3, SETTINGS).ceiling
    assert ceiling is None or 0 <= ceiling <= 1
