"""A house may set any constant the settings allow: every reading stays between its bounds and none falls over."""

from __future__ import annotations

import json

import pytest

from assess.lesson.lesson_json import to_json
from assess.lesson.reading import read_lesson
from assess.records.reading_settings import Settings
from tests.lesson.samples import catalogue, lesson, scenario, with_parts

NUMBERS = [name for name, value in Settings().model_dump().items() if isinstance(value, (int, float))]


def readings(**changes: float) -> list[dict[str, object]]:
    known = with_parts(settings=Settings.model_validate({**catalogue().settings.model_dump(), **changes}))
    read = [read_lesson(lesson(name), scenario(name), known, {}) for name in ("S1-mediocre", "S3-good", "S3-mediocre")]
    told: list[dict[str, object]] = to_json(read, known.settings)["lessons"]
    return told


def test_practice_that_counts_in_full_from_nothing_on_is_full() -> None:
    for one in readings(practice_full=0.0):
        assert one["progression"]["parts"]["practice"] == 1.0  # type: ignore[index]


@pytest.mark.parametrize("name", NUMBERS)
@pytest.mark.parametrize("value", [0.0, 1.0, 1e-300, 1e300])
def test_any_number_the_settings_allow_gives_readings_that_are_numbers(name: str, value: float) -> None:
    number = int(min(max(value, 1), 1000)) if isinstance(getattr(Settings(), name), int) else value
    try:
        told = readings(**{name: number})
    except ValueError as refused:  # not allowed, in words
        assert name in str(refused) or "weights" in str(refused)
        return
    for one in told:
        json.dumps(one, allow_nan=False)
        for part in ("drill_fit", "progression", "safety"):
            found = one[part]["value"]  # type: ignore[index]
            assert found is None or 0 <= found <= 1 + 1e-9, part
