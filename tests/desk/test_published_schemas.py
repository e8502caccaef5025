"""The schemas as they are published in docs/schemas, and what they say of the files that are shipped."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from assess.desk.schemas import SCHEMA_NAMES, schema
from assess.records.catalogue import DrillFile, FaultFile, SkillFile, Vocabulary
from assess.records.key_list import PublicKey
from assess.records.measure import MeasureFile
from assess.records.practice import PracticeFile
from assess.store.catalogue_folder import Overlay
from assess.store.yaml_file import read_yaml
from tests.cli.commands import ROOT
from tests.desk.test_schemas import SEED, accepted, mutated

PUBLISHED = ROOT / "docs" / "schemas"
MODELS: dict[str, Any] = {
    "faults": FaultFile, "drills": DrillFile, "skills": SkillFile, "vocab": Vocabulary, "measures": MeasureFile,
    "lesson": PracticeFile, "overlay": Overlay, "public-key": PublicKey,
}  # fmt: skip
CATALOGUES = [(path.stem, path) for path in sorted(ROOT.glob("rubrics/*/catalogue/*.yaml")) if path.stem in MODELS]
LESSONS = [
    ("lesson", path) for path in sorted(ROOT.glob("sample_sessions/**/*.yaml")) if path.parent.name == "practice"
]
LESSONS.append(("lesson", ROOT / "sample_sessions" / "new" / "lesson.yaml"))
NO_OTHER = {
    "overlay": {"off": ["pizza"]},
    "public-key": {"name": "signing", "kind": "ed25519", "made": "2027-01-31", "public": "A" * 43},
}


def check_of(name: str) -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(schema(name), format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER)


def said(path: Path, name: str) -> Any:
    what = "lesson" if name == "lesson" else "catalogue"
    return json.loads(json.dumps(read_yaml(path, what=what).data))


@pytest.mark.parametrize("name", SCHEMA_NAMES)
def test_the_published_schema_is_what_the_program_prints(name: str) -> None:
    published = (PUBLISHED / f"{name}.json").read_text(encoding="utf-8")
    assert published == json.dumps(schema(name), ensure_ascii=False, indent=1) + "\n", (
        f"a model changed: `assess schema {name} > docs/schemas/{name}.json` publishes it anew"
    )


def test_nothing_else_is_published() -> None:
    assert {path.stem for path in PUBLISHED.iterdir()} == set(SCHEMA_NAMES)


@pytest.mark.parametrize(("name", "path"), CATALOGUES + LESSONS, ids=lambda item: getattr(item, "stem", item))
def test_what_is_shipped_fits_schema_and_model(name: str, path: Path) -> None:
    document = said(path, name)
    check_of(name).validate(document)
    MODELS[name].model_validate(document)


def test_the_corpus_of_shipped_files_is_not_empty() -> None:
    assert {name for name, _ in CATALOGUES} == set(MODELS) - {"lesson", "overlay", "public-key"}
    assert len(CATALOGUES) == 10 and len(LESSONS) >= 4


@pytest.mark.parametrize("name", sorted(MODELS))
def test_what_the_schema_refuses_the_model_refuses_too(name: str) -> None:
    """The other way round not quite: rules that tie fields together are the models' alone."""
    files = dict(CATALOGUES + LESSONS)
    document = NO_OTHER[name] if name in NO_OTHER else said(files[name], name)
    check = check_of(name)
    assert check.is_valid(document) and accepted(MODELS[name].model_validate, document)
    refused, taken_by_model_alone, refused_by_model_alone = 0, [], 0
    for number in range(60):
        changed = mutated(document, SEED + number)
        by_schema, by_model = check.is_valid(changed), accepted(MODELS[name].model_validate, changed)
        refused += not by_schema
        refused_by_model_alone += by_schema and not by_model
        if by_model and not by_schema:
            taken_by_model_alone.append(number)
    assert taken_by_model_alone == []
    assert refused >= 15
    assert refused_by_model_alone <= 12
