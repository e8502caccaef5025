"""Every command that makes files to hand on ends alike: shown, written, said; nothing written over unasked."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.commands import assess
from tests.desk.test_letters import signed_course

RUBRIC = Path(__file__).parents[2] / "rubrics" / "alpine-ski" / "r-2026.2.yaml"
COMMANDS: dict[str, tuple[str, ...]] = {
    "letters": ("letters", "{course}", "C01", "--html", "--as", "D1", "--to", "{out}"),
    "cards": ("cards", "{course}", "--for", "A1", "--as", "D1", "--to", "{out}"),
    "page": ("page", "{course}", "result", "--html", "--as", "D1", "--to", "{out}"),
    "export": ("export", "{course}", "--to", "tables", "--as", "D1", "--out", "{out}"),
    "give": ("rubric", "give", str(RUBRIC), "--to", "{out}/rubric.json"),
    "take": ("rubric", "take", "{given}", "--to", "{out}"),
}


@pytest.fixture(scope="module")
def at(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    base = tmp_path_factory.mktemp("handing")
    course = signed_course(base / "c", (4, 4, 4, 4), (5, 4, 4, 4))
    assert assess("rubric", "give", RUBRIC, "--to", base / "given.json").code == 0
    return {"course": str(course), "given": str(base / "given.json")}


@pytest.mark.parametrize("name", COMMANDS)
def test_shown_then_written_then_as_it_was_then_refused(name: str, at: dict[str, str], tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = [word.format(**at, out=out) for word in COMMANDS[name]]
    looked = assess(*words, "--dry-run")
    assert looked.code == 0 and looked.out.endswith("nothing was written\n") and not out.exists(), looked
    made = assess(*words)
    files = sorted(out.iterdir())
    assert made.code == 0 and f"written: {len(files)}\n" in made.out and files
    shown = looked.out.removesuffix("nothing was written\n")
    assert made.out.startswith(shown), "what is written was shown before"
    again = assess(*words)
    assert f"written: 0, as they were: {len(files)}\n" in again.out
    files[0].write_bytes(b"mine")
    refused = assess(*words)
    assert refused.code == 1 and "--replace" in refused.err and "different" in refused.out
    assert files[0].read_bytes() == b"mine"
    told = json.loads(assess(*words, "--json", "--replace").out)
    assert told["written"] is True and {item["was"] for item in told["files"]} <= {"same", "different"}
    assert files[0].read_bytes() != b"mine"


@pytest.mark.parametrize("name", ["letters", "cards"])
def test_a_look_needs_no_folder_and_writing_does(name: str, at: dict[str, str]) -> None:
    words = [word.format(**at, out="") for word in COMMANDS[name][:-2]]
    assert assess(*words, "--dry-run").out.endswith("nothing was written\n")
    nowhere = assess(*words)
    assert nowhere.code == 2 and "--to" in nowhere.err


def test_a_look_at_a_page_needs_no_folder(at: dict[str, str]) -> None:
    words = [word.format(**at, out="") for word in COMMANDS["page"] if word not in ("--to", "{out}")]
    assert assess(*words, "--dry-run").out.endswith("nothing was written\n")
