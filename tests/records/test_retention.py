"""Until when names, contacts and free text of a course are kept."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assess.records.retention import Retention, contacts_until, records_until

DAYS = ("2027-02-03", "2027-02-04")


@pytest.mark.parametrize(
    ("said", "whole", "contacts"),
    [
        ({}, date(2028, 8, 6), date(2028, 8, 6)),
        ({"season_ends": "2027-04-30"}, date(2028, 4, 30), date(2028, 4, 30)),
        ({"season_ends": "2028-02-29"}, date(2029, 2, 28), date(2029, 2, 28)),
        ({"season_ends": "2028-02-29", "years": 4}, date(2032, 2, 29), date(2032, 2, 29)),
        ({"season_ends": "2027-04-30", "years": 0, "contacts_days": 30}, date(2027, 4, 30), date(2027, 3, 6)),
        ({"season_ends": "2027-04-30", "years": 0, "contacts_days": 300}, date(2027, 4, 30), date(2027, 4, 30)),
    ],
)
def test_one_season_and_one_year_unless_said_otherwise(said: dict[str, object], whole: date, contacts: date) -> None:
    kept = Retention.model_validate(said)
    assert (records_until(kept, DAYS), contacts_until(kept, DAYS)) == (whole, contacts)


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.integers(0, 50), st.none() | st.integers(0, 4000))
def test_contacts_are_never_kept_longer_than_the_rest(ends: date, years: int, days: int | None) -> None:
    kept = Retention(season_ends=ends.isoformat(), years=years, contacts_days=days)
    assert contacts_until(kept, DAYS) <= records_until(kept, DAYS)
