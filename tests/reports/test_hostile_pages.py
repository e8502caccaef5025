"""Pages with hostile texts in a browser: no script runs, nothing is asked for, the page stays, the text is read."""

from __future__ import annotations

import html
import json
import os
import re
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from assess.desk.cards import card_set
from assess.desk.case_page import case_html
from assess.desk.case_record import case_record
from assess.desk.pages import page_of
from assess.reports.card_page import cards_html
from assess.reports.document import Block, Document, Listing, Note, Section, Table, Text
from assess.reports.page import as_html
from tests.courses import open_desk
from tests.reports.hostile import FORMULAS, HOSTILE, SCRIPTS
from tests.reports.hostile_course import NAMES, hostile_course, hostile_letter, hostile_round, hostile_season

HERE = Path(__file__).resolve().parent
CHROMIUM = shutil.which("chromium")


def there() -> bool:
    folders = [Path(folder) for folder in os.environ.get("NODE_PATH", "").split(os.pathsep) if folder]
    driver = any((folder / "playwright-core").is_dir() for folder in folders)
    return shutil.which("node") is not None and CHROMIUM is not None and driver


def document() -> Document:
    """Every text in every place of a page that takes one."""
    cells = tuple((text, text) for text in HOSTILE)
    blocks: tuple[Block, ...] = (
        *(Text(text) for text in HOSTILE),
        *(Note(text, "missing") for text in HOSTILE),
        *(Note(text, "words") for text in HOSTILE),
        Listing(HOSTILE),
        Table(SCRIPTS[0], (SCRIPTS[0], SCRIPTS[1]), cells),
    )
    sections = (Section(SCRIPTS[0], blocks, (Section(SCRIPTS[1], (Text("inside"),)),)),)
    return Document(SCRIPTS[0], SCRIPTS[1], SCRIPTS[2], "2027-03-28", sections, "en", HOSTILE)


def pages(folder: Path) -> dict[str, str]:
    """Every page there is, of a course whose names and notes are hostile."""
    root = hostile_course(folder / "hostile")
    director = open_desk(root, "D1")
    made = {"document": as_html(document()), "case": case_html(case_record(director, "C01")).decode("utf-8")}
    marker = open_desk(root, "A1", device="p3wzc")
    made["cards"] = cards_html(card_set(marker, "A1", "a6"), "en")
    made["letter"] = hostile_letter(folder).decode("utf-8")
    for desk in (director, marker):
        assert desk.close()
    return {**made, **{name: as_html(page) for name, page in gathered(root, folder).items()}}


def gathered(course: Path, folder: Path) -> dict[str, Document]:
    """The pages of a course, a round and a season, each with hostile names, titles and observations."""
    calibration, season = hostile_round(folder / "round"), hostile_season(folder / "season")
    return {
        "result": page_of("result", course, "D1").document,
        "assessor": page_of("assessor", course, "D1", about="A1").document,
        "agreement": page_of("agreement", course, "D1").document,
        "criteria": page_of("criteria", course, "D1").document,
        "quality": page_of("quality", course, "D1", on="2026-11-30").document,
        "round": page_of("round", calibration, "D1").document,
        "round-one": page_of("round", calibration, "D1", about="A1").document,
        "season": page_of("season", season, "TR").document,
    }


KINDS = "document case cards letter result assessor agreement criteria quality round round-one season"
CARRIED = {
    "case": (NAMES[0], *SCRIPTS),
    "result": NAMES,
    "assessor": SCRIPTS[:2],
    "quality": (*SCRIPTS[:3], FORMULAS[1]),
    "round": SCRIPTS[:2],
    "round-one": (*SCRIPTS[:3], *SCRIPTS[4:7]),
    "season": (*SCRIPTS[:3], SCRIPTS[5]),
}
"""What of the hostile texts a page is known to carry, so that it is seen to be carried as text."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    return pages(tmp_path_factory.mktemp("hostile"))


def opened(files: Sequence[Path]) -> list[dict[str, Any]]:
    words = ["node", str(HERE / "run_no_script.js"), str(CHROMIUM), *map(str, files)]
    ran = subprocess.run(words, capture_output=True, text=True, check=False, timeout=120)
    assert ran.returncode == 0, ran.stderr
    found: list[dict[str, Any]] = json.loads(ran.stdout)
    return found


needs_chromium = pytest.mark.skipif(not there(), reason="chromium, or node with playwright-core, is not there")


@pytest.mark.needs_browser
@needs_chromium
def test_no_page_runs_a_script_asks_for_anything_or_goes_elsewhere(made: dict[str, str], tmp_path: Path) -> None:
    files = [tmp_path / f"{name}.html" for name in made]
    for file in files:
        file.write_text(made[file.stem], encoding="utf-8")
    for one in opened(files):
        assert (one["ran"], one["dialogs"], one["asked"], one["moved"]) == ("undefined", 0, [], False), one["file"]
        assert "<script>window.__ran = 1</script>" in one["text"], one["file"]


@pytest.mark.needs_browser
@needs_chromium
def test_the_same_texts_written_as_they_are_do_all_of_it(tmp_path: Path) -> None:
    """What the test before this one would find: the corpus is alive."""
    bad = tmp_path / "bad.html"
    texts = [text for text in SCRIPTS if "refresh" not in text]
    bad.write_text(f"<!DOCTYPE html><body><script>alert(1)</script>{' '.join(texts)}", encoding="utf-8")
    (one,) = opened([bad])
    assert one["ran"] == "number" and one["dialogs"] == 1 and "http://127.0.0.1:9/x.css" in one["asked"]


def test_every_page_carries_what_was_said_and_written(made: dict[str, str]) -> None:
    assert list(made) == KINDS.split()
    for name, texts in CARRIED.items():
        said = re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", "", made[name])))
        assert [text for text in texts if re.sub(r"\s+", " ", text) not in said] == [], name


def test_no_page_holds_a_tag_a_text_brought_or_a_control_character(made: dict[str, str]) -> None:
    for name, page in made.items():
        low = page.lower()
        assert not any(tag in low for tag in ("<script", "<iframe", "<img src=x", "<svg/", 'onerror="', "<link")), name
        assert not any(ord(char) < 0x20 and char not in "\n\t\r" for char in page), name
        assert not any(char in page for char in "\u202a\u202b\u202d\u202e\u2066\u2067\u2068"), name
