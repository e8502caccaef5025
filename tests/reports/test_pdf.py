"""PDF/UA-1: what a file claims is looked for in the file (ISO 14289-1), with pikepdf and with qpdf."""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from assess.records.errors import LibraryTrouble
from assess.reports.document import Document, Listing, Note, Picture, Section, Table, Text
from assess.reports.page import as_html
from assess.reports.pdf import UntaggedPage, as_pdf, html_as_pdf, page_count

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><title>Two marks</title>'
    '<rect width="40" height="20"/></svg>'
)
NOTHING: Any = {}
TABLE = Table("Marks", ("what", "n"), (("stance", "4"), ("edge & more", "3")), frozenset({1}))


def document(**changes: Any) -> Document:
    made: dict[str, Any] = {
        "title": "A page <of> Übung",
        "about": "all kinds of blocks",
        "audience": "for a test",
        "dated": "2026-02-10",
        "sections": (
            Section(
                "One",
                (Text("words"), Note("care"), Listing(("a", "b")), TABLE, Picture(SVG, "Two marks", TABLE)),
                (Section("Inside", (Text("אבג عربي 日本"),)),),
            ),
        ),
        "closing": ("the end",),
    }
    return Document(**(made | changes))


def elements(pdf: pikepdf.Pdf) -> Iterator[Any]:
    def walk(node: Any) -> Iterator[Any]:
        if isinstance(node, pikepdf.Dictionary) and "/S" in node:
            yield node
        kids = node.get("/K") if isinstance(node, pikepdf.Dictionary) else None
        for kid in list(kids) if isinstance(kids, pikepdf.Array) else [kids]:
            if isinstance(kid, pikepdf.Dictionary):
                yield from walk(kid)

    yield from walk(pdf.Root.StructTreeRoot)


def claims_wrong(raw: bytes) -> list[str]:
    """What a file that says it is PDF/UA-1 lacks; empty when nothing."""
    wrong = []
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        root: Any = pdf.Root
        if not bool(root.get("/MarkInfo", NOTHING).get("/Marked", False)):
            wrong.append("not marked")
        if not str(root.get("/Lang", "")):
            wrong.append("no language")
        if not bool(root.get("/ViewerPreferences", NOTHING).get("/DisplayDocTitle", False)):
            wrong.append("title not shown")
        with pdf.open_metadata() as meta:
            if not meta.get("dc:title"):
                wrong.append("no title")
            if meta.get("pdfuaid:part") != "1":
                wrong.append("no part")
        heads = {str(element.ID) for element in elements(pdf) if str(element.S) == "/TH" and "/ID" in element}
        for element in elements(pdf):
            kind = str(element.S)
            if kind == "/Figure" and not str(element.get("/Alt", "")):
                wrong.append("figure without Alt")
            if kind == "/TD":
                named = {str(name) for name in element.get("/A", {}).get("/Headers", [])}
                if not named or not named <= heads:
                    wrong.append("cell without its headers")
        for page in pdf.pages:
            for font in page.Resources.get("/Font", {}).values():
                inner = font.get("/DescendantFonts", [font])[0]
                if not {"/FontFile", "/FontFile2", "/FontFile3"} & set(inner.FontDescriptor.keys()):
                    wrong.append("font not embedded")
    return wrong


def kinds(raw: bytes) -> set[str]:
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        return {str(element.S) for element in elements(pdf)}


def test_a_document_of_every_kind_of_block_holds_what_it_claims() -> None:
    raw = as_pdf(document())
    assert claims_wrong(raw) == []
    assert {"/H1", "/H2", "/H3", "/P", "/L", "/LI", "/Table", "/TH", "/TD", "/Caption", "/Figure"} <= kinds(raw)
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        assert str(pdf.Root.Lang) == "en" and "/CreationDate" not in pdf.docinfo
        assert str(pdf.docinfo["/Title"]) == "A page <of> Übung"
        assert [str(e.Alt) for e in elements(pdf) if str(e.S) == "/Figure"] == ["Two marks"]
        assert page_count(raw) == len(pdf.pages) == 1


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('<html lang="en">', "<html>", "no language"),
        ("<title>A page &lt;of&gt; Übung</title>", "", "no title"),
        ("<title>Two marks</title>", "", "figure without Alt"),
    ],
)
def test_what_a_bad_page_claims_is_found_and_a_page_without_language_or_title_refused(
    old: str, new: str, told: str
) -> None:
    import weasyprint

    html = as_html(document())
    assert html.count(old) == 1
    html = html.replace(old, new)
    assert told in claims_wrong(weasyprint.HTML(string=html).write_pdf(pdf_variant="pdf/ua-1"))
    if told != "figure without Alt":
        with pytest.raises(UntaggedPage):
            html_as_pdf(html)


