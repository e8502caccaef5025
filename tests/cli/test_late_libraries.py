"""A library that is not there, or is there and cannot run, is one plain sentence: exit 3, nothing written."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from assess.desk.demo import sample_course
from assess.records.errors import LibraryTrouble
from assess.reports.library import library
from tests.cli.commands import ROOT, Ran, assess_process

# What NumPy raises inside a library that was built for another version of it.
NUMPY = "numpy.core.multiarray failed to import\n(auto-generated because you didn't call 'numpy.import_array()')"


def with_fake(folder: Path, name: str, source: str, *words: str | Path) -> Ran:
    """The command on a machine where a library is this source."""
    (folder / "fake" / name).mkdir(parents=True)
    (folder / "fake" / name / "__init__.py").write_text(source, encoding="utf-8")
    return assess_process(*words, PYTHONPATH=f"{folder / 'fake'}:{ROOT}")


def told(ran: Ran, out: Path) -> str:
    """The sentence on a command that could not do its work, after the checks that hold for all of them."""
    assert ran.code == 3 and ran.out == "" and not out.exists(), ran.all
    assert "Traceback" not in ran.err and ran.err.count("\n") == 1
    return ran.err


@pytest.mark.parametrize("raised", [f"ImportError({NUMPY!r})", "ValueError('numpy.dtype size changed')", "OSError()"])
def test_an_installed_pyarrow_that_cannot_run_is_told_and_nothing_is_written(raised: str, tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ("export", sample_course(), "--to", "parquet", "--out", out, "--as", "D1")
    said = told(with_fake(tmp_path, "pyarrow", f"raise {raised}", *words), out)
    assert "a Parquet file needs the library pyarrow, which is installed but cannot run here (" in said
    assert "pip install --upgrade 'assess[parquet]'" in said and "--to tables" in said


def test_a_pyarrow_that_is_not_installed_is_told_as_that(tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ("export", sample_course(), "--to", "parquet", "--out", out, "--as", "D1", "--json")
    missing = "raise ModuleNotFoundError(\"No module named 'pyarrow'\", name='pyarrow')"
    said = told(with_fake(tmp_path, "pyarrow", missing, *words), out)
    assert "needs the library pyarrow, which is not installed; `pip install --upgrade 'assess[parquet]'`" in said


BROKEN = "raise ImportError('libfoo.so.1: cannot open shared object file')"


@pytest.mark.parametrize(
    ("name", "words", "makes"),
    [
        ("xlsxwriter", ("export", "{course}", "--to", "workbook", "--out", "{out}"), "a workbook needs"),
        ("icalendar", ("export", "{course}", "--to", "calendar", "--out", "{out}"), "a calendar needs"),
        ("segno", ("cards", "{course}", "--for", "A1", "--to", "{out}"), "a card with its QR code needs"),
        ("weasyprint", ("cards", "{course}", "--for", "A1", "--to", "{out}"), "a PDF needs the library weasyprint"),
        ("jinja2", ("cards", "{course}", "--for", "A1", "--to", "{out}"), "a page needs"),
        ("matplotlib", ("page", "{season}", "season", "--to", "{out}", "--html"), "a page with a chart needs"),
        ("numpy", ("agreement", "{course}"), "a library this needs cannot be used here (libfoo.so.1"),
    ],
)
def test_every_library_that_comes_late_has_its_sentence(
    name: str, words: tuple[str, ...], makes: str, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    season = ROOT / "sample_sessions" / "season"
    asked = [word.format(course=sample_course(), season=season, out=out) for word in words]
    ran = with_fake(tmp_path, name, BROKEN, *asked, "--as", "MT" if "season" in words else "D1")
    assert makes in told(ran, out)


def test_what_a_broken_library_says_is_cut_and_stands_on_one_line() -> None:
    match = r"cannot run here \(x x .{1,130}…\); `pip install --force-re"
    with pytest.raises(LibraryTrouble, match=match) as raised, library("other", "this"):
        raise RuntimeError("x\n" * 500)
    assert "\n" not in raised.value.sentence


def test_a_missing_part_of_an_installed_library_is_not_told_as_a_missing_library() -> None:
    match = r"installed but cannot run here \(No module named 'zzz'\)"
    with pytest.raises(LibraryTrouble, match=match), library("json", "this"):
        import zzz  # type: ignore[import-not-found]
    with pytest.raises(LibraryTrouble, match="the library zzz, which is not installed"), library("zzz", "this"):
        import zzz  # noqa: F401


def test_an_import_of_our_own_that_fails_stays_a_fault_of_the_program(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setitem(sys.modules, "assess.desk.outcomes", None)
    from tests.cli.commands import assess

    ran = assess("results", sample_course(), "--as", "D1")
    assert ran.code == 70 and "fault of the program" in ran.err
