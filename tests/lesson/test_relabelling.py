"""Renaming every fault, drill, skill, snow, hazard and learner, everywhere, changes no number of any reading."""

from __future__ import annotations

import json
import random
from dataclasses import asdict
from functools import lru_cache
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import given as drawn
from hypothesis import strategies as st

from assess.lesson.lesson_json import to_json
from assess.lesson.reading import guesses_for, read_lesson, read_scenarios
from assess.records.catalogue import Catalogue
from assess.records.practice import Scenario
from tests.lesson.samples import PRACTICE, catalogue, scenarios

IDS = "abcdefghijklmnopqrstuvwxyz0123456789"
# `any` stands for every snow; it is a word of the format and no id.
FORMAT_WORDS = {"any"}


def all_ids() -> list[str]:
    known = catalogue()
    found = {
        *known.names, *known.drill_by_id, *known.skill_by_id, *known.vocab.snow_ids,
        *(hazard.id for place in scenarios() for hazard in place.hazards),
        *(who.id for place in scenarios() for who in place.reference.learners),
    }  # fmt: skip
    return sorted(found - FORMAT_WORDS)


def new_names(seed: int) -> dict[str, str]:
    """Each id with another one: letters and digits by chance, in no order of the old ones, none given twice."""
    chance = random.Random(seed)
    fresh: set[str] = set()
    while len(fresh) < len(all_ids()):
        fresh.add("q" + "".join(chance.choice(IDS) for _ in range(8)))
    shuffled = sorted(fresh)
    chance.shuffle(shuffled)
    return dict(zip(all_ids(), shuffled, strict=True))


def renamed(value: Any, names: dict[str, str]) -> Any:
    """The same data with every id replaced, as value and as key of a table; keys of the format stay."""
    if isinstance(value, str):
        return names.get(value, value)
    if isinstance(value, dict):
        return {
            (names.get(key, key) if key in catalogue().vocab.snow_ids else key): renamed(item, names)
            for key, item in value.items()
        }
    if isinstance(value, (list, tuple)):
        return [renamed(item, names) for item in value]
    return value


def other_world(names: dict[str, str]) -> tuple[tuple[Scenario, ...], Catalogue]:
    plain = {name: getattr(catalogue(), name) for name in Catalogue.model_fields}
    dumped = json.loads(json.dumps({
        name: [one.model_dump(mode="json") for one in part] if isinstance(part, tuple) else part.model_dump(mode="json")
        for name, part in plain.items()
    }))  # fmt: skip
    places = tuple(
        Scenario.model_validate(renamed(place.model_dump(mode="json", by_alias=True), names)) for place in scenarios()
    )
    return places, Catalogue.model_validate(renamed(dumped, names))


def numbers(value: Any) -> Any:
    """Numbers, words of the format and lengths of lists; ids and sentences only as how many there are."""
    if isinstance(value, dict):
        return {key: numbers(item) for key, item in value.items() if key != "why"}
    if isinstance(value, (list, tuple)):
        return [numbers(item) for item in value]
    return "text" if isinstance(value, str) else value


def read(places: tuple[Scenario, ...], known: Catalogue) -> Any:
    """All readings, unrounded, without what a guess gets."""
    return numbers([asdict(read_lesson(one, place, known, {})) for place in places for one in place.lessons])


@lru_cache
def as_named() -> Any:
    return read(scenarios(), catalogue())


def alike(one: Any, other: Any) -> bool:
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(alike(one[key], other[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(alike(a, b) for a, b in zip(one, other, strict=True))
    return other == pytest.approx(one, abs=1e-12) if isinstance(one, float) else bool(one == other)


@drawn(st.integers(0, 2**32))
@settings(deadline=None, max_examples=8, suppress_health_check=[HealthCheck.too_slow])
def test_other_names_change_no_number_of_any_reading(seed: int) -> None:
    places, known = other_world(new_names(seed))
    assert alike(as_named(), read(places, known))


def test_the_renamed_world_really_has_other_names() -> None:
    names = new_names(1)
    places, known = other_world(names)
    text = json.dumps([place.model_dump(mode="json") for place in places]) + known.model_dump_json()
    for name in all_ids():
        assert f'"{name}"' not in text, name


def test_other_names_change_nothing_of_what_a_guess_and_the_stock_answer_get() -> None:
    names = new_names(7)
    places, known = other_world(names)
    before, after = guesses_for(scenarios(), catalogue()), guesses_for(places, known)
    assert len(before) == len(after) > 4
    for (place, who), guess in before.items():
        other = after[place, names[who]]
        assert other.chance_mean == pytest.approx(guess.chance_mean)
        assert other.chance_p95 == pytest.approx(guess.chance_p95)
        assert other.stock_answer == pytest.approx(guess.stock_answer)
        assert {tuple(names[name] for name in answer) for answer in guess.stock_names} == set(other.stock_names)


def test_the_order_of_scenarios_in_a_file_changes_no_reading() -> None:
    forward = {read.lesson: read for read in read_scenarios(scenarios(), catalogue())}
    backward = {read.lesson: read for read in read_scenarios(scenarios()[::-1], catalogue())}
    assert PRACTICE.exists() and forward.keys() == backward.keys()
    one, other = (
        to_json([found[name] for name in sorted(found)], catalogue().settings)["lessons"]
        for found in (forward, backward)
    )
    assert numbers(one) == numbers(other)
