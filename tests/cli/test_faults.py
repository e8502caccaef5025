"""A fault of the program, a reader who leaves, a full disk, odd terminals: a sentence and the right end, always."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.commands import ROOT, assess, assess_process
from tests.courses import build_course, open_desk


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", names=["Secret Name"])


def broken(*_: object, **__: object) -> object:
    quoted = "Secret Name got level 2"
    try:
        raise KeyError(quoted)
    except KeyError as error:
        raise RuntimeError(f"{quoted} in /home/somebody") from error


def test_a_bug_ends_with_70_and_a_report_that_tells_where_and_nothing_of_anybody(
    root: Path, own_folders: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from assess.desk import outcomes

    monkeypatch.setattr(outcomes, "outcome_board", broken)
    ran = assess("results", root, "--as", "D1", "--json")
    assert (ran.code, ran.out) == (70, "")
    (report,) = (own_folders / "state" / "crashes").iterdir()
    assert str(report) in ran.err and "Traceback" not in ran.err
    told = report.read_text(encoding="utf-8")
    assert "KeyError\n" in told and "RuntimeError\n" in told
    assert "assess/cli/outcomes.py:" in told and " print_results" in told and " outcomes" in told
    for secret in ("Secret", "level 2", "somebody", str(root), str(Path.home()), str(ROOT)):
        assert secret not in told + ran.err.replace(str(report), "")


def test_a_report_that_cannot_be_kept_is_printed(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from assess.desk import outcomes

    monkeypatch.setattr(outcomes, "outcome_board", broken)
    (tmp_path / "a file").write_text("x")
    monkeypatch.setenv("ASSESS_STATE_DIR", str(tmp_path / "a file"))
    ran = assess("results", root, "--as", "D1")
    assert ran.code == 70 and "could not be kept" in ran.err and "RuntimeError" in ran.err and "Secret" not in ran.err


def test_two_faults_leave_two_reports(own_folders: Path) -> None:
    from assess.desk.crash import keep_crash

    assert keep_crash(ValueError("x")) != keep_crash(ValueError("x"))
    assert len(list((own_folders / "state" / "crashes").iterdir())) == 2


def test_a_reader_who_has_seen_enough_is_no_fault(root: Path) -> None:
    script = f"{sys.executable} -m assess schema --json | head -c 10 >/dev/null; echo ${{PIPESTATUS[0]}}"
    ran = subprocess.run(["bash", "-c", script], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True)
    assert (ran.stdout, ran.stderr) == ("0\n", "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_output_that_cannot_be_written_is_a_sentence_and_3(root: Path) -> None:
    with open("/dev/full", "w") as full:
        ran = subprocess.run(
            [sys.executable, "-m", "assess", "schema", "--json"],
            cwd=ROOT, stdout=full, stderr=subprocess.PIPE, text=True, timeout=60, check=False,
        )  # fmt: skip
    assert ran.returncode == 3 and "No space left" in ran.stderr and "Traceback" not in ran.stderr


def test_a_terminal_that_knows_ascii_alone_still_gets_every_line(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", names=["Ünal 雪"])
    ran = assess_process("results", root, PYTHONIOENCODING="ascii", PYTHONUTF8="0", LC_ALL="C")
    assert ran.code == 0 and "20 \\xdcnal \\u96ea (C01)" in ran.out
    as_json = assess_process("open", root, "--json", PYTHONIOENCODING="ascii", PYTHONUTF8="0", LC_ALL="C")
    assert as_json.json["candidates"][0]["name"] == "Ünal 雪"


def test_a_name_of_a_file_that_is_no_text_is_shown_and_harms_nothing(tmp_path: Path) -> None:
    folder = os.fsencode(tmp_path) + b"/\xff\x1b[31m"
    Path(os.fsdecode(folder)).mkdir()
    for more in ([], ["--json"]):
        ran = subprocess.run(
            [sys.executable, "-m", "assess", "check", folder, *more],
            cwd=ROOT, capture_output=True, timeout=60, check=False,
        )  # fmt: skip
        assert ran.returncode == 1 and b"\x1b" not in ran.stdout and b"is a folder without course.yaml" in ran.stdout
        assert b"Traceback" not in ran.stderr


def test_a_folder_one_may_not_look_into_is_told(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from assess.desk import opening

    def closed(_path: Path) -> None:
        raise PermissionError(13, "Permission denied", str(root))

    monkeypatch.setattr(opening, "_is_course", closed)
    ran = assess("open", root)
    assert ran.code == 3 and f"{root}: Permission denied" in ran.err
    assert assess("check", root).code == 1


def test_ctrl_c_ends_with_130_and_a_word(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from assess.desk import outcomes

    def stopped(_desk: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(outcomes, "outcome_board", stopped)
    ran = assess("results", root)
    assert ran.code == 130 and ran.out == "" and "Traceback" not in ran.err


def test_a_state_folder_that_cannot_be_written_stops_nobody(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a file").write_text("x")
    monkeypatch.setenv("ASSESS_STATE_DIR", str(tmp_path / "a file" / "state"))
    monkeypatch.setenv("ASSESS_CACHE_DIR", str(tmp_path / "a file" / "cache"))
    assert assess("mark", root / "T1.C01", "edging=4", "--as", "A1").code == 0
    assert [mark.level for mark in open_desk(root).folded("T1", "C01", "A1").marks] == [4]
