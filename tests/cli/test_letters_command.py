"""`assess letters`: shown first, then written; what stands there is not written over unasked."""

from __future__ import annotations

import json
import stat
from pathlib import Path

from tests.cli.commands import assess
from tests.desk.test_letters import signed_course


def test_the_list_comes_first_and_a_dry_run_stops_there(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "c", (4, 4, 4, 4), (5, 4, 4, 4))
    out = tmp_path / "out"
    run = assess("letters", root, "--to", out, "--as", "D1", "--dry-run", "--html", "--pdf")
    assert run.code == 0 and not out.exists()
    assert run.out.startswith(f"2 files into {out}\n") and run.out.endswith("nothing was written\n")
    assert "missing: nothing to train" in run.out and "left out: C02: nothing is signed" in run.out
    run = assess("letters", root, "C01", "--to", out, "--as", "D1", "--json")
    assert run.code == 0
    told = json.loads(run.out)
    assert told["written"] is True and [item["audience"] for item in told["files"]] == ["candidate"]
    file = out / "letter-C01-en.pdf"
    assert file.read_bytes().startswith(b"%PDF-1.7") and stat.S_IMODE(file.stat().st_mode) == 0o600


def test_other_bytes_are_not_written_over_unasked(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "c", (4, 4, 4, 4), (5, 4, 4, 4))
    out = tmp_path / "out"
    words = ("letters", root, "C01", "--to", out, "--as", "D1", "--html")
    assert assess(*words).out.endswith("written: 1\n")
    assert assess(*words).out.endswith("written: 0, as they were: 1\n")
    (out / "letter-C01-en.html").write_text("mine")
    refused = assess(*words)
    assert refused.code == 1 and "--replace" in refused.err
    assert (out / "letter-C01-en.html").read_text() == "mine"
    assert assess(*words, "--replace").code == 0
    assert (out / "letter-C01-en.html").read_text().startswith("<!DOCTYPE html>")


def test_who_gets_none_is_said_and_is_a_finding(tmp_path: Path) -> None:
    root = signed_course(tmp_path / "c", (4, 4, 4, 4), (5, 4, 4, 4))
    run = assess("letters", root, "C02", "--to", tmp_path / "out", "--as", "D1")
    assert run.code == 1 and "left out: C02: nothing is signed" in run.out and not (tmp_path / "out").exists()
    assert assess("letters", root, "--to", tmp_path / "out", "--as", "A1").code == 1
    assert assess("letters", root, "--as", "D1").code == 2
    assert assess("letters", root, "--to", tmp_path / "out", "--as", "D1", "--language", "fr").code == 2
    assert assess("letters", tmp_path / "none", "--to", tmp_path / "out", "--as", "D1").code == 3
