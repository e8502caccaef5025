"""The schemas as they are published in docs/schemas: what they say of the files that are shipped, and what only the
program finds: each such rule by its name (`model_rules.py`), and no other."""

from __future__ import annotations

import copy
import json
from collections import Counter
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from pydantic import BaseModel, ValidationError

from assess.desk.schemas import SCHEMA_NAMES, model_of, schema
from tests.cli.commands import ROOT, assess
from tests.desk.model_rules import RULES, SAID, Rule
from tests.desk.sample_documents import DOCUMENTS, shipped_files, yaml_as_json
from tests.desk.test_schemas import SEED, mutated

PUBLISHED = ROOT / "docs" / "schemas"
MODELS: dict[str, type[BaseModel]] = {name: model for name in SCHEMA_NAMES if (model := model_of(name)) is not None}
BY_MODEL_ALONE = {(rule.schema, rule.rule) for rule in RULES}


def check_of(name: str) -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(schema(name), format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER)


def refused(name: str, document: Any) -> list[str] | None:
    """What the program tells against a document; None where it takes it."""
    try:
        if name == "rubric-package":
            MODELS[name].model_validate_json(json.dumps(document))
        else:
            MODELS[name].model_validate(document)
    except ValidationError as error:
        return [str(one["msg"]) for one in error.errors()]
    return None


@pytest.mark.parametrize("name", SCHEMA_NAMES)
def test_the_published_schema_is_what_the_program_prints(name: str) -> None:
    published = (PUBLISHED / f"{name}.json").read_text(encoding="utf-8")
    assert published == json.dumps(schema(name), ensure_ascii=False, indent=1) + "\n", (
        f"a model changed: `assess schema {name} > docs/schemas/{name}.json` publishes it anew"
    )


def test_nothing_else_is_published() -> None:
    assert {path.stem for path in PUBLISHED.iterdir()} == set(SCHEMA_NAMES)


def test_every_file_that_is_shipped_fits_schema_and_model() -> None:
    found = shipped_files()
    assert len(found) == 30 and {"settings", "season", "round", "reference", "quality"} <= {name for name, _ in found}
    for name, path in found:
        assert name != "?", f"{path}: a kind of file without a schema"
        document = yaml_as_json(path)
        assert [error.message for error in check_of(name).iter_errors(document)] == [], path
        assert refused(name, document) is None, path


def test_every_shipped_ledger_fits_the_schemas_of_header_and_entry() -> None:
    """All headers; of each kind of entry the first dozen of every sample."""
    header, entry = check_of("header"), check_of("entry")
    looked_at: Counter[tuple[str, str]] = Counter()
    for path in sorted((ROOT / "sample_sessions").glob("*/*/*.yaml")):
        rows = path.read_bytes().split(b"\n")
        if rows[0] != b"# assess ledger 1":
            continue
        header.validate(json.loads(rows[1].removeprefix(b"header: ")))
        for row in rows[3:-1]:
            line = json.loads(row.removeprefix(b"- "))
            place = (path.parts[-3], line["kind"])
            looked_at[place] += 1
            if looked_at[place] <= 12:
                entry.validate(line)
    assert len({kind for _, kind in looked_at}) > 15 and sum(looked_at.values()) > 2000


def test_every_file_that_is_made_new_fits_schema_and_model(tmp_path: Path) -> None:
    for what, name in (
        ("course", "c"),
        ("round", "r"),
        ("quality", "quality.yaml"),
        ("rubric", "own.yaml"),
        ("lesson", "l.yaml"),
    ):
        ran = assess("new", what, tmp_path / name, "--json")
        assert ran.code == 0, ran.err
        for file in map(Path, ran.json["made"]):
            kind = "rubric" if file.parent.name == "rubrics" else what if what in ("rubric", "lesson") else file.stem
            document = yaml_as_json(file)
            assert [error.message for error in check_of(kind).iter_errors(document)] == [], file
            assert refused(kind, document) is None, file


def test_there_is_a_whole_document_of_every_kind_of_file_that_a_model_reads() -> None:
    assert set(DOCUMENTS) == set(MODELS)
    for name, made in DOCUMENTS.items():
        document = made()
        check_of(name).validate(document)
        assert refused(name, document) is None, name


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: f"{rule.schema}: {rule.says}")
def test_a_rule_that_no_schema_says_is_found_by_the_program_in_these_words(rule: Rule) -> None:
    document = copy.deepcopy(DOCUMENTS[rule.schema]())
    rule.change(document)
    assert [error.message for error in check_of(rule.schema).iter_errors(document)] == []
    told = refused(rule.schema, document)
    assert told and all(rule.says in one for one in told), told


@pytest.mark.parametrize("name", sorted(MODELS))
def test_every_rule_of_a_model_is_named_as_one_the_schema_says_or_does_not(name: str) -> None:
    rules = functions(MODELS[name].__pydantic_core_schema__, set())
    named = {rule for schema_name, rule in BY_MODEL_ALONE if schema_name == name}
    assert {rule for rule in rules if rule not in SAID} == named


def test_a_rule_that_is_said_is_one_of_a_model() -> None:
    from assess.records.ledger import Header

    models: list[type[BaseModel]] = [*MODELS.values(), Header]
    assert set(SAID) <= {rule for model in models for rule in functions(model.__pydantic_core_schema__, set())}


def functions(node: Any, seen: set[int]) -> set[str]:
    """The names of the functions that look at values while a model reads."""
    if not isinstance(node, dict | list | tuple) or id(node) in seen:
        return set()
    seen.add(id(node))
    inside = node.items() if isinstance(node, dict) else enumerate(node)
    found = {name for key, value in inside if key != "serialization" for name in functions(value, seen)}
    if isinstance(node, dict) and str(node.get("type", "")).startswith("function-"):
        function = node["function"]
        found.add((function["function"] if isinstance(function, dict) else function).__qualname__)
    return found


@pytest.mark.parametrize("name", sorted(MODELS))
def test_what_the_program_takes_the_schema_takes_and_what_it_alone_refuses_is_a_named_rule(name: str) -> None:
    document, check = short(DOCUMENTS[name]()), check_of(name)
    words = [rule.says for rule in RULES if rule.schema == name]
    strict, by_program = 0, 0
    times = 150 if len(json.dumps(document)) < 20_000 else 50
    for number in range(times):
        changed = mutated(document, SEED + number)
        by_schema, told = check.is_valid(changed), refused(name, changed)
        assert by_schema or told is not None, (number, [error.message for error in check.iter_errors(changed)])
        strict += not by_schema
        if by_schema and told is not None:
            by_program += 1
            unnamed = [one for one in told if not any(word in one for word in words)]
            assert unnamed == [], (number, unnamed)
    assert strict >= times / 5 and by_program <= times / 4


def short(document: dict[str, Any]) -> dict[str, Any]:
    """The document with at most two entries in each of its lists: quicker to read, and each is changed more often."""
    return {key: value[:2] if isinstance(value, list) else value for key, value in document.items()}
