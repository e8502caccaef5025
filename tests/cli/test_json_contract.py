"""Every command's JSON has a published schema, and every command's JSON, once at least, is held to it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from assess.cli.app import command
from assess.desk.printed import PRINTED
from assess.desk.schemas import schema
from tests.cli.commands import assess
from tests.cli.every_command import played
from tests.cli.json_contract import GROUPS, closed, hold_to_schema, schema_name


def commands(found: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    """(words, command) of every command there is."""
    inside = getattr(found, "commands", None)
    if inside is None:
        yield path, found
        return
    for name, one in inside.items():
        yield from commands(one, (*path, name))


def test_every_command_with_json_has_a_schema_and_no_schema_is_of_no_command() -> None:
    named = {
        "json-" + "-".join(words)
        for words, one in commands(command(None))
        if any("--json" in option.opts for option in one.params)
    }
    assert len(named) == 63 and named == set(PRINTED)
    assert {words[0] for words, _ in commands(command(None)) if len(words) > 1} == set(GROUPS)


def test_every_command_prints_what_its_schema_says(tmp_path: Path) -> None:
    """Each document is held to its schema as it is printed (`tests.cli.commands.assess`)."""
    ran = {schema_name(words) or "json-schema" for words, found in played(tmp_path) if found.out}
    assert ran == set(PRINTED)


def test_what_a_schema_does_not_say_is_found() -> None:
    with pytest.raises(AssertionError, match="'more' was unexpected"):
        hold_to_schema(["seal", "course", "--json"], '{"course": "K", "by": "D1", "seal": null, "more": 1}')
    with pytest.raises(AssertionError, match="'by' is a required property"):
        hold_to_schema(["seal", "course", "--json"], '{"course": "K", "seal": null}')
    with pytest.raises(AssertionError, match="is not of type"):
        hold_to_schema(["key", "lock", "--json"], '{"locked": "two"}')
    # A reader is told nothing of new keys: the published schema takes them.
    assert jsonschema.Draft202012Validator(schema("json-seal")).is_valid(
        {"course": "K", "by": "D1", "seal": None, "more": 1}
    )


def test_a_refusal_is_in_every_schema() -> None:
    refused = {"refused": {"what": "no", "where": "", "todo": ""}}
    for name in PRINTED:
        assert jsonschema.Draft202012Validator(closed(schema(name)["anyOf"][-1])).is_valid(refused)


def test_a_schema_is_found_under_the_name_it_had_before() -> None:
    assert assess("schema", "results").out == assess("schema", "json-results").out
