"""The tasks of a day: nothing outside the light, nothing at the same time, and no day called full that is not."""

from __future__ import annotations

from itertools import permutations, product

from hypothesis import given
from hypothesis import strategies as st

from assess.planning.days import DayTask, free_times, lay_out

LIGHT = ((540, 720), (780, 930))


def test_the_second_day_of_the_sample_lesson_first_although_listed_last() -> None:
    laid = lay_out([DayTask("T3", 10, 10), DayTask("T4", 5, 35)], LIGHT, 15)
    assert laid is not None
    assert [(each.task, each.starts[0]) for each in laid] == [("T4", 540), ("T3", 780)]


def test_tasks_that_fit_stand_as_they_are_listed_with_time_to_walk_between() -> None:
    laid = lay_out([DayTask("T1", 10, 6, 585), DayTask("T2", 10, 6)], LIGHT, 15)
    assert laid is not None
    assert [(each.task, each.starts[0], each.starts[-1]) for each in laid] == [("T1", 585, 639), ("T2", 660, 714)]


def test_a_task_longer_than_any_half_day_is_cut_by_the_break() -> None:
    laid = lay_out([DayTask("T4", 7, 35)], LIGHT, 15)
    assert laid is not None
    assert laid[0].starts == (540, 575, 610, 645, 680, 780, 815)


def test_two_lessons_do_not_fit_in_a_day() -> None:
    assert lay_out([DayTask("T4", 5, 35), DayTask("T5", 5, 35)], LIGHT, 15) is None


def test_what_is_taken_is_left_out_with_the_minutes_before_and_after_it() -> None:
    assert free_times(LIGHT, [(600, 640)], 15) == ((540, 585), (655, 720), (780, 930))
    assert free_times(LIGHT, [(540, 700), (800, 930)], 0) == ((700, 720), (780, 800))


tasks = st.lists(
    st.builds(DayTask, st.just("T"), st.integers(1, 4), st.sampled_from([20, 35, 50]), st.sampled_from([0, 600, 800])),
    min_size=1,
    max_size=4,
).map(lambda found: [DayTask(f"T{n}", each.rounds, each.every, each.not_before) for n, each in enumerate(found)])


def fits_by_hand(wanted: list[DayTask], between: int) -> bool:
    """Every order, and for every round every place in steps of five minutes that lies in the light, the earliest."""
    for order in permutations(wanted):
        at = 0
        for task in order:
            at = max(at, task.not_before)
            for _ in range(task.rounds):
                free = [m for m in range(at, 931) if any(a <= m and m + task.every <= b for a, b in LIGHT)]
                at = min(free, default=10_000) + task.every
            at += between
        if at < 10_000:
            return True
    return False


@given(tasks, st.sampled_from([0, 15, 70]))
def test_laid_out_is_in_the_light_one_after_the_other_or_there_is_no_way(wanted: list[DayTask], between: int) -> None:
    laid = lay_out(wanted, LIGHT, between)
    assert (laid is not None) == fits_by_hand(wanted, between)
    if laid is None:
        return
    known = {task.id: task for task in wanted}
    assert sorted(each.task for each in laid) == sorted(known)
    for each in laid:
        task = known[each.task]
        assert len(each.starts) == task.rounds and min(each.starts) >= task.not_before
        assert all(any(a <= at and at + task.every <= b for a, b in LIGHT) for at in each.starts)
        assert all(later - at >= task.every for at, later in zip(each.starts, each.starts[1:], strict=False))
    for one, other in product(laid, repeat=2):
        if one is not other:
            a, b = sorted((one, other), key=lambda each: each.starts[0])
            assert b.starts[0] >= a.starts[-1] + known[a.task].every + between
