from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.records.times import clock_text, instant, local_date, local_instant, milliseconds, offset_minutes


@given(st.integers(min_value=0, max_value=253_402_300_799_999))
def test_an_instant_written_and_read_is_the_same_to_the_millisecond(ms: int) -> None:
    assert milliseconds(instant(ms)) == ms


def test_the_written_instant_is_utc_with_z_and_three_digits() -> None:
    assert instant(1_801_645_091_000) == "2027-02-03T08:58:11.000Z"  # date -u -d @1801645091


@pytest.mark.parametrize(
    "text", ["2027-02-03T08:58:11Z", "2027-02-03T08:58:11.000", "x", "2027-02-03T08:58:11.000+00:00"]
)
def test_another_shape_is_no_instant(text: str) -> None:
    with pytest.raises(ValueError, match="not an instant"):
        milliseconds(text)


def test_a_wall_time_east_of_utc_is_earlier_in_utc() -> None:
    assert local_instant(date(2027, 2, 3), "09:45", "+01:00") == "2027-02-03T08:45:00.000Z"
    assert clock_text("2027-02-03T08:45:00.000Z", "+01:00") == "09:45:00"
    assert local_date("2027-02-03T23:30:00.000Z", "+01:00") == "2027-02-04"


def test_an_offset_is_signed_hours_and_minutes() -> None:
    assert offset_minutes("-03:30") == -210
    with pytest.raises(ValueError, match="offset"):
        offset_minutes("1:00")
