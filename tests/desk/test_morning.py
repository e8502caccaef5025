"""What the morning's numbers say beside themselves; whether it is safe they never say."""

from __future__ import annotations

import pytest

from tests.courses import FixedClock, build_course, open_desk


@pytest.fixture
def desk(tmp_path):
    desk = open_desk(build_course(tmp_path / "course"), clock=FixedClock())
    yield desk
    desk.close()


def test_wind_chill_is_told_inside_the_domain_of_its_formula_only(desk) -> None:
    desk.day_book.record_morning(temp_c=-10, wind_kmh=20)
    # -17.9 by 13.12 + 0.6215 T - 11.37 V^0.16 + 0.3965 T V^0.16 (US National Weather Service, 2001).
    assert desk.day_book.told_of_the_morning()[0].startswith("wind chill -18 C")
    desk.day_book.record_morning(wind_kmh=4)
    assert desk.day_book.told_of_the_morning() == ()


def test_a_bulletin_is_told_with_its_age_and_never_as_safe(desk) -> None:
    desk.day_book.record_morning(bulletin_level="3", bulletin_source="hut board")
    told = desk.day_book.told_of_the_morning()
    assert told == (
        "the level is for a region and says nothing about one slope; the bulletin and the patrol of the day decide",
        "when it was published is not noted",
    )
    desk.day_book.record_morning(bulletin_at="2026-01-30T07:00:00.000Z")
    assert desk.day_book.told_of_the_morning()[0] == "this bulletin is 75 hours old: read today's"
