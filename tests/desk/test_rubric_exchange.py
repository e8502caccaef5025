"""A rubric out as a CASE 1.1 package and in again: valid, equal, and honest about what is lost."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from assess.desk.checking import read_rubric, rubric_findings
from assess.desk.rubric_give import give_rubric, one_line
from assess.desk.rubric_take import read_package, take_rubric
from assess.desk.schemas import schema
from assess.records.errors import InputError, Refusal
from assess.records.rubric import Rubric
from tests.cli.commands import assess
from tests.courses import RUBRIC
from tests.marking.drawn import rubrics

SHIPPED = sorted(RUBRIC.parents[1].glob("*/r-*.yaml"))
SCHEMA = jsonschema.Draft202012Validator(
    schema("rubric-package"), format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
)
TEXT = st.text("ab Zé日'\"\\:#{}[],&*!|>%@`-?0.5~=" + "\U0001f3bf", max_size=12)


def packed(path: Path = RUBRIC) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(give_rubric(read_rubric(path)[0]).raw)
    return told


def taken_back(raw: bytes, folder: Path) -> Rubric:
    file = folder / "package.json"
    file.write_bytes(raw)
    again = folder / "again.yaml"
    again.write_bytes(take_rubric(read_package(file)).raw)
    return read_rubric(again)[0]


def foreign(document: dict[str, Any]) -> dict[str, Any]:
    """The same without anything of ours."""
    bare = copy.deepcopy(document)
    for rubric in bare["CFRubrics"]:
        del rubric["extensions"]
        for criterion in rubric["CFRubricCriteria"]:
            del criterion["extensions"]
    return bare


def places(value: Any, where: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield where
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield from places(item, (*where, key))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_shipped_rubric_comes_back_equal_and_its_package_is_valid(path: Path, tmp_path: Path) -> None:
    rubric, _ = read_rubric(path)
    out = give_rubric(rubric)
    SCHEMA.validate(json.loads(out.raw))
    assert taken_back(out.raw, tmp_path) == rubric
    assert out.raw == give_rubric(read_rubric(path)[0]).raw


def test_identifiers_are_of_version_5_stand_once_and_change_with_what_the_rubric_says() -> None:
    def identifiers(document: Any) -> list[str]:
        return [item["identifier"] for item in things(document)]

    def things(value: Any) -> Iterator[dict[str, Any]]:
        if isinstance(value, dict):
            if "identifier" in value:
                yield value
            for item in value.values():
                yield from things(item)
        elif isinstance(value, list):
            for item in value:
                yield from things(item)

    document = packed()
    found = identifiers(document)
    assert len(found) == len(set(found)) == 2 + 7 * len(read_rubric(RUBRIC)[0].criteria)
    assert all(item[14] == "5" for item in found)
    assert all(thing["uri"] == f"urn:uuid:{thing['identifier']}" for thing in things(document))
    other = read_rubric(RUBRIC)[0].model_copy(update={"note": "one word more"})
    assert not set(found) & set(identifiers(json.loads(give_rubric(other).raw)))


def test_the_date_is_that_of_the_rubric_or_a_fixed_one_and_never_the_clocks() -> None:
    rubric, _ = read_rubric(RUBRIC)
    assert rubric.band
    newest = max(error.date for error in rubric.band.sheet_error.values())
    assert packed()["CFDocument"]["lastChangeDateTime"] == f"{newest}T00:00:00Z"
    undated = give_rubric(rubric.model_copy(update={"band": None}))
    assert undated.package.CFDocument.lastChangeDateTime == "1970-01-01T00:00:00Z"


@given(
    rubrics(),
    st.fixed_dictionaries({"title": TEXT, "note": TEXT}),
    st.lists(TEXT, min_size=6, max_size=6),
    st.lists(TEXT.map(lambda text: text[:24]), min_size=4, max_size=4),
)
@settings(
    max_examples=20,
    deadline=None,
    phases=(Phase.explicit, Phase.generate),
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_whatever_a_rubric_says_it_comes_back_equal(
    tmp_path: Path, rubric: Rubric, said: dict[str, str], words: list[str], labels: list[str]
) -> None:
    criteria = {
        name: criterion.model_copy(update={"text": word, "label": label, "levels": dict(enumerate(words, 1))})
        for (name, criterion), word, label in zip(rubric.criteria.items(), words, labels, strict=False)
    }
    scale = rubric.scale.model_copy(update={"words": dict(enumerate(words, 1))})
    rubric = Rubric.model_validate(
        rubric.model_copy(update={**said, "scale": scale, "criteria": criteria}).model_dump(mode="json")
    )
    out = give_rubric(rubric)
    document = json.loads(out.raw)
    SCHEMA.validate(document)
    assert taken_back(out.raw, tmp_path) == rubric
    # What the standard itself carries is there without our extensions too.
    bare = take_rubric(read_again(foreign(document), tmp_path))
    assert [item["text"] for item in bare.values["criteria"].values()] == [c.text for c in rubric.criteria.values()]
    assert [item["levels"] for item in bare.values["criteria"].values()] == [c.levels for c in rubric.criteria.values()]
    assert bare.values["title"] == one_line(rubric.title)


def read_again(document: dict[str, Any], folder: Path) -> Any:
    file = folder / "again.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    return read_package(file)


def test_what_another_program_changed_in_the_standards_own_fields_counts(tmp_path: Path) -> None:
    document = packed()
    rubric = document["CFRubrics"][0]
    first = rubric["CFRubricCriteria"][0]
    first["description"], first["weight"] = "Another question?", 2.5
    first["CFRubricCriterionLevels"][0]["description"] = "another sentence"
    rubric["title"] = "Another title"
    again = taken_back(json.dumps(document).encode(), tmp_path)
    name = first["extensions"]["assess"]["id"]
    assert (again.title, again.criteria[name].text, str(again.weight(name))) == (
        "Another title",
        "Another question?",
        "5/2",
    )
    assert again.criteria[name].levels[1] == "another sentence"
    assert again.tasks == read_rubric(RUBRIC)[0].tasks


def test_a_foreign_package_names_what_is_missing_and_the_check_says_so_too(tmp_path: Path) -> None:
    document = foreign(packed())
    document["CFItems"] = [
        {"identifier": "11111111-1111-4111-8111-111111111111", "uri": "https://example.org/1",
         "lastChangeDateTime": "2024-05-05T10:00:00+02:00", "fullStatement": "Stops safely"}
    ]  # fmt: skip
    document["CFRubrics"][0]["CFRubricCriteria"][1]["CFRubricCriterionLevels"][0]["score"] = 0.5
    document["CFRubrics"][0]["CFRubricCriteria"][2]["CFRubricCriterionLevels"][0]["feedback"] = "Look up."
    taken = take_rubric(read_again(document, tmp_path))
    assert taken.missing == [
        "the activity", "the modules", "the tasks", "how much of a sheet must be observed",
        "when two sheets are due for moderation", "the pass line of the scale",
    ]  # fmt: skip
    assert [what.split(":")[0] for what in taken.left] == [
        "1 CFItems", "the points of criterion 2", "the feedback texts of the levels of criterion 3",
    ]  # fmt: skip
    file = tmp_path / "foreign.yaml"
    file.write_bytes(taken.raw)
    with pytest.raises(InputError) as refused:
        rubric_findings(file)
    told = str(refused.value)
    assert all(f"`{key}`" in told for key in ("activity", "modules", "tasks", "coverage", "two_markers", "pass_line"))


def test_a_bad_package_is_refused_with_the_place(tmp_path: Path) -> None:
    def refused(change: Any) -> str:
        document = packed()
        change(document)
        assert not SCHEMA.is_valid(document)
        with pytest.raises(InputError) as error:
            read_again(document, tmp_path)
        return str(error.value)

    def first(document: dict[str, Any]) -> dict[str, Any]:
        found: dict[str, Any] = document["CFRubrics"][0]["CFRubricCriteria"][0]
        return found

    where = "CFRubrics[1].CFRubricCriteria[1]"
    v7 = "0190a5b2-0000-7000-8000-000000000000"
    assert f"{where}.identifier" in refused(lambda d: first(d).update(identifier=v7))
    assert f"{where}.identifier" in refused(lambda d: first(d).update(identifier="x" + first(d)["identifier"]))
    assert f"{where}.critical: is not known" in refused(lambda d: first(d).update(critical=True))
    assert f"{where}.uri" in refused(lambda d: first(d).update(uri="no address"))
    assert f"{where}.weight" in refused(lambda d: first(d).update(weight="heavy"))
    assert f"{where}.lastChangeDateTime" in refused(lambda d: first(d).update(lastChangeDateTime="2024-01-01"))
    level = f"{where}.CFRubricCriterionLevels[1]"
    assert f"{level}.extensions" in refused(lambda d: first(d)["CFRubricCriterionLevels"][0].update(extensions={}))
    assert "CFDocument.creator: is missing" in refused(lambda d: d["CFDocument"].pop("creator"))
    assert "CFDocument.caseVersion" in refused(lambda d: d["CFDocument"].update(caseVersion="1.0"))


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "is not JSON"), (b"[]", "is not a JSON object"), (b'{"CFDocument": {}, "CFDocument": {}}', "a key twice"),
        (b'{\n "CFDocument": }', ":2: is not JSON"), (b'{"a": NaN}', "a number JSON does not know"),
        (b'{"a": 1e999}', "too large"), (b'{"a": "\\ud800"}', "half of a character pair"),
        (b"\xff\xfe", "is not UTF-8"), (b'{"a":' + b"[" * 100_000, "nested deeper"),
        (b'{"CFDocument": {}} x', "goes on after its JSON"),
    ],
)  # fmt: skip
def test_a_hostile_file_is_refused_and_nothing_is_written(raw: bytes, said: str, tmp_path: Path) -> None:
    file = tmp_path / "bad.json"
    file.write_bytes(raw)
    ran = assess("rubric", "take", file, "--to", tmp_path / "out")
    assert ran.code == 3 and said in ran.err and str(file) in ran.err
    assert "Traceback" not in ran.err and not (tmp_path / "out").exists()


def test_extensions_that_are_not_as_ours_are_read_as_another_programs(tmp_path: Path) -> None:
    """Every place of what our own export put into extensions, spoilt: read or refused, never a crash."""
    document = packed(SHIPPED[-1])
    own = [
        place for place in places(document)
        if "extensions" in place and len(place) < 8 and ("CFRubricCriteria" not in place or place[3] == 0)
    ]  # fmt: skip
    assert len(own) > 30
    for place in own:
        for bad in (None, [1]):
            broken = copy.deepcopy(document)
            inner = broken
            for part in place[:-1]:
                inner = inner[part]
            inner[place[-1]] = bad
            try:
                taken = take_rubric(read_again(broken, tmp_path))
                file = tmp_path / "spoilt.yaml"
                file.write_bytes(taken.raw)
                rubric_findings(file)
            except InputError as refused:
                assert str(refused)


def test_a_number_the_package_does_not_have_is_refused(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="has 1 rubrics, and no number 2"):
        take_rubric(read_again(packed(), tmp_path), 2)
    with pytest.raises(Refusal, match="has 0 rubrics"):
        take_rubric(read_again({"CFDocument": packed()["CFDocument"]}, tmp_path))


def test_the_commands_say_what_is_lost_and_write_only_when_told(tmp_path: Path) -> None:
    out = tmp_path / "r.json"
    looked = assess("rubric", "give", RUBRIC, "--to", out, "--dry-run")
    assert looked.code == 0 and "for anyone: it names nobody" in looked.out
    assert "only in our extensions: the must-nots" in looked.out and not out.exists()
    done = assess("rubric", "give", RUBRIC, "--to", out, "--creator", "House of the Slope", "--json")
    assert done.json["written"] and len(done.json["not_carried"]) == 18
    assert json.loads(out.read_text(encoding="utf-8"))["CFDocument"]["creator"] == "House of the Slope"
    back = assess("rubric", "take", out, "--to", tmp_path / "in")
    assert back.code == 0 and "written: 1" in back.out
    assert read_rubric(tmp_path / "in" / "r-2026.1.yaml")[0] == read_rubric(RUBRIC)[0]
    bare = tmp_path / "bare.json"
    bare.write_text(json.dumps(foreign(packed())), encoding="utf-8")
    lacking = assess("rubric", "take", bare, "--to", tmp_path / "bare", "--json")
    assert lacking.code == 1 and "the pass line of the scale" in lacking.json["files"][0]["missing"]
