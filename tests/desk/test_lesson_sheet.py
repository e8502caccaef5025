from __future__ import annotations

import pytest

from assess.records.errors import Refusal
from tests.courses import FixedClock, build_course, open_desk


@pytest.fixture
def clock():
    return FixedClock()


@pytest.fixture
def lesson(tmp_path, clock):
    desk = open_desk(build_course(tmp_path / "course"), clock=clock)
    yield desk.lesson("T4", "C01")
    desk.close()


def test_the_session_clock_runs_from_the_start_and_can_have_started_earlier(lesson, clock) -> None:
    assert lesson.clock_ms() is None
    lesson.start(ago_minutes=2)
    first = lesson.clock_ms()
    assert 120_000 <= first < 130_000
    clock.ms += 60_000
    assert lesson.clock_ms() - first >= 60_000


def test_seen_for_and_against_is_evidence_with_its_minute(lesson, clock) -> None:
    lesson.start()
    clock.ms += 5 * 60_000
    lesson.seen("learner-change", "against")
    moment = lesson.timeline()[-1]
    assert moment.direction == "against" and moment.criteria == ("learner-change",)
    assert moment.minute_text.startswith("5:")


def test_practice_time_is_counted_between_on_and_off(lesson, clock) -> None:
    lesson.start()
    assert lesson.time_shares() is None
    lesson.practise(True)
    assert lesson.practising
    clock.ms += 180_000
    lesson.practise(False)
    assert not lesson.practising
    assert 180_000 <= lesson.time_shares()["practise"] < 190_000


def test_named_faults_keep_the_candidates_own_order(lesson) -> None:
    lesson.name_fault("late pressure", "root")
    lesson.name_fault("ski not tuned", "ruled-out")
    assert [item.text for item in lesson.timeline()] == ["1. late pressure (root)", "2. ski not tuned (ruled-out)"]


def test_safety_items_have_a_state_each_and_others_are_refused(lesson) -> None:
    item = next(iter(lesson.safety_states()))
    lesson.safety_item(item, "missed")
    assert lesson.safety_states()[item] == "missed"
    with pytest.raises(Refusal, match="safety list"):
        lesson.safety_item("no-such-item", "done")
    with pytest.raises(Refusal, match="nothing was recorded"):
        lesson.safety_item(item, "perhaps")


def test_a_lesson_ended_for_safety_says_so(lesson) -> None:
    lesson.start()
    lesson.end("unsafe", "past a closed rope")
    assert lesson.ended == "unsafe"
    assert lesson.timeline()[-1].text == "unsafe: past a closed rope"


def test_a_reported_breach_may_be_completed_later_and_holds_up_a_lock_only_as_a_listed_hole(lesson) -> None:
    entry = lesson.breach()
    assert any(hole.kind == "breach-incomplete" for hole in lesson.holes())
    lesson.complete_breach(entry.n, lesson.rubric.must_nots[0].id, "past a rope", "below the hut", "the learner")
    assert not any(hole.kind == "breach-incomplete" for hole in lesson.holes())
