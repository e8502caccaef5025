"""No type and no function of the readings hands back one number merged from several readings."""

from __future__ import annotations

import dataclasses
import typing

from assess.lesson import reading, results

READINGS = ("diagnosis", "drill_fit", "progression", "safety", "change")


def test_all_readings_together_hold_the_readings_and_no_number() -> None:
    hints = typing.get_type_hints(results.LessonReadings)
    assert set(READINGS) <= set(hints)
    for name, kind in hints.items():
        assert kind not in (int, float), name
        assert float not in typing.get_args(kind) and int not in typing.get_args(kind), name


def test_no_reading_holds_another_reading() -> None:
    kinds = {typing.get_type_hints(results.LessonReadings)[name] for name in READINGS}
    assert len(kinds) == len(READINGS)
    for kind in kinds:
        assert dataclasses.is_dataclass(kind)
        for hint in typing.get_type_hints(kind).values():
            assert hint not in kinds


def test_no_function_that_sees_all_readings_gives_a_number() -> None:
    for name in reading.__all__:
        found = getattr(reading, name)
        if callable(found) and hasattr(found, "__annotations__"):
            back = typing.get_type_hints(found).get("return")
            assert back not in (int, float), name
