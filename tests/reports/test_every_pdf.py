"""Every kind of page as the PDF that leaves the tool: tagged as it claims, whole, and nothing runs off the paper."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from assess.reports.document import Block, Document, Section, Table, Text
from assess.reports.page import as_html
from assess.reports.pdf import html_as_pdf
from tests.reports.page_samples import KINDS
from tests.reports.test_pdf import claims_wrong, kinds

EVERY = (*KINDS, "letter-en", "letter-de", "card-run", "card-lesson", "card-levels")
WORD = re.compile(r'<page width="([\d.]+)"|<word xMin="([-\d.]+)" yMin="[-\d.]+" xMax="([-\d.]+)"')
LETTER, PAGE = 14, 16
"""The narrowest margins in mm. What is on cards is cut off on purpose, and looked at box by box with the cards."""

needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not here")
needs_qpdf = pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not here")


def off_the_paper(raw: bytes, margin_mm: float) -> int:
    """How many words begin or end in the margin or beyond it."""
    ran = subprocess.run(["pdftotext", "-bbox", "-", "-"], input=raw, capture_output=True, check=True)
    margin, width, found, words = margin_mm / 25.4 * 72 - 0.5, 0.0, 0, 0
    for page, left, right in WORD.findall(ran.stdout.decode("utf-8")):
        if page:
            width = float(page)
        else:
            words += 1
            found += float(left) < margin or float(right) > width - margin
    assert words > 20
    return found


def test_there_is_a_file_of_every_kind(files: dict[str, bytes]) -> None:
    assert tuple(files) == EVERY


@pytest.mark.parametrize("kind", EVERY)
def test_a_file_holds_what_it_claims(kind: str, files: dict[str, bytes]) -> None:
    assert claims_wrong(files[kind]) == []
    assert {"/H1", "/H2", "/P"} <= kinds(files[kind])
    assert ("/Table" in kinds(files[kind])) == (kind != "card-levels")


@pytest.mark.needs_pdf_tools
@needs_qpdf
@pytest.mark.parametrize("kind", EVERY)
def test_a_file_is_whole(kind: str, files: dict[str, bytes], tmp_path: Path) -> None:
    file = tmp_path / "page.pdf"
    file.write_bytes(files[kind])
    ran = subprocess.run(["qpdf", "--check", str(file)], capture_output=True, text=True, check=False)
    assert ran.returncode == 0 and "No syntax or stream encoding errors" in ran.stdout, ran.stdout + ran.stderr


@pytest.mark.needs_pdf_tools
@needs_poppler
@pytest.mark.parametrize("kind", [kind for kind in EVERY if not kind.startswith("card")])
def test_nothing_runs_off_the_paper(kind: str, files: dict[str, bytes]) -> None:
    assert off_the_paper(files[kind], LETTER if kind.startswith("letter") else PAGE) == 0


@pytest.mark.needs_pdf_tools
@needs_poppler
def test_a_table_that_may_not_bend_runs_off_the_paper() -> None:
    """What the test before this one would find."""
    wide = Table("Wide", tuple(f"column {n}" for n in range(14)), (("Oberhinterwaldenburg",) * 14,))
    html = as_html(Document("Wide", "", "For nobody", "2026-02-05", (Section("One", (wide,)),)))
    assert off_the_paper(html_as_pdf(html), PAGE) == 0
    assert off_the_paper(html_as_pdf(html.replace('class="scroll many"', 'class="scroll"')), PAGE) > 0


@pytest.mark.parametrize("block", [Table("One row", ("what", "n"), (("stance", "4"),)), Text("looked at twice")])
def test_sections_of_one_block_are_not_kept_together(block: Block) -> None:
    """What is kept with what follows it would push everything before it to the next page, were it a section's last."""
    import weasyprint

    sections = tuple(Section(f"Part {number}", (block,)) for number in range(40))
    html = as_html(Document("Many", "", "For nobody", "2026-02-05", (Section("One", (Text("words"),)), *sections)))
    first, *_ = weasyprint.HTML(string=html).render().pages
    titles = [box for box in first._page_box.descendants() if box.element_tag == "h2"]
    assert len(titles) > 5
