"""Times of entries: they never repeat or go back, and a clock that did is told."""

from __future__ import annotations

from pathlib import Path

from assess.records.facts import Clock, Score
from assess.records.times import milliseconds
from assess.store.ledger_file import read_ledger
from assess.store.writer import Writer
from tests.store.disks import SetClock, sheet

FILE = "T1.C04.A2.d7h2k.yaml"
SCORE = Score(criterion="edging", level=3)
NOON = 1_801_645_200_000


def test_times_never_repeat_or_go_back_on_a_device_whatever_the_clock_does(tmp_path: Path) -> None:
    clock = SetClock(NOON)
    writer = Writer(clock=clock)
    one, other = writer.open(tmp_path, sheet("C01")), writer.open(tmp_path, sheet("C02"))
    given: list[str] = []
    for step in (0, 0, 5, -3, 0, -1500, 1, 40_000, -1):
        clock.ms += step
        given += [one.add(SCORE).at, other.add(SCORE).at]
    assert given == sorted(set(given))
    assert len(one.entries) == len(other.entries) == 9
    assert writer.close()


def test_a_clock_more_than_two_seconds_behind_is_recorded_first_and_once(tmp_path: Path) -> None:
    clock = SetClock(NOON)
    writer = Writer(clock=clock)
    live = writer.open(tmp_path, sheet())
    live.add(SCORE)
    clock.ms = NOON - 2000
    live.add(SCORE)
    assert [entry.fact.kind for entry in live.entries] == ["score", "score"]
    clock.ms = NOON - 60_000
    entry = live.add(SCORE)
    assert [e.fact.kind for e in live.entries] == ["score", "score", "clock", "score"]
    assert live.entries[2].fact == Clock(behind_ms=60_000)
    assert [milliseconds(e.at) - NOON for e in live.entries] == [0, 1, 2, 3]
    assert entry is live.entries[3]
    clock.ms = NOON - 59_000
    live.add(SCORE)
    clock.ms = NOON - 90_000
    live.add(SCORE)
    clock.ms = NOON + 1000
    live.add(SCORE)
    clock.ms = NOON - 5000
    live.add(SCORE)
    kinds = [e.fact.kind for e in live.entries[4:]]
    assert kinds == ["score", "clock", "score", "score", "clock", "score"]
    assert writer.close()
    assert read_ledger(tmp_path / FILE).problems == ()


def test_a_device_that_starts_with_a_clock_behind_its_own_record_says_so(tmp_path: Path) -> None:
    writer = Writer(clock=SetClock(NOON))
    writer.open(tmp_path, sheet()).add(SCORE)
    assert writer.close()
    later = Writer(clock=SetClock(NOON - 3_600_000))
    live = later.open(tmp_path, sheet())
    live.add(SCORE)
    assert [entry.fact for entry in live.entries[1:]] == [Clock(behind_ms=3_600_000), SCORE]
    assert [entry.at[17:] for entry in live.entries] == ["00.000Z", "00.001Z", "00.002Z"]
    later.not_before(NOON + 9000)
    assert later.open(tmp_path, sheet("C05")).add(SCORE).at == "2027-02-03T09:00:09.002Z"
    assert later.close()
    third = Writer(clock=SetClock(NOON))
    third.open(tmp_path, sheet("C05"))
    assert third.open(tmp_path, sheet("C06")).add(SCORE).at == "2027-02-03T09:00:09.004Z"
    assert third.close()


def test_many_entries_within_a_millisecond_are_no_clock_that_went_back(tmp_path: Path) -> None:
    writer = Writer(clock=SetClock(NOON))
    live = writer.open(tmp_path, sheet())
    for _ in range(2500):
        live.add(SCORE)
    assert {entry.fact.kind for entry in live.entries} == {"score"}
    assert writer.close(30)


def test_a_time_that_comes_with_a_fact_is_kept_and_moves_no_clock(tmp_path: Path) -> None:
    writer = Writer(clock=SetClock(NOON))
    old, now = writer.open(tmp_path, sheet("C01")), writer.open(tmp_path, sheet("C02"))
    assert old.add(SCORE, at_ms=NOON + 86_400_000).at == "2027-02-04T09:00:00.000Z"
    assert old.add(SCORE, at_ms=NOON).at == "2027-02-04T09:00:00.001Z"
    assert now.add(SCORE).at == "2027-02-03T09:00:00.000Z"
    assert old.add(SCORE).at == "2027-02-04T09:00:00.003Z"
    assert old.entries[2].fact == Clock(behind_ms=86_400_001)
    assert writer.close()
