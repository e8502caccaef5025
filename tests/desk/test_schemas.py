"""Every schema is a valid JSON Schema 2020-12, takes what the program writes, and agrees with the models that read."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from pydantic import ValidationError

from assess.desk.schemas import DIALECT, SCHEMA_NAMES, schema
from assess.records.errors import UsageError
from assess.records.ledger import Header
from assess.store.chain import chained_bytes
from assess.store.ledger_file import parse_ledger
from assess.store.lines import decode_line, decode_object, encode_line
from assess.store.yaml_file import read_yaml
from tests.courses import RUBRIC, build_course, open_desk
from tests.store.signed_course import signed_course

SEED = 20270203


def validator(name: str) -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(schema(name))


@pytest.fixture
def marked(tmp_path: Path) -> Path:
    """A course with a marked sheet of each kind, a day's record and a seal."""
    root = build_course(tmp_path / "course", names=["Ünal [x]"], tasks=("T1", "T4"))
    desk = open_desk(root)
    sheet = desk.slot("T1", "C01")
    sheet.view("side")
    sheet.score("over-feet", 2)
    sheet.note("tails wash \u2028 left", ("over-feet",), tags=("tails",), direction="against")
    sheet.not_observed("edging", "fog")
    sheet.not_applicable("line", "no lane set")
    sheet.breach(None, "past a rope", "top", "the learner")
    sheet.undo()
    sheet.rerun("obstructed")
    sheet.score("speed-control", 6, run=2)
    lesson = desk.lesson("T4", "C01")
    lesson.start(3)
    lesson.seen("plan-and-fit", "for")
    lesson.drill("pizza", slope_deg=4)
    lesson.practise(True)
    lesson.name_fault("weight back", "root")
    lesson.plan("stops", "one cue", "on foot")
    lesson.question(None, "what now?", "prompted")
    lesson.end("time", "lift stopped")
    full = desk.slot("T1", "C02")
    for criterion in full.criteria:
        full.score(criterion, 4)
    full.lock()
    desk.day_book.record_morning(weather="fog", temp_c="-4", bulletin_level="2")
    desk.day_book.bib_change("C01", 77)
    assert desk.close()
    return root


def plain(path: Path, what: str) -> Any:
    """A hand-edited file as JSON has it: keys are text."""
    return json.loads(json.dumps(read_yaml(path, what=what).data))


@pytest.mark.parametrize("name", SCHEMA_NAMES)
def test_every_schema_is_itself_valid(name: str) -> None:
    made = schema(name)
    jsonschema.Draft202012Validator.check_schema(made)
    assert made["$schema"] == DIALECT and name in made["$id"]
    assert json.loads(json.dumps(made)) == made


def test_a_name_that_is_no_schema_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(
        UsageError,
        match="course, people, plan, round, reference, season, keys, public-key, rubric",
    ):
        schema("../course")


def test_what_the_program_writes_and_ships_fits_its_schema(marked: Path) -> None:
    validator("course").validate(plain(marked / "course.yaml", "course"))
    validator("people").validate(plain(marked / "people.yaml", "people"))
    calibration = RUBRIC.parents[2] / "sample_sessions" / "calibration"
    for what in ("round", "reference", "people"):
        validator(what).validate(plain(calibration / f"{what}.yaml", what))
    rubrics = sorted(RUBRIC.parent.glob("r-*.yaml"))
    assert rubrics
    for rubric in rubrics:
        validator("rubric").validate(plain(rubric, "rubric"))
    lines = list(ledger_lines(marked))
    assert {line["kind"] for _, line in lines} >= {"score", "observation", "undo", "lock", "morning", "interval"}
    for header, line in lines:
        validator("header").validate(header)
        validator("entry").validate(line)


def ledger_lines(root: Path) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
    for path in sorted(root.glob("*/*.yaml")):
        if path.parent.name == "rubrics":
            continue
        rows = path.read_bytes().split(b"\n")
        header = decode_object(rows[1].removeprefix(b"header: "))
        yield from ((header, decode_line(row)) for row in rows[3:] if row)


def test_an_erased_entry_fits_the_schema_and_half_an_erasure_does_not(marked: Path) -> None:
    line = next(line for _, line in ledger_lines(marked) if line["kind"] == "observation")
    erased = {("text_sha" if key == "text" else key): value for key, value in line.items() if key != "salt"}
    erased["text_sha"] = "0" * 64
    assert validator("entry").is_valid(erased)
    assert not validator("entry").is_valid({**erased, "salt": line["salt"]})
    assert not validator("entry").is_valid({**erased, "text": "back again", "salt": line["salt"]})
    assert not validator("entry").is_valid({key: value for key, value in line.items() if key != "salt"})


