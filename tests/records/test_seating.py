from __future__ import annotations

import pytest

from assess.records.course import Allocation
from assess.records.seating import at_once, condition_bars
from tests.records.test_separation import course, licence, people


def told(*seated: str, **conditions: list[str]) -> list[tuple[str, str]]:
    """(who, why) where these sit; conditions: of whose licence."""
    entries = [licence(who, conditions=conditions.get(who, [])) for who in ("A1", "A2", "A3")]
    found = condition_bars(course(), people(licences=entries), seated, "T1", "C01")
    assert all(bar.about == "licence" and bar.place for bar in found)
    return [(bar.assessor, bar.why) for bar in found]


SECOND = "the licence is for the second marker only"
BESIDE = "the licence asks for a marker without conditions beside them"


@pytest.mark.parametrize(
    ("seated", "conditions", "wrong"),
    [
        (("A1", "A2"), {}, []),
        (("A1", "A2"), {"A2": ["only-second"]}, []),
        (("A2", "A1"), {"A2": ["only-second"]}, [("A2", SECOND)]),
        (("A2",), {"A2": ["only-second"]}, [("A2", SECOND)]),
        (("A1", "A2"), {"A2": ["supervised"]}, []),
        (("A2", "A1"), {"A2": ["supervised"]}, []),
        (("A2",), {"A2": ["supervised"]}, [("A2", BESIDE)]),
        (("A1", "A2"), {"A1": ["supervised"], "A2": ["supervised"]}, [("A1", BESIDE), ("A2", BESIDE)]),
        (("A1", "A2"), {"A1": ["supervised"], "A2": ["only-second"]}, [("A1", BESIDE)]),
        (("A1", "A2", "A3"), {"A1": ["supervised"], "A2": ["supervised"]}, []),
        (("A1",), {"A1": ["only-second", "supervised"]}, [("A1", SECOND), ("A1", BESIDE)]),
    ],
)
def test_conditions_of_a_licence_ask_for_a_seat(seated, conditions, wrong) -> None:
    assert told(*seated, **conditions) == wrong


def test_whose_licence_does_not_cover_the_slot_supervises_nobody() -> None:
    entries = [licence("A1", valid_to="2025-12-31"), licence("A2", conditions=["supervised"])]
    found = condition_bars(course(), people(licences=entries), ("A1", "A2"), "T1", "C01")
    assert [bar.assessor for bar in found] == ["A2"]
    lifted = [licence("A1"), licence("A2", conditions=["supervised"]), licence("A2")]
    assert condition_bars(course(), people(licences=lifted), ("A2",), "T1", "C01") == ()


@pytest.mark.parametrize(
    ("one", "other", "both"),
    [
        ({"at": "09:00"}, {"at": "09:00", "task": "T4"}, False),
        ({"at": "09:00"}, {"at": "09:09"}, True),
        ({"at": "09:00"}, {"at": "09:10"}, False),
        ({"at": "09:09"}, {"at": "09:00"}, True),
        ({"at": "09:00"}, {"at": "09:00", "day": 2}, False),
        ({}, {}, False),
        ({"pair": 1}, {"pair": 2}, True),
        ({"pair": 1, "round": 1}, {"pair": 2, "round": 2}, False),
        ({"pair": 1}, {"pair": 2, "task": "T4"}, False),
        ({"pair": 1, "at": "09:00"}, {"pair": 2}, True),
        ({"pair": 1, "at": "09:00"}, {"pair": 2, "at": "09:30"}, False),
    ],
)
def test_two_slots_at_once(one, other, both) -> None:
    first = Allocation.model_validate({"task": "T1", "order": 1, "candidate": "C01", "assessors": ["A1"], **one})
    second = Allocation.model_validate({"task": "T1", "order": 2, "candidate": "C02", "assessors": ["A1"], **other})
    assert at_once(course(), first, second, lambda _: 10) is both
    assert at_once(course(), second, first, lambda _: 10) is both
