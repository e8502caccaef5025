"""Pages from what the desk gathers: whom they are for, what they say first, the same bytes each time."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assess.desk.pages import page_files, page_of
from assess.records.errors import Refusal, UsageError
from assess.reports.document import Document, Section
from assess.reports.page import as_html
from assess.reports.pdf import as_pdf
from assess.reports.plain import as_lines
from tests.cli.commands import assess, tree
from tests.courses import build_course
from tests.desk.quality_courses import groups_file, two_courses
from tests.reports.page_samples import KINDS, SAMPLES

SAMPLE = SAMPLES / "course"


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"result-forty"}))
def test_the_same_record_gives_the_same_bytes(kind: str, documents: dict[str, Document], tmp_path: Path) -> None:
    one, two = as_html(documents[kind]), as_html(KINDS[kind](tmp_path))
    assert one == two
    assert "http://" not in one.replace("http://www.w3.org/", "") and "https://" not in one


@pytest.mark.parametrize("kind", ["result-one", "round-one", "season", "blocks"])
def test_a_page_is_a_pdf_too_to_the_same_bytes(kind: str, files: dict[str, bytes], tmp_path: Path) -> None:
    """`as_pdf` raises for everything the maker of the PDF complains of."""
    assert files[kind].startswith(b"%PDF-1.7") and files[kind] == as_pdf(KINDS[kind](tmp_path))


def titles(sections: tuple[Section, ...]) -> list[str]:
    return [title for section in sections for title in (section.title, *titles(section.sections))]


def text(document: Document) -> str:
    return "\n".join(as_lines(document))


def test_a_result_sheet_says_first_what_is_open_then_everybody_by_module() -> None:
    page = page_of("result", SAMPLE, "D1")
    assert titles(page.document.sections)[:3] == ["What is still open", "Outcomes by module", "Module demo"]
    told = text(page.document)
    assert "Due for moderation, before anything is signed:" in told
    for word in ("\u2713 passed", "\u2717 not passed", "\u2026 open"):
        assert word in told
    assert len(page.document.sections[1].blocks[0].rows) == 10  # type: ignore[union-attr]
    assert page.missing and "without a signed decision" in page.missing[-1]
    assert page.document.audience == "For the directors of the course alone"


def test_a_result_sheet_agrees_with_the_results_command() -> None:
    found = assess("results", SAMPLE, "--as", "D1", "--json").json
    by_module = {section.title.removeprefix("Module "): section for section in KINDS["result"](Path()).sections[2:-1]}
    for place, candidate in enumerate(found["candidates"]):
        for name, module in candidate["modules"].items():
            row = by_module[name].blocks[1].rows[place]  # type: ignore[union-attr]
            assert candidate["id"] in row[0] and row[2] == (module["mean"] or "-")
            assert row[1].split(" ", 1)[1] == module["outcome"].replace("_", " ")


@pytest.mark.parametrize(("kind", "who"), [("result", "A1"), ("result", None), ("quality", "A1"), ("quality", None)])
def test_what_is_for_directors_is_refused_to_others(kind: str, who: str | None) -> None:
    with pytest.raises(Refusal):
        page_of(kind, SAMPLE, who)  # type: ignore[arg-type]


def test_an_assessor_gets_their_own_page_and_no_other() -> None:
    page = page_of("assessor", SAMPLE, "A2")
    assert page.audience == "person" and "Fen Marlowe" in page.document.title
    told = text(page.document)
    assert not [who for who in ("A1", "A3", "A4") if who in told]
    with pytest.raises(Refusal, match="only their own page"):
        page_of("assessor", SAMPLE, "A2", about="A3")


def test_a_director_names_the_assessor() -> None:
    assert page_of("assessor", SAMPLE, "D1", about="A3").audience == "director"
    with pytest.raises(UsageError, match="which assessor"):
        page_of("assessor", SAMPLE, "D1")
    with pytest.raises(UsageError, match="A9 is no assessor"):
        page_of("assessor", SAMPLE, "D1", about="A9")
    with pytest.raises(UsageError):
        page_of("result", SAMPLE, "D1", about="C01")
    with pytest.raises(UsageError):
        page_of("result", SAMPLE, "D1", on="2026-01-01")


def test_every_number_of_an_assessor_has_its_interval_and_what_it_rests_on() -> None:
    document = KINDS["assessor"](Path())
    (table,) = [
        block
        for section in document.sections
        for inner in section.sections
        for block in inner.blocks
        if getattr(block, "caption", "").startswith("What was looked at")
    ]
    for row in table.rows:  # type: ignore[union-attr]
        assert row[4].startswith("n ") and (row[2] == "not known") == (row[3] == "-"), row


def test_a_round_shows_an_assessor_only_themselves() -> None:
    page = page_of("round", SAMPLES / "calibration", "A3")
    assert page.audience == "person" and page.name.endswith("-A3")
    assert not [who for who in ("Rook Hallam", "Fen Marlowe", "Yara Kolsen") if who in text(page.document)]
    with pytest.raises(Refusal):
        page_of("round", SAMPLES / "calibration", None)


def test_a_season_without_locks_compares_nothing(tmp_path: Path) -> None:
    from tests.seasons import build_season, mark_film

    root = build_season(tmp_path / "season", films=1)
    mark_film(root, "M1", "F1", (4, 4, 4, 4))
    page = page_of("season", root, "TR")
    assert page.missing == ("no comparison yet: F1",)
    assert "Own scores beside" not in text(page.document)
    with pytest.raises(Refusal):
        page_of("season", root, None)


def test_the_command_shows_first_and_writes_once(tmp_path: Path) -> None:
    to = tmp_path / "out"
    words = ("page", SAMPLE, "result", "--as", "D1", "--to", to)
    shown = assess(*words, "--dry-run")
    assert shown.code == 0 and "for the directors of the course alone" in shown.out and not to.exists()
    assert assess(*words, "--json").json["written"] is True
    path = to / "result-K-2026-01.html"
    assert path.read_bytes() == page_files(page_of("result", SAMPLE, "D1"), html=True, pdf=False)[0].content
    assert path.stat().st_mode & 0o777 == 0o600
    path.write_text("mine")
    refused = assess(*words)
    assert refused.code == 1 and path.read_text() == "mine"
    assert assess(*words, "--replace").code == 0 and path.read_text() != "mine"


def test_looking_at_a_page_changes_nothing_in_the_course(tmp_path: Path) -> None:
    root = tmp_path / "course"
    shutil.copytree(SAMPLE, root)
    before = tree(root)
    for words in (("result",), ("assessor", "A1"), ("quality", "--on", "2026-11-30")):
        assert assess("page", root, *words, "--as", "D1").code == 0
    assert tree(root) == before


def test_a_course_without_a_locked_sheet_has_a_result_sheet_all_the_same(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=1)
    page = page_of("result", root, "D1")
    assert page.document.dated == "2026-02-02"
    assert "not signed" in text(page.document)


def test_a_page_looks_at_as_many_courses_as_the_command_of_its_name(tmp_path: Path) -> None:
    first, second = two_courses(tmp_path / "body")
    told = groups_file(tmp_path / "body")
    words = ("--on", "2026-11-30", "--same-assessors", "--groups", told, "--as", "D1")
    command = assess("quality", first, second, *words, "--replicates", "100", "--json").json
    page = assess("page", first, "quality", "--also", second, *words, "--json").json
    assert len(command["courses"]) == 2
    for course in command["courses"]:
        assert any(course["id"] in line for line in page["lines"])
    groups = command["groups"]["groupings"]
    assert groups and all(any(one["name"] in line for line in page["lines"]) for one in groups)
    alone = assess("page", first, "quality", "--on", "2026-11-30", "--as", "D1", "--json").json
    assert alone["lines"] != page["lines"]

    both = assess("assessors", first, second, "--same-assessors", "--as", "D1", "--json").json
    one = assess("page", first, "assessor", "A1", "--also", second, "--same-assessors", "--as", "D1", "--json").json
    assert len(both["courses"]) == 2
    assert all(any(course["course"] in line for line in one["lines"]) for course in both["courses"])


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("result", ("--also", SAMPLE)),
        ("round", ("--same-assessors",)),
        ("assessor", ("A1", "--groups", "groups.yaml")),
        ("season", ("--groups", "groups.yaml")),
    ],
)
def test_a_page_about_one_folder_takes_no_more(kind: str, words: tuple[str | Path, ...]) -> None:
    ran = assess("page", SAMPLE, kind, *words, "--as", "D1")
    assert (ran.code, ran.out) == (2, "") and "leave" in ran.err
