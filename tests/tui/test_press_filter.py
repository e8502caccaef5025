from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.tui.press_filter import BURST_MS, PressFilter, Ruling, Verdict


def presses(times: list[float], key: str = "4") -> int:
    """How many presses these event times of one key come to, when nothing else is pressed."""
    rulings: list[Ruling] = []
    judge = PressFilter()
    for at, following in zip(times, [*times[1:], None], strict=True):
        rulings += judge.press(key, at)
        if following is None or following - at > BURST_MS:
            rulings += judge.settle(at + BURST_MS + 1)
    return sum(ruling.verdict in (Verdict.COUNT, Verdict.KEEP) for ruling in rulings)


@pytest.mark.parametrize("delay", [250, 300, 400, 500, 600, 660])
@pytest.mark.parametrize("interval", [20, 30, 40, 60])
@pytest.mark.parametrize("repeats", [2, 3, 40])
def test_a_held_key_counts_once_whatever_the_keyboard_s_delay(delay: int, interval: int, repeats: int) -> None:
    assert presses([0, *(delay + interval * n for n in range(repeats))]) == 1


@pytest.mark.parametrize("gap", [1, 20, 59, 60])
def test_a_bounce_counts_once(gap: int) -> None:
    assert presses([0, gap]) == 1
    assert presses([0, gap, 2 * gap]) == 1


@pytest.mark.parametrize("gap", [61, 120, 160, 250, 400, 600, 1000, 5000])
def test_honest_equal_digits_count_each(gap: int) -> None:
    assert presses([0, gap]) == 2
    assert presses([0, gap, 2 * gap, 3 * gap]) == 4


def test_a_bounce_on_a_quick_second_digit_counts_with_it_and_not_with_the_first() -> None:
    assert presses([0, 160, 185]) == 2


def test_a_bounce_long_after_the_last_press_loses_nothing() -> None:
    assert presses([0, 5000, 5020]) == 2


def test_a_held_key_over_a_line_that_stutters_counts_once() -> None:
    assert presses([0, 400, 430, 460, 590, 620, 650]) == 1


def test_after_a_held_key_the_same_digit_pressed_again_counts() -> None:
    assert presses([0, 400, 430, 460, 1500]) == 2
    assert presses([0, 400, 430, 460, 860]) == 2


def test_what_may_be_a_repeat_is_shown_at_once_and_written_after_60_ms() -> None:
    judge = PressFilter()
    assert [r.verdict for r in judge.press("4", 0)] == [Verdict.COUNT]
    assert [r.verdict for r in judge.press("4", 300)] == [Verdict.SHOW]
    assert judge.settle(360) == ()
    assert [r.verdict for r in judge.settle(361)] == [Verdict.KEEP]
    assert judge.settle(500) == ()


def test_a_third_event_takes_what_was_shown_back() -> None:
    judge = PressFilter()
    judge.press("4", 0)
    judge.press("4", 300)
    assert [r.verdict for r in judge.press("4", 330)] == [Verdict.TAKE_BACK]
    assert judge.press("4", 360) == ()
    assert judge.settle(1000) == ()


def test_another_key_commits_what_is_shown_first() -> None:
    judge = PressFilter()
    judge.press("4", 0)
    judge.press("4", 300)
    rulings = judge.press("5", 310)
    assert [(r.verdict, r.key) for r in rulings] == [(Verdict.KEEP, "4"), (Verdict.COUNT, "5")]


def test_leaving_commits_what_is_shown() -> None:
    judge = PressFilter()
    judge.press("4", 0)
    judge.press("4", 300)
    assert [r.verdict for r in judge.finish()] == [Verdict.KEEP]
    assert judge.finish() == ()


def test_arrows_may_repeat_freely() -> None:
    judge = PressFilter()
    verdicts = [r.verdict for at in (0, 400, 430, 460) for r in judge.press("down", at, free=True)]
    assert verdicts == [Verdict.COUNT] * 4


@given(st.lists(st.integers(61, 3000), max_size=30))
def test_presses_further_than_60_ms_apart_all_count(gaps: list[int]) -> None:
    times = [0.0]
    for gap in gaps:
        times.append(times[-1] + gap)
    assert presses(times) == len(times)


@given(st.integers(250, 600), st.lists(st.integers(1, 60), min_size=1, max_size=60))
def test_one_held_key_is_one_press_at_any_rate(delay: int, intervals: list[int]) -> None:
    times = [0.0, float(delay)]
    for interval in intervals:
        times.append(times[-1] + interval)
    assert presses(times) == 1


@given(st.lists(st.tuples(st.sampled_from("123456"), st.integers(1, 2000)), max_size=40))
def test_every_event_is_ruled_on_once_and_no_key_is_made_up(events: list[tuple[str, int]]) -> None:
    judge, at, shown, decided, counted = PressFilter(), 0, 0, 0, 0
    for key, gap in events:
        at += gap
        rulings = [*judge.settle(at), *judge.press(key, at)]
        shown += sum(r.verdict is Verdict.SHOW for r in rulings)
        decided += sum(r.verdict in (Verdict.KEEP, Verdict.TAKE_BACK) for r in rulings)
        counted += sum(r.verdict in (Verdict.COUNT, Verdict.KEEP) for r in rulings)
    rest = judge.finish()
    assert shown == decided + len(rest)
    assert counted + len(rest) <= len(events)


@given(
    st.lists(st.sampled_from("123456"), min_size=1, max_size=40), st.lists(st.integers(0, 80), min_size=40, max_size=40)
)
def test_different_digits_all_count_however_quick(digits: list[str], gaps: list[int]) -> None:
    run = [digit for digit, before in zip(digits, ["", *digits], strict=False) if digit != before]
    judge, at, counted = PressFilter(), 0, 0
    for digit, gap in zip(run, gaps, strict=False):
        at += gap
        counted += sum(r.verdict is Verdict.COUNT for r in judge.press(digit, at))
    assert counted == len(run)