@pytest.mark.parametrize("changes", [{"title": ""}, {"language": ""}])
def test_a_document_without_title_or_language_is_no_file(changes: dict[str, str]) -> None:
    with pytest.raises(UntaggedPage):
        as_pdf(document(**changes))


@pytest.mark.parametrize("svg", [SVG, SVG.replace("<title>Two marks</title>", "")])
def test_a_picture_says_in_the_file_what_it_shows(svg: str) -> None:
    raw = as_pdf(document(sections=(Section("One", (Picture(svg, "A <b> & c", TABLE),)),)))
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        said = [str(element.Alt) for element in elements(pdf) if str(element.S) == "/Figure"]
    assert said == (["Two marks"] if "<title>" in svg else ["A <b> & c"])
    assert claims_wrong(raw) == []


def test_the_same_document_gives_the_same_bytes_and_another_one_others() -> None:
    assert as_pdf(document()) == as_pdf(document())
    assert as_pdf(document()) != as_pdf(document(dated="2026-02-11"))


def test_nothing_is_loaded_from_a_file_or_the_net(tmp_path: Path) -> None:
    secret = tmp_path / "secret.svg"
    secret.write_text(SVG, encoding="utf-8")
    picture = f'<img alt="x" src="file://{secret}"><img alt="y" src="http://127.0.0.1:9/y.png">'
    html = as_html(document()).replace("<main>", f"<main>{picture}")
    with pytest.raises(UntaggedPage, match="not loaded"):
        html_as_pdf(html)


def test_pages_are_counted() -> None:
    many = tuple(Section(f"Part {number}", tuple(Text("word " * 200) for _ in range(3))) for number in range(8))
    raw = as_pdf(document(sections=many))
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        assert page_count(raw) == len(pdf.pages) > 2


@pytest.mark.needs_pdf_tools
def test_qpdf_finds_the_file_whole(tmp_path: Path) -> None:
    if shutil.which("qpdf") is None:
        pytest.skip("qpdf is not here")
    file = tmp_path / "page.pdf"
    file.write_bytes(as_pdf(document()))
    ran = subprocess.run(["qpdf", "--check", str(file)], capture_output=True, text=True, check=False)
    assert ran.returncode == 0 and "No syntax or stream encoding errors" in ran.stdout, ran.stdout + ran.stderr


def test_a_machine_without_pango_is_told_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    class Missing:
        def find_spec(self, name: str, path: object = None, target: object = None) -> None:
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Missing(), *sys.meta_path])
    with pytest.raises(LibraryTrouble, match=r"libpango-1.0-0 .* also as --html"):
        html_as_pdf("<!DOCTYPE html><html lang=en><title>t</title><p>x</html>")


def test_a_sign_no_font_has_is_told_by_its_name() -> None:
    from assess.reports.pdf import _in_words, _set

    page = "<!DOCTYPE html><html lang=en><title>t</title><p>Zoë %s</html>"
    lacking = [sign for sign in "\U0001f3bf\U0001f9f6" if sign in _set(page % sign)[1].signs]
    for sign in lacking:
        words = _in_words(sign)
        assert words is not None and words.startswith("[")
        assert html_as_pdf(page % sign) == html_as_pdf(page % words)
    assert _in_words("\U0001f3bf") == "[ski and ski boot]" and _in_words("\U0001f3fd") == ""
    assert _in_words("山") is None and _in_words("é") is None
    assert _set(page % "\ue0ff")[1].signs == {"\ue0ff"}, "what no font has is found out"