def test_signed_entries_and_the_list_of_keys_fit_their_schemas_and_altered_ones_do_not(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "signed")
    listed = plain(root / "keys.yaml", "keys")
    validator("keys").validate(listed)
    for wrong in ({**listed, "more": 1}, {**listed, "revision": 0}, {**listed, "keys": [{"person": "A1"}]}):
        assert not validator("keys").is_valid(wrong)
    lines = [line for _, line in ledger_lines(root) if "sig" in line]
    assert len(lines) == 7
    for line in lines:
        validator("entry").validate(line)
        for wrong_sig in ("", {}, {**line["sig"], "key": "x"}, {**line["sig"], "more": 1}, {"key": line["sig"]["key"]}):
            assert not validator("entry").is_valid({**line, "sig": wrong_sig})


def test_results_fit_their_schema_hidden_or_not(marked: Path) -> None:
    from assess.desk.outcomes import results_json

    hidden, open_ = (results_json(open_desk(marked, who).outcomes()) for who in ("A1", "D1"))
    assert hidden["candidates"][0]["modules"]["demo"]["outcome"] is None
    assert open_["candidates"][0]["modules"]["demo"]["outcome"] == "open"
    validator("results").validate(hidden)
    validator("results").validate(open_)
    broken = copy.deepcopy(open_)
    broken["candidates"][0]["modules"]["demo"]["outcome"] = "probably"
    assert not validator("results").is_valid(broken)


# --- agreement with the models ---------------------------------------------------------------------

ODD: tuple[Any, ...] = (
    None,
    "",
    "../x",
    "a b",
    "x" * 500,
    -1,
    10_000,
    [],
    {},
    ["../x"],
    {"../x": 1},
    [None],
    "3,5",
    "1e3",
)


def mutated(document: Any, seed: int) -> Any:
    """The document with one thing in it changed, taken out, added or renamed."""
    pick = random.Random(seed)
    changed = copy.deepcopy(document)
    places = list(containers(changed))
    box = pick.choice(places)
    act = pick.choice(("odd", "odd", "drop", "add", "rename"))
    if isinstance(box, list):
        if act == "drop" and box:
            box.pop(pick.randrange(len(box)))
        elif box:
            box[pick.randrange(len(box))] = pick.choice(ODD)
        else:
            box.append(pick.choice(ODD))
    elif act == "add" or not box:
        box[pick.choice(("zz", "level", "id", "erased"))] = pick.choice(ODD)
    else:
        key = pick.choice(sorted(box))
        if act == "odd":
            box[key] = pick.choice(ODD)
        else:
            value = box.pop(key)
            if act == "rename":
                box[f"{key}x"] = value
    return changed


def containers(value: Any) -> Iterator[Any]:
    if isinstance(value, dict | list):
        yield value
        for item in value.values() if isinstance(value, dict) else value:
            yield from containers(item)


def accepted(read: Callable[[Any], object], document: Any) -> bool:
    try:
        read(document)
    except (ValidationError, ValueError):
        return False
    return True


def test_schema_and_reader_agree_on_hundreds_of_changed_headers(marked: Path) -> None:
    headers = [header for header, _ in ledger_lines(marked)]
    check = validator("header")
    for number in range(200):
        changed = mutated(headers[number % len(headers)], SEED + number)
        assert check.is_valid(changed) == accepted(Header.model_validate, changed), changed


def test_schema_and_reader_agree_on_hundreds_of_changed_entries(marked: Path) -> None:
    """The reader's part of an entry: envelope and fact; number, time and chain values are the chain's business."""
    lines = [(header, line) for header, line in ledger_lines(marked)]
    check = validator("entry")
    disagreed = []
    for number in range(600):
        header, line = lines[number % len(lines)]
        changed = mutated(line, SEED + number)
        by_schema = check.is_valid(changed)
        if by_schema != accepted(partial(read_entry, header), changed):
            disagreed.append((number, by_schema, changed))
    assert disagreed == []


def read_entry(header: dict[str, Any], payload: dict[str, Any]) -> None:
    """Read one entry as the only one of a ledger, its chain made to fit. Raises ValueError when it cannot be used."""
    from assess.store.chain import first_link, next_link
    from assess.store.lines import encode_head

    number, at, chain = payload.get("n"), payload.get("at"), payload.get("chain")
    if type(number) is not int or number < 1 or not isinstance(chain, str) or len(chain) != 16:
        raise ValueError("envelope")
    head = encode_head(header)
    whole = {"n": 1, "at": at, **{key: value for key, value in payload.items() if key not in ("n", "at", "chain")}}
    line = encode_line({**whole, "chain": "0" * 16})
    chained, _ = chained_bytes(line.removesuffix(b"\n"), decode_line(line))
    link = next_link(first_link(head), chained)[:16]
    read = parse_ledger(head + encode_line({**whole, "chain": link}), "x")
    if read.problems:
        raise ValueError(read.problems[0].what)
