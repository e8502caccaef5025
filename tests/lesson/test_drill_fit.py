"""The fit of one drill: the project's worked values, and each factor by itself (own arithmetic)."""

from __future__ import annotations

from math import exp

import pytest

from assess.lesson import fit
from assess.lesson.drill_fit import Aims
from assess.records.practice import GivenDrill
from tests.lesson.samples import catalogue, fit_of, given, learner, with_parts

S3 = Aims({"flat-start": 0.6, "upper-rotation": 0.4}, learner("S3").chains, 5.0)
FLAT = Aims({"flat-start": 1.0}, (), 5.0)
ILSE = Aims({"X-fear": 0.5, "aft-stance": 0.5}, learner("S1").chains, 2.0)


def test_a_drill_that_treats_one_target_and_may_feed_the_heavier_one_without_what_comes_before_it() -> None:
    one = fit_of(given("pivot-lane", 16, "hard"), S3)
    assert (one.aim, one.slope, one.snow, one.prepared, one.harm, one.fresh) == (1, 1, 1, 0.5, 0.5, 1)
    assert one.level == pytest.approx(0.961, abs=0.0005)
    assert one.level**0.3 == pytest.approx(0.988, abs=0.0005)
    assert one.prepared**0.2 == pytest.approx(0.871, abs=0.0005)
    assert round(one.fit, 2) == 0.43


WORKED = [
    (given("top-early-tip", 13), S3, (given("tall-to-small", 13),), 0.99),
    (given("half-release", 18), FLAT, (), 0.39),
    (given("half-release", 5), FLAT, (), 0.68),
    (given("wedge-size", 11), ILSE, (), 0.00),
]


@pytest.mark.parametrize(("one", "aims", "before", "wanted"), WORKED, ids=lambda value: getattr(value, "id", None))
def test_worked_values(one: GivenDrill, aims: Aims, before: tuple[GivenDrill, ...], wanted: float) -> None:
    assert round(fit_of(one, aims, *before).fit, 2) == wanted


def test_three_degrees_too_steep_and_three_too_flat_for_a_middling_ability() -> None:
    assert fit_of(given("half-release", 18), FLAT).slope == pytest.approx(0.4)
    assert fit_of(given("half-release", 5), FLAT).slope == 0.7


@pytest.mark.parametrize(
    ("drill", "wanted"),
    [
        ("top-early-tip", 1.0),  # addresses flat-start itself
        ("tall-to-small", 0.7),  # comes before one that does
        ("frame-poles", 0.6),  # addresses upper-rotation, one step below
    ],
)  # fmt: skip
def test_how_far_a_drill_is_from_the_target_it_treats(drill: str, wanted: float) -> None:
    entry = catalogue().drill_by_id[drill]
    assert fit.aim(entry, "flat-start", learner("S3").chains, catalogue()) == wanted


def aim_at(addresses: tuple[str, ...], chain: tuple[str, ...], target: str) -> float:
    """The aim of a drill nothing else builds on."""
    pattern = catalogue().drill_by_id["half-release"]
    drill = pattern.model_copy(update={"id": "new-drill", "addresses": addresses, "supports": ("X-fear",)})
    return fit.aim(drill, target, (chain,), catalogue())


def test_one_step_below_the_target_on_a_chain_is_worth_more_than_two_and_three_or_above_nothing() -> None:
    chain = ("aft-stance", "outer-light", "stem-entry", "chatter")
    found = [aim_at((name,), chain, "aft-stance") for name in chain]
    assert found == [1.0, 0.6, 0.4, 0.0]
    assert aim_at(("aft-stance",), chain, "outer-light") == 0.0
    assert aim_at(("outer-light", "stem-entry"), chain, "aft-stance") == 0.6


def test_a_cause_outside_technique_is_only_ever_supported() -> None:
    assert aim_at((), (), "X-fear") == 0.5
    assert aim_at((), (), "X-cold") == 0.0
    assert aim_at(("aft-stance",), ("X-cold", "aft-stance"), "X-cold") == 0.0


