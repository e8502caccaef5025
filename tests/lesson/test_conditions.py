"""Cold, ground and danger: published formulas inside their domain, and orders that cannot be added or averaged."""

from __future__ import annotations

import operator
from collections.abc import Callable
from math import nan
from statistics import fmean, mean
from typing import Any

import pytest

from assess.lesson.conditions import (
    Bulletin,
    DangerLevel,
    Demand,
    bulletin_cautions,
    edge_demand,
    slope_degrees,
    slope_percent,
    speed_demand,
    wind_chill_c,
    wind_chill_f,
)
from tests.lesson.samples import catalogue

# US National Weather Service, wind chill chart of 2001, all 216 cells as remembered (from memory, not copied from the
# chart): rows wind in mph, columns air temperature 40 to -45 °F in steps of 5.
CHART = {
    5: (36, 31, 25, 19, 13, 7, 1, -5, -11, -16, -22, -28, -34, -40, -46, -52, -57, -63),
    10: (34, 27, 21, 15, 9, 3, -4, -10, -16, -22, -28, -35, -41, -47, -53, -59, -66, -72),
    15: (32, 25, 19, 13, 6, 0, -7, -13, -19, -26, -32, -39, -45, -51, -58, -64, -71, -77),
    20: (30, 24, 17, 11, 4, -2, -9, -15, -22, -29, -35, -42, -48, -55, -61, -68, -74, -81),
    25: (29, 23, 16, 9, 3, -4, -11, -17, -24, -31, -37, -44, -51, -58, -64, -71, -78, -84),
    30: (28, 22, 15, 8, 1, -5, -12, -19, -26, -33, -39, -46, -53, -60, -67, -73, -80, -87),
    35: (28, 21, 14, 7, 0, -7, -14, -21, -27, -34, -41, -48, -55, -62, -69, -76, -82, -89),
    40: (27, 20, 13, 6, -1, -8, -15, -22, -29, -36, -43, -50, -57, -64, -71, -78, -84, -91),
    45: (26, 19, 12, 5, -2, -9, -16, -23, -30, -37, -44, -51, -58, -65, -72, -79, -86, -93),
    50: (26, 19, 12, 4, -3, -10, -17, -24, -31, -38, -45, -52, -60, -67, -74, -81, -88, -95),
    55: (25, 18, 11, 4, -3, -11, -18, -25, -32, -39, -46, -54, -61, -68, -75, -82, -89, -97),
    60: (25, 17, 10, 3, -4, -11, -19, -26, -33, -40, -48, -55, -62, -69, -76, -84, -91, -98),
}


@pytest.mark.parametrize("mph", CHART)
def test_wind_chill_is_the_chart_of_2001(mph: int) -> None:
    found = [wind_chill_f(temp, mph) for temp in range(40, -46, -5)]
    assert [round(value) for value in found if value is not None] == list(CHART[mph])


@pytest.mark.parametrize(
    ("c", "kmh", "wanted"), [(-10, 20, -17.86), (-5, 30, -13.00), (-20, 30, -32.57), (0, 10, -3.31)]
)
def test_wind_chill_in_degrees_celsius(c: float, kmh: float, wanted: float) -> None:
    """Environment Canada's metric form of the same index, from memory."""
    found = wind_chill_c(c, kmh)
    assert found == pytest.approx(wanted, abs=0.005)
    fahrenheit = wind_chill_f(c * 9 / 5 + 32, kmh / 1.609344)
    assert found is not None and fahrenheit is not None
    assert (fahrenheit - 32) * 5 / 9 == pytest.approx(found, abs=0.05)


def test_outside_its_domain_there_is_no_number() -> None:
    for temp, mph in ((50.1, 20), (20, 3), (20, 0), (20, -5), (nan, 20), (20, float("inf"))):
        assert wind_chill_f(temp, mph) is None
    for temp, kmh in ((10.1, 20), (0, 4.8), (0, -1), (0, nan)):
        assert wind_chill_c(temp, kmh) is None
    assert wind_chill_f(50, 3.1) is not None and wind_chill_c(10, 4.9) is not None


