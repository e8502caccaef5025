"""No sentence says more than its numbers: what is more than chance, what may be nothing, how far it could move."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from assess.agreement.rater_effects import rater_effects
from assess.agreement.rater_words import NEVER, sentence_of
from assess.agreement.results.raters import EFFECTS, Effect
from tests.agreement.rater_courses import LEVELS, Made, made_course
from tests.agreement.rater_sample import sample_sheets

KINDS = (
    Made(), Made(severity=-0.9, flat=0.9), Made(candidates=24, drift=-0.15), Made(candidates=4), Made(assessors=2),
    Made(central=0.7, twice=8, twice_error=1.0), Made(assessors=3, days=0.6), Made(contrast=-0.8),
)  # fmt: skip
STRONG = re.compile(r"more than chance|proves|shows that|is too|significant|always|never|must|bad|wrong|fault", re.I)


def effects() -> list[tuple[Effect, int]]:
    told = []
    for made in KINDS:
        for seed in range(4):
            found = rater_effects(made_course(seed, made), LEVELS, replicates=100)
            told += [(e, found.n_assessors) for r in found.raters for e in r.effects]
    found = rater_effects(sample_sheets(), LEVELS)
    return told + [(e, found.n_assessors) for r in found.raters for e in r.effects]


@pytest.fixture(scope="module")
def all_effects() -> list[tuple[Effect, int]]:
    return effects()


def test_the_sets_hold_every_verdict_of_every_effect(all_effects: list[tuple[Effect, int]]) -> None:
    seen = {(e.name, e.verdict) for e, _ in all_effects}
    assert seen >= {(name, verdict) for name in EFFECTS for verdict in ("nothing to say", "too few")}
    assert {name for name, verdict in seen if verdict == "look"} >= {"severity", "flat", "spread", "drift"}


@pytest.mark.parametrize("you", [False, True])
def test_more_than_chance_is_said_exactly_where_the_verdict_is_to_look(
    all_effects: list[tuple[Effect, int]], you: bool
) -> None:
    for effect, n in all_effects:
        said = sentence_of(effect, n, you=you)
        if effect.verdict == "look":
            assert said.count("more than chance makes likely") == 1
            assert effect.ci95 is None or effect.ci95[0] > 0 or effect.ci95[1] < 0
        else:
            assert not STRONG.search(said), said


def test_what_is_no_reason_to_look_says_that_it_may_be_nothing(all_effects: list[tuple[Effect, int]]) -> None:
    ways = ("may be nothing", "may be chance", "nothing to look at", "not shown without", "about as", "neither more")
    for effect, _ in all_effects:
        if effect.verdict == "nothing to say":
            assert any(way in effect.sentence for way in ways), effect.sentence
        if effect.verdict == "nothing to say" and effect.ci95 is not None and effect.p != 1.0 and not effect.mirror_of:
            clear = effect.ci95[0] > 0 or effect.ci95[1] < 0
            assert ("may be chance" in effect.sentence) == clear or "about as" in effect.sentence, effect.sentence


def test_neither_more_nor_less_is_not_called_what_may_be_nothing(all_effects: list[tuple[Effect, int]]) -> None:
    said = [effect.sentence for effect, _ in all_effects if "neither more nor less" in effect.sentence]
    assert said and not any("may be nothing" in sentence for sentence in said)


def test_what_cannot_be_said_says_why_and_what_is_little_says_so(all_effects: list[tuple[Effect, int]]) -> None:
    for effect, _ in all_effects:
        if effect.verdict == "too few":
            assert effect.undefined and effect.undefined in effect.sentence
            assert "cannot be said" in effect.sentence or "too few to say more" in effect.sentence or effect.own


def test_every_number_stands_with_its_range_and_what_it_rests_on(all_effects: list[tuple[Effect, int]]) -> None:
    for effect, _ in all_effects:
        if effect.estimate is None:
            continue
        assert f"{effect.n_candidates} candidate" in effect.sentence
        assert re.search(rf"\b{effect.n} (sheet|comparison)", effect.sentence), effect.sentence
        fits = "anything from" in effect.sentence
        assert fits == (effect.ci95 is not None) and fits != ("how far it could move cannot be said" in effect.sentence)


def test_an_assessor_is_spoken_to_and_nobody_else_is_named(all_effects: list[tuple[Effect, int]]) -> None:
    for effect, n in all_effects:
        said = sentence_of(effect, n, you=True)
        if effect.mirror_of or (effect.undefined or "").startswith("the assessors fall"):
            continue
        assert not re.search(r"\bA[1-4]\b", said), said
        assert not said[0].islower() and said.endswith(".") and ".." not in said


def test_the_words_about_drift_turn_with_its_sign_and_say_both_ends() -> None:
    down = Effect("A2", "drift", -0.057, (-0.13, 0.02), "x", 0.26, 0.8, "nothing to say", 27, 9)
    assert sentence_of(down, 4) == (
        "With each place further back A2 gives 0.06 of a level less than partners lead one to expect, which may be"
        " nothing (anything from 0.13 less to 0.02 more fits; 27 comparisons, 9 candidates)."
    )
    up = replace(down, estimate=0.2, ci95=(0.1, 0.3), p=0.0, verdict="look")
    assert "A2 gives 0.20 of a level more" in sentence_of(up, 4)
    assert "from 0.10 more to 0.30 more" in sentence_of(up, 4)
    assert "gives neither more nor less" in sentence_of(replace(down, estimate=0.001), 4)


def test_the_one_sentence_of_a_list_says_no_more_than_the_effects() -> None:
    found = rater_effects(sample_sheets(), LEVELS)
    assert [rater.sentence for rater in found.raters] == [
        "About as the group.",
        "About a quarter of a level milder than the group, which is not shown without A3, further out on the other"
        " side. To look at: one digit across a sheet, spread within a sheet.",
        "About half a level harder than the group, more than chance makes likely.",
        "About a fifth of a level milder than the group, which may be nothing.",
    ]
    few = rater_effects(made_course(2, Made(candidates=4, severity=-1.0)), LEVELS, replicates=50)
    assert few.raters[0].sentence.endswith("harder than the group; too few shared candidates to say more.")


def test_no_word_of_a_remedy_is_a_sanction() -> None:
    found = rater_effects(made_course(3, Made(flat=0.9, severity=-1.0)), LEVELS, replicates=100)
    told = [effect.todo for rater in found.raters for effect in rater.effects if effect.todo]
    assert told and not any(re.search(r"suspend|withdraw|remove|exclude|licen[cs]e|sanction", todo) for todo in told)
    assert NEVER.startswith("Never a sanction")