@pytest.mark.parametrize(
    ("difficulty", "wanted"),
    [(5.5, 1.0), (6.0, exp(-0.04)), (8.0, exp(-1)), (5.0, exp(-0.01)), (3.0, exp(-0.25)), (1.0, 0.7)],
)  # fmt: skip
def test_too_easy_is_forgiven_and_too_hard_is_not(difficulty: float, wanted: float) -> None:
    assert fit.level(difficulty, 5.0, catalogue().settings) == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("slope", "ability", "wanted"),
    [
        (8, 4, 1), (14, 4, 1), (7, 4, 0.8), (1, 4, 0.7), (15.5, 4, 0.5), (17, 4, 0), (25, 4, 0),
        (15.5, 4.1, 0.7), (17, 5, 0.4), (19, 5, 0), (30, 10, 0),
    ],
)  # fmt: skip
def test_steeper_than_its_range_falls_faster_for_weak_skiers_and_flatter_is_forgiven(
    slope: float, ability: float, wanted: float
) -> None:
    assert fit.slope(slope, (8, 14), ability, catalogue().settings) == pytest.approx(wanted)


def test_snow_to_avoid_costs_and_unlisted_snow_is_no_fault() -> None:
    release = catalogue().drill_by_id["half-release"]
    found = {name: fit.snow(name, release, catalogue().settings) for name in ("ice", "packed", "sugar")}
    assert found == {"ice": 0.4, "packed": 1.0, "sugar": 1.0}


def test_harm_goes_by_the_weight_of_what_the_drill_may_feed() -> None:
    lane = catalogue().drill_by_id["pivot-lane"]  # may feed heel-push and flat-start
    for weights, wanted in (
        ({"flat-start": 0.6, "upper-rotation": 0.4}, 0.5),
        ({"flat-start": 0.3, "upper-rotation": 0.7}, 1 - 0.5 * 0.3 / 0.7),
        ({"heel-push": 0.2, "flat-start": 0.3, "pop-up": 0.5}, 0.7),
        ({"upper-rotation": 1.0}, 1.0),
    ):
        assert fit.harm(lane, weights, catalogue().settings) == pytest.approx(wanted)


def test_tiredness_counts_above_two_of_five_and_not_when_nobody_wrote_it_down() -> None:
    found = [fit.fresh(tired, catalogue().settings) for tired in (None, 0, 2, 3, 5)]
    assert found == pytest.approx([1, 1, 1, 0.85, 0.55])


def test_a_drill_done_before_in_the_lesson_and_the_skills_it_trains_are_owned() -> None:
    assert fit_of(given("pivot-lane", 16), S3).prepared == 0.5
    assert fit_of(given("pivot-lane", 16), S3, given("quick-stop", 14)).prepared == 1.0
    needing = [drill for drill in catalogue().drills if drill.needs]
    assert needing, "no drill of the catalogue needs a skill"
    drill = needing[0]
    trains = next(item for item in catalogue().drills if set(drill.needs) & set(item.skills) and item.id != drill.id)
    weak = Aims({"flat-start": 1.0}, (), 1.0)
    alone = fit_of(given(drill.id, 8), weak).prepared
    assert fit_of(given(drill.id, 8), weak, given(trains.id, 8)).prepared > alone


@pytest.mark.parametrize(("difficulty", "ability"), [(7.2, 8.2), (1.3, 2.3), (4.0, 5.0)])
def test_a_drill_exactly_one_point_below_the_ability_is_owned_whatever_the_last_bit_says(
    difficulty: float, ability: float
) -> None:
    drills = [
        drill.model_copy(update={"difficulty": difficulty}) if drill.id == "quick-stop" else drill
        for drill in catalogue().drills
    ]
    known = with_parts(drills=drills)
    aims = Aims({"flat-start": 1.0}, (), ability)
    assert fit_of(given("pivot-lane", 16), aims, using=known).prepared == 1.0
