"""The fit of a lesson: which drills count, what voids it, and fit to the candidate's own diagnosis (own arithmetic)."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from assess.lesson.drill_fit import Aims, read_drill_fit
from assess.lesson.results import DrillFitReading
from assess.records.reading_settings import SAFETY_ITEMS
from tests.lesson.samples import catalogue, changed, fit_of, given, learner, named, safety, scenario, with_parts

S3 = Aims({"flat-start": 0.6, "upper-rotation": 0.4}, learner("S3").chains, 5.0)


def read(name: str = "S3-good", **changes: Any) -> DrillFitReading:
    return read_drill_fit(changed(name, **changes), learner(name), scenario(name).learner.ability, catalogue())


def test_the_value_is_four_fifths_best_fit_per_target_by_weight_and_one_fifth_mean_fit() -> None:
    early, poles = given("top-early-tip", 13, practice_min=5.0), given("frame-poles", 16, practice_min=4.0)
    first, second = fit_of(early, S3), fit_of(poles, S3, early)
    # frame-poles treats upper-rotation itself, and flat-start one step down; top-early-tip does not treat rotation,
    # nor anything below it.
    assert (first.aim, second.aim) == (1.0, 1.0)
    best = 0.6 * max(first.suits, 0.6 * second.suits) + 0.4 * second.suits
    wanted = 0.8 * best + 0.2 * (first.fit + second.fit) / 2
    assert read(drills=(early, poles)).value == pytest.approx(wanted)


def test_only_the_three_drills_with_most_practice_count_and_of_equal_ones_the_earlier() -> None:
    minutes = {"half-release": 2.0, "slip-set": 5.0, "tall-to-small": 2.0, "top-early-tip": 2.0, "frame-poles": None}
    drills = tuple(given(name, 13, practice_min=value) for name, value in minutes.items())
    reading = read(drills=drills)
    assert [drill.id for drill in reading.drills] == ["slip-set", "half-release", "tall-to-small"]
    assert reading.not_counted == ("top-early-tip", "frame-poles")
    assert (reading.basis.n, reading.basis.of, reading.basis.coverage) == (3, "drills", 0.6)


def test_many_short_drills_earn_nothing_extra() -> None:
    long = tuple(given(name, 13, practice_min=4.0) for name in ("slip-set", "half-release", "tall-to-small"))
    short = tuple(given(name, 13, practice_min=0.5) for name in ("top-early-tip", "frame-poles", "crossed-lift"))
    assert read(drills=(*long, *short)).value == read(drills=long).value


def test_service_drills_are_outside_however_long_they_took_and_are_still_counted_per_ten_minutes() -> None:
    technique = (given("top-early-tip", 13, practice_min=4.0),)
    service = (given("kit-walk", 0, practice_min=8.0), given("stop-drill", 7, practice_min=6.0))
    with_service, without = read(drills=(*service, *technique)), read(drills=technique)
    assert with_service.value == without.value
    assert [drill.id for drill in with_service.drills] == ["top-early-tip"]
    assert with_service.practice_minutes == 18.0
    assert with_service.drills_per_ten_minutes == pytest.approx(10 * 3 / changed("S3-good").minutes)


def test_a_lesson_of_service_drills_alone_is_not_judged_and_says_why() -> None:
    reading = read(drills=(given("kit-walk", 0),))
    assert reading.value is None and reading.own_value is None
    assert reading.void == "not judged: no drill of technique was recorded" == reading.why[0]
    assert read(drills=()).void == reading.void


def test_a_cause_outside_technique_met_by_an_action_is_treated_whatever_the_drills() -> None:
    drills = (given("run-bounce", 3, practice_min=4.0),)
    managed, left = read("S1-good", drills=drills, managed=("X-fear",)), read("S1-good", drills=drills, managed=())
    assert managed.value is not None and left.value is not None
    # X-fear is half of what mattered and run-bounce does not support it.
    assert managed.value - left.value == pytest.approx(0.8 * 0.5 * 1.0)
    assert read("S1-good", drills=drills, managed=("X-cold",)).value == left.value


def test_a_technique_target_is_not_treated_by_calling_it_managed() -> None:
    assert read(managed=("flat-start",)).value == read(managed=()).value


@drawn(
    st.sampled_from(["S1-good", "S2-good", "S3-good", "S4-good", "S5-good"]),
    st.dictionaries(st.sampled_from(SAFETY_ITEMS), st.sampled_from(["missed", "missed-twice", "violated", "na"])),
)
@settings(deadline=None, max_examples=80)
def test_a_violated_must_voids_the_fit_and_nothing_but_must_terrain_and_closures_does(name, states) -> None:
    reading = read(name, safety=safety(**{item.replace("-", "_"): state for item, state in states.items()}))
    violated = [item for item in ("terrain-fit", "must", "closures") if states.get(item) == "violated"]
    if violated:
        assert reading.value is None and reading.own_value is None and reading.drills == ()
        assert reading.void is not None and reading.void.startswith("not judged: safety")
        assert reading.void.count("violated") == len(violated)
    else:
        assert reading.void is None and reading.value is not None


@pytest.mark.parametrize("judged", ["rightly", "wrongly", "open"])
def test_a_lesson_ended_for_safety_is_not_judged_and_gives_the_assessors_word(judged: str) -> None:
    reading = read(ended_for_safety={"minute": 12.0, "why": "frost-nip", "judged": judged})
    assert reading.value is None and reading.own_value is None
    assert reading.void is not None
    assert reading.void.startswith("not judged: ended for safety at minute 12") and reading.void.endswith(judged)


def test_right_logic_from_a_wrong_diagnosis_fits_ones_own_diagnosis_and_not_the_panels() -> None:
    drills = (given("tail-tap", 12, practice_min=6.0),)  # treats the inward lean, which this learner has not
    reading = read(drills=drills, named=named("bank-in", learner=learner("S3").id))
    assert reading.value == 0
    own = fit_of(drills[0], Aims({"bank-in": 1.0}, learner("S3").chains, 5.0))
    assert reading.own_value == pytest.approx(own.fit) and own.fit > 0.4


def test_ones_own_targets_are_the_counted_names_called_a_root_with_equal_weights() -> None:
    who = learner("S3").id
    drills = (given("top-early-tip", 13, practice_min=5.0),)
    roots = named("flat-start", "bank-in", learner=who)
    link = named("late-pressure", learner=who, role="link")
    half = 0.8 * 0.5 + 0.2  # one of two treated
    suits = fit_of(drills[0], Aims({"flat-start": 0.5, "bank-in": 0.5}, learner("S3").chains, 5.0)).suits
    assert read(drills=drills, named=(*roots, *link)).own_value == pytest.approx(half * suits)
    # None called a root: the first name alone, here nothing this drill does not treat.
    links = (*link, *named("pop-up", learner=who, role="symptom"))
    single = fit_of(drills[0], Aims({"late-pressure": 1.0}, learner("S3").chains, 5.0))
    assert read(drills=drills, named=links).own_value == pytest.approx(single.fit)


def test_a_fourth_name_or_one_ruled_out_is_none_of_ones_own_targets() -> None:
    who = learner("S3").id
    three = named("flat-start", "upper-rotation", "bank-in", learner=who)
    more = (*three, *named("aft-stance", learner=who), *named("X-ski", learner=who, role="ruled_out"))
    assert read(named=more).own_value == read(named=three).own_value
    assert read(named=()).own_value is None
    assert read(named=named("X-ski", learner=who, role="ruled_out")).own_value is None
    assert read(named=named("flat-start", learner="nobody-here")).own_value is None


def test_a_learner_nobody_diagnosed_has_no_fit_and_the_reason_is_told() -> None:
    nobody = next(item for item in scenario("S2").reference.learners if not item.roots)
    reading = read_drill_fit(changed("S2-good"), nobody, 4.0, catalogue())
    assert reading.value is None and reading.void is not None and "nobody on the panel" in reading.void


def test_a_drill_the_catalogue_lacks_is_left_out_in_words_and_lowers_the_coverage() -> None:
    known = (given("top-early-tip", 13, practice_min=4.0),)
    reading = read(drills=(*known, given("no-such-drill", 13, practice_min=9.0)))
    assert reading.value == read(drills=known).value
    assert reading.basis.coverage == 0.5
    assert any("no-such-drill" in sentence and "left out" in sentence for sentence in reading.why)


@drawn(
    st.permutations(["slip-set", "half-release", "tall-to-small", "top-early-tip", "frame-poles", "pivot-lane"]),
    st.lists(st.sampled_from([None, 0.0, 2.0, 5.0]), min_size=6, max_size=6),
    st.integers(0, 24),
    st.sampled_from(["packed", "hard", "ice", "crust"]),
)
@settings(deadline=None, max_examples=100)
def test_every_factor_every_fit_and_the_value_lie_between_0_and_1(names, minutes, slope, snow) -> None:
    reading = read(
        drills=tuple(given(n, slope, snow, practice_min=m, tired=3.0) for n, m in zip(names, minutes, strict=True))
    )
    assert reading.value is not None and 0 <= reading.value <= 1
    for one in reading.drills:
        factors = (one.aim, one.level, one.slope, one.snow, one.prepared, one.harm, one.fresh, one.suits)
        assert all(0 <= value <= 1 for value in factors)
        assert one.fit == pytest.approx(one.aim * one.suits)


def test_how_many_drills_count_and_what_a_service_is_stand_in_the_settings() -> None:
    changed_settings = catalogue().settings.model_copy(update={"longest": 1, "service": ()})
    known = with_parts(settings=changed_settings)
    drills = (given("kit-walk", 0, practice_min=8.0), given("top-early-tip", 13, practice_min=4.0))
    reading = read_drill_fit(changed("S3-good", drills=drills), learner("S3"), 5.0, known)
    assert [drill.id for drill in reading.drills] == ["kit-walk"]
