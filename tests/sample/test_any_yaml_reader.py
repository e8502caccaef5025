"""Every ledger of the sample course opens in any YAML 1.2 reader and says there what it says here."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from assess.store.ledger_file import read_ledger

COURSE = Path(__file__).resolve().parent.parent.parent / "sample_sessions" / "course"
LEDGERS = sorted(
    path for folder in ("sheets", "days", "decisions", "seals") for path in (COURSE / folder).glob("*.yaml")
)


def test_there_are_ledgers_to_read() -> None:
    assert len(LEDGERS) > 120


@pytest.mark.parametrize("kind", ["safe", "rt"])
def test_every_ledger_of_the_sample_course_reads_the_same_three_ways(kind: str) -> None:
    reader = YAML(typ=kind, pure=kind == "rt")
    for path in LEDGERS:
        raw = path.read_bytes()
        lines = [json.loads(line[2:]) for line in raw.split(b"\n") if line.startswith(b"- ")]
        whole = reader.load(raw.decode("utf-8"))
        assert json.loads(json.dumps(whole["entries"])) == lines, path.name
        ours = read_ledger(path)
        assert ours.problems == ()
        assert [entry.n for entry in ours.ledger.entries] == [line["n"] for line in lines]
        assert dict(whole["header"]) == ours.ledger.header.payload()
