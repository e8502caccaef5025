"""Records that contradict themselves are named, and the readings are shown all the same."""

from __future__ import annotations

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from assess.lesson.consistency import contradictions, reference_doubts, unknown_ids
from assess.lesson.reading import read_lesson
from tests.lesson.samples import catalogue, changed, given, learner, lesson, named, scenario, scenarios, split


def test_the_sample_lessons_contradict_nothing() -> None:
    for place in scenarios():
        assert reference_doubts(place, catalogue()) == ()
        for one in place.lessons:
            assert contradictions(one, catalogue()) == () == unknown_ids(one, place, catalogue())


def test_drills_that_take_longer_than_the_lesson() -> None:
    drills = (given("top-early-tip", 13, practice_min=15.0), given("half-release", 13, practice_min=10.1))
    [told] = contradictions(changed("S3-good", drills=drills, time=None, minutes=25.0), catalogue())
    assert told == "inconsistent: drills add up to 25.1 minutes, the lesson lasted 25"
    exactly = tuple(given("top-early-tip", 13, n=0, practice_min=at / 10) for at in (3, 7)) * 10  # ten, by floats
    assert contradictions(changed("S3-good", drills=exactly, time=None, minutes=10.0, events=()), catalogue()) == ()


@pytest.mark.parametrize(("wait", "consistent"), [(5.0, True), (6.0, True), (4.0, True), (6.1, False), (3.9, False)])
def test_time_that_does_not_add_up_by_more_than_a_minute(wait: float, consistent: bool) -> None:
    told = contradictions(changed("S3-good", time=split(6, 12, wait, 2), minutes=25.0), catalogue())
    assert (told == ()) is consistent
    if not consistent:
        assert "talk, practice, waiting and lift add up to" in told[0] and "the lesson lasted 25" in told[0]


@pytest.mark.parametrize(
    ("drill", "n", "minutes", "consistent"),
    [
        ("top-early-tip", 5, 2.0, True),  # 5 runs of 0.4 minutes
        ("top-early-tip", 5, 1.9, False),
        ("half-release", 3, 2.4, True),  # 3 runs on each side
        ("half-release", 3, 2.3, False),
        ("half-release", 3, None, True),
        ("top-early-tip", 1, 0.0, False),
        ("top-early-tip", 0, 0.0, True),
    ],
)  # fmt: skip
def test_more_runs_than_the_minutes_allow(drill: str, n: float, minutes: float | None, consistent: bool) -> None:
    done = given(drill, 13, practice_min=minutes).model_copy(update={"n": float(n)})
    told = contradictions(changed("S3-good", drills=(done,)), catalogue())
    assert (told == ()) is consistent
    if not consistent:
        assert catalogue().drill_words(drill) in told[0] and "take at least" in told[0]


@drawn(
    st.sampled_from([drill for drill in catalogue().drills if drill.dose.unit == "runs"]),
    st.integers(0, 30),
    st.integers(0, 200).map(lambda tenth: tenth / 10),
)
@settings(deadline=None, max_examples=120)
def test_runs_are_called_inconsistent_exactly_when_they_need_more_minutes_than_are_recorded(drill, n, minutes) -> None:
    done = given(drill.id, 10, practice_min=minutes).model_copy(update={"n": float(n)})
    told = contradictions(changed("S3-good", drills=(done,), minutes=60.0, time=None), catalogue())
    needed_tenths = 4 * n * (2 if drill.dose.per_side else 1)  # whole tenths of a minute
    assert bool(told) is (needed_tenths > round(10 * minutes))


def test_a_drill_in_repetitions_or_one_nobody_knows_is_not_counted_in_runs() -> None:
    reps = next(drill for drill in catalogue().drills if drill.dose.unit == "reps")
    for name in (reps.id, "no-such-drill"):
        done = given(name, 5, practice_min=0.1, n=90)
        assert contradictions(changed("S3-good", drills=(done,)), catalogue()) == ()


def test_what_happened_after_the_end() -> None:
    late = changed("S3-good", events=[{"t": 26.5, "do": "close"}], minutes=25.0)
    assert any("minute 26.5 (close) is after the end" in line for line in contradictions(late, catalogue()))
    ended = changed("S3-good", ended_for_safety={"minute": 40.0, "why": "fog", "judged": "open"}, minutes=25.0)
    assert any("ended at minute 40" in line for line in contradictions(ended, catalogue()))
    stopped = changed("S3-good", stopped_by_assessor={"minute": 40.0, "why": "fog"}, minutes=25.0)
    assert any("stopped at minute 40" in line for line in contradictions(stopped, catalogue()))


def test_an_inconsistent_record_is_named_and_every_reading_still_given() -> None:
    wrong = changed("S3-good", time=split(20, 12, 5, 2))
    readings = read_lesson(wrong, scenario("S3"), catalogue(), {})
    assert len(readings.inconsistent) == 1
    assert None not in (
        readings.diagnosis.score, readings.drill_fit.value, readings.progression.value, readings.safety.value,
        readings.change.delta,
    )  # fmt: skip


def test_every_id_nobody_knows_is_told_once_with_what_was_made_of_it() -> None:
    who = learner("S3").id
    odd = changed(
        "S3-good",
        named=(*named("no-such-fault", "no-such-fault", learner=who), *named("flat-start", learner="nobody")),
        managed=("X-nothing",),
        drills=(*lesson("S3-good").drills, given("no-such-drill", 13), given("half-release", 13, "sugar")),
        hazards_handled=("dragon",),
        group={"seen_alone": ["ghost"], "spoken_to": [], "improved": []},
    )
    told = unknown_ids(odd, scenario("S3"), catalogue())
    for name in ("no-such-fault", "nobody", "X-nothing", "no-such-drill", "sugar", "dragon", "ghost"):
        assert [line for line in told if line.startswith(f"{name} is no")] != [], name
    assert len(told) == len(set(told)) == 7


def test_a_chain_that_is_no_edge_of_the_cause_graph_is_doubted() -> None:
    place = scenario("S3")
    who = learner("S3").model_copy(update={"chains": (("upper-rotation", "flat-start"), ("flat-start", "strange"))})
    odd = place.model_copy(
        update={"reference": place.reference.model_copy(update={"learners": (who,), "group_target": "strange"})}
    )
    told = reference_doubts(odd, catalogue())
    assert f"{who.id}: upper-rotation is no cause of flat-start in the catalogue (caused_by)" in told
    assert f"{who.id}: strange is not in the catalogue" in told
    assert "group target strange is not in the catalogue" in told
