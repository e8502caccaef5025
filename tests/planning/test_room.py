"""What stands in the way is found, named, and true; and nothing is said to stand in the way that does not."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations

import pytest

from assess.planning.request import Bar, Condition, Request
from assess.planning.results import Obstacle
from assess.planning.room import Room, room_of
from tests.planning import by_hand
from tests.planning.requests import task, whole, wild

TRAINED = "trained this candidate in the last 12 months"


def only(request: Request) -> Obstacle:
    (found,) = room_of(request).obstacles
    return found


def test_one_assessor_only_is_named_with_the_reasons_why_the_others_may_not() -> None:
    bars = (Bar("A1", TRAINED, "C03"), Bar("A3", "licence ends 2026-01-31"))
    found = only(whole(task(), assessors=3, fresh=0, bars=(*bars, Bar("A2", "sister of the candidate", "C03"))))
    assert found.kind == "markers" and found.candidates == ("C03",) and found.assessors == ()
    assert found.sentence == (
        "C03 can be marked by nobody (A1: trained this candidate in the last 12 months; A2: sister of the candidate;"
        " A3: licence ends 2026-01-31)."
    )
    found = only(whole(task(), assessors=3, fresh=0, bars=bars))
    assert found.sentence == (
        "C03 can be marked by one assessor only, A2 (A1: trained this candidate in the last 12 months;"
        " A3: licence ends 2026-01-31)."
    )


def test_two_assessors_leave_nobody_fresh() -> None:
    found = only(whole(task(), assessors=2))
    assert found.kind == "fresh"
    assert found.sentence == (
        "Every candidate can be marked by A1 and A2 only: that is one pair, and nobody is fresh for a third look."
    )
    assert found.todo == "bring in one more assessor, or write `fresh: 0` under `plan`"
    assert room_of(whole(task(), assessors=2, fresh=0)).obstacles == []


def test_candidates_alike_in_one_task_stand_in_one_sentence() -> None:
    bars = tuple(Bar("A1", TRAINED, candidate, "T2") for candidate in ("C02", "C04"))
    found = only(whole(task(), task("T2"), assessors=3, bars=bars))
    assert found.candidates == ("C02", "C04") and found.task == "T2"
    assert found.sentence.startswith(
        f"C02 and C04 can be marked by A2 and A3 only in T2 (A1: {TRAINED}): that is one pair"
    )


def test_a_task_longer_than_what_is_left_of_its_day_is_told_with_its_rounds() -> None:
    lessons = task("T4", 2, 10, 25, every=35)
    found = only(whole(task("T3", 2, 10, 10), lessons))
    assert (found.kind, found.task, found.day) == ("light", "T4", 2)
    assert found.sentence == "T4 needs 350 minutes (10 rounds of 35), 200 are left on day 2 beside T3 (100)."
    assert found.todo == "with `at_once: 2` T4 needs 175 minutes, and the day holds it"


def test_two_lessons_in_one_day_have_enough_minutes_and_wrong_ones() -> None:
    two = [task(name, 1, 10, 25, every=35, at_once=2) for name in ("T4", "T5")]
    found = only(whole(*two, most_minutes=400, light={1: ((540, 660), (720, 850), (870, 980))}))
    assert found.kind == "rounds"
    assert found.sentence == (
        "Day 1: T4 (175 minutes: 5 rounds of 35) and T5 (175 minutes: 5 rounds of 35) cannot be laid into"
        " 09:00-11:00, 12:00-14:10 and 14:30-16:20 with 15 minutes between tasks."
    )


def test_more_pairs_than_there_are_people_are_told() -> None:
    found = only(whole(task(pairs=3, candidates=6), assessors=5))
    assert found.kind == "pairs"
    assert found.sentence == (
        "3 pairs are asked for in T1, 5 assessors may mark there (A1, A2, A3, A4 and A5): that makes 2 pairs."
    )


def test_candidates_who_cannot_all_have_two_markers_are_named_and_nobody_else() -> None:
    bars = [Bar("A1", TRAINED, "C01"), Bar("A2", TRAINED, "C02"), Bar("A3", TRAINED, "C03")]
    found = only(whole(task(candidates=6), assessors=3, fresh=0, bars=tuple(bars)))
    assert found.kind == "seats"
    assert found.sentence == (
        "T1: two markers cannot be found for C02 (by A1 and A3) and C03 (by A1 and A2),"
        " so that nobody sits in two pairs."
    )


def test_conflicts_that_make_a_day_too_long_are_named() -> None:
    bars = [Bar(who, TRAINED, c) for c in ("C01", "C02", "C03", "C04", "C05") for who in ("A3", "A4")]
    found = only(whole(task("T4", 1, 8, 40, at_once=2), bars=tuple(bars), fresh=0, most_minutes=180))
    assert found.sentence == (
        "T4 needs 200 minutes (5 rounds of 40), 180 are left on day 1; 4 rounds would do, but C01, C02, C03, C04 and"
        " C05 can only go to the same markers one after the other."
    )


def test_kept_seatings_that_cannot_be_are_told() -> None:
    kept = {("T1", "C01"): ("A1", "A2"), ("T1", "C02"): ("A2", "A3")}
    assert only(whole(task(), kept_seats=kept)).sentence == (
        "A2 would sit in two pairs of T1: A1 and A2 for C01 as well as A2 and A3 for C02 are kept."
    )
    bars = (Bar("A1", TRAINED, "C01"),)
    found = room_of(whole(task(), kept_seats={("T1", "C01"): ("A1", "A2")}, bars=bars)).obstacles[0]
    assert found.sentence == f"The seating kept for T1.C01 (A1 and A2) cannot be (A1: {TRAINED})."
    conditions = (Condition("A1", "T1", "only-second"), Condition("A2", "T1", "supervised"))
    assert "neither may mark without a condition" in only(
        whole(task(), kept_pairs={"T1": (("A1", "A2"),)}, conditions=conditions)
    ).sentence  # fmt: skip


def test_a_course_with_nothing_in_it_is_told_so() -> None:
    assert [each.kind for each in room_of(whole()).obstacles] == ["nobody"]
    assert [each.kind for each in room_of(whole(task(candidates=0))).obstacles] == ["nobody"]


def true(request: Request, found: Obstacle) -> bool:
    """Whether what an obstacle says holds, tried out by hand."""
    tasks = {each.id: each for each in request.tasks}
    if found.kind in ("markers", "fresh"):
        words = found.sentence.replace(",", "").replace(".", "").split()
        where = [each for each in request.tasks if each.id in words] or list(request.tasks)
        bare = replace(request, fresh=0 if found.kind == "markers" else request.fresh, kept_seats={})
        pairs = list(combinations(request.assessors, 2))
        return not any(
            by_hand.may_pair(bare, each.id, candidate, pair)
            for each in where
            for candidate in found.candidates
            for pair in pairs
        )
    if found.kind == "seats":
        one = tasks[found.task]
        return by_hand.fewest_rounds(request, one, found.candidates or one.candidates) is None or _kept_in_vain(
            request, found
        )
    if found.kind == "pairs":
        one = tasks[found.task]
        kept = len({frozenset(pair) for pair in request.kept_pairs.get(one.id, ())})
        return by_hand.most_pairs(request, one) < (one.pairs or 0) or kept > (one.pairs or 9)
    day = [each for each in request.tasks if each.day == found.day]
    rounds = [(each, by_hand.fewest_rounds(request, each) or 0) for each in day]
    if found.kind == "light":
        return sum(n * each.every for each, n in rounds) > by_hand.usable(request, found.day)
    return not by_hand.arrangement(request, rounds, found.day)


def _kept_in_vain(request: Request, found: Obstacle) -> bool:
    """A pair that is kept and can mark nobody of its task."""
    one = next(each for each in request.tasks if each.id == found.task)
    return not any(by_hand.may_pair(request, one.id, c, found.assessors) for c in one.candidates)


@pytest.mark.parametrize("start", range(0, 600, 100))
def test_a_request_has_obstacles_exactly_when_there_is_no_plan_and_every_obstacle_is_true(start: int) -> None:
    seen: set[str] = set()
    for number in range(start, start + 100):
        request = wild(random.Random(number))
        room: Room = room_of(request)
        assert bool(room.obstacles) != by_hand.can_be_planned(request), number
        for found in room.obstacles:
            assert found.sentence.endswith(".") and found.todo, number
            assert true(request, found), (number, found)
            seen.add(found.kind)
        if not room.obstacles:
            for each in request.tasks:
                assert room.shortest[each.id].rounds == by_hand.fewest_rounds(request, each), number
    assert {"markers", "fresh", "seats"} <= seen