PERCENT = {10: 17.6, 15: 26.8, 20: 36.4, 25: 46.6, 30: 57.7, 35: 70.0, 40: 83.9, 45: 100.0}


@pytest.mark.parametrize(("degrees", "percent"), PERCENT.items())
def test_degrees_and_percent_of_slope(degrees: float, percent: float) -> None:
    assert round(slope_percent(degrees), 1) == percent
    assert slope_degrees(slope_percent(degrees)) == pytest.approx(degrees)


def test_the_limits_of_piste_colours_in_degrees() -> None:
    """25 % and 40 % of the Austrian and German piste norms (ÖNORM S 4611, DIN 32912; from memory)."""
    assert round(slope_degrees(25), 1) == 14.0 and round(slope_degrees(40), 1) == 21.8


@pytest.mark.parametrize("wrong", [-1, 90, 95, nan])
def test_a_slope_of_95_degrees_is_refused_with_the_likely_reason(wrong: float) -> None:
    with pytest.raises(ValueError, match="given in percent"):
        slope_percent(wrong)


@pytest.mark.parametrize("wrong", [-1, nan, float("inf")])
def test_percent_that_are_none_are_refused(wrong: float) -> None:
    with pytest.raises(ValueError, match="`percent` must be 0 or more"):
        slope_degrees(wrong)


ORDERS = [list(DangerLevel), list(Demand)]


@pytest.mark.parametrize("places", ORDERS)
def test_five_places_in_an_order_compare(places: list[DangerLevel | Demand]) -> None:
    assert len(places) == 5 and sorted({*places}) == places and max(places) is places[-1]
    assert places[0] < places[1] <= places[1] and places[2] > places[1] >= places[1]


@pytest.mark.parametrize("places", ORDERS)
def test_places_in_an_order_cannot_be_added_averaged_or_multiplied(places: list[DangerLevel | Demand]) -> None:
    for way in (operator.add, operator.sub, operator.mul, operator.truediv):
        with pytest.raises(TypeError):
            way(places[0], places[1])
        with pytest.raises(TypeError):
            way(places[0], 2)
    of_all: tuple[Callable[[Any], Any], ...] = (sum, mean, fmean)
    of_one: tuple[Callable[[Any], Any], ...] = (float, int, round)
    for whole in of_all:
        with pytest.raises(TypeError):
            whole(places)
    for single in of_one:
        with pytest.raises(TypeError):
            single(places[0])


def test_places_of_two_orders_or_a_place_and_a_number_do_not_compare() -> None:
    for other in (Demand.MUCH, 3, "3 considerable"):
        for way in (operator.lt, operator.le, operator.gt, operator.ge):
            with pytest.raises(TypeError):
                way(DangerLevel.HIGH, other)
    first: object = 1
    assert first != DangerLevel.LOW


def test_every_snow_of_the_vocabulary_has_its_demands() -> None:
    snows = {snow.id: snow for snow in catalogue().vocab.snow}
    for snow in snows.values():
        assert edge_demand(snow) is tuple(Demand)[snow.edge - 1]
        assert speed_demand(snow) is tuple(Demand)[snow.speed - 1]
    assert edge_demand(snows["ice"]) > edge_demand(snows["packed"])


HOUR = 3_600_000
NOON = 1_770_000_000_000


def cautions(hours: float) -> tuple[str, ...]:
    line = Bulletin(DangerLevel.CONSIDERABLE, "Office of Nowhere", NOON, band="above 2200 m", half_day="afternoon")
    return bulletin_cautions(line, NOON + int(hours * HOUR))


def test_a_level_says_nothing_about_one_slope_and_defers_to_the_day() -> None:
    [told] = cautions(2)
    assert "says nothing about one slope" in told and "patrol" in told
    assert cautions(24) == (told,)


def test_a_bulletin_older_than_a_day_or_of_tomorrow_is_said_first() -> None:
    assert "25 hours old" in cautions(25)[0] and len(cautions(25)) == 2
    assert "dated in the future" in cautions(-1)[0]


def test_a_bulletin_without_its_source_is_refused() -> None:
    with pytest.raises(ValueError, match="source"):
        Bulletin(DangerLevel.LOW, " ", NOON)
