"""One document of every kind, from the samples and from small courses with names that are hard to set."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from assess.desk.letters import LetterForm
from assess.desk.pages import page_of
from assess.reports.cards import CardSet, CardSize
from assess.reports.document import Document, Listing, Note, Picture, Section, Table, Text
from tests.courses import build_course, open_desk

SAMPLES = Path(__file__).resolve().parent.parent.parent / "sample_sessions"
NAMES = (
    "Maximiliane-Charlotte Freifrau von und zu Oberhinterwaldenburg-Niederkirchen",
    "Donaudampfschifffahrtsgesellschaftskapitänsanwärterinnenvertretung",
    "محمد بن عبد الله الحربي",
    "山田太郎・東京都スキー連盟",
    "<script>alert(1)</script> & \"Söhne\"",
    "Zoë 👩‍🏫 e\u0301\u0323\u0301",
    "\u202etxet desrever",
)  # fmt: skip


def result(folder: Path, candidates: int, name: str) -> Document:
    root = build_course(folder / name, candidates=candidates, names=NAMES[:candidates], tasks=("T6", "T4"))
    for who, device in (("A1", "d7h2k"), ("A2", "a2a2a")):
        desk = open_desk(root, who, device=device)
        for number in range(1, min(candidates, 4) + 1):
            sheet = desk.slot("T6", f"C{number:02d}")
            for criterion in sheet.criteria:
                sheet.score(criterion, 5)
            sheet.lock()
        assert desk.close()
    return page_of("result", root, "D1").document


def letter(folder: Path, form: LetterForm = "html", languages: Sequence[str] = ("en",)) -> dict[str, bytes]:
    """A candidate's letter by language, signed and released, as it leaves the tool."""
    from assess.desk.deciding import proposals, sign
    from assess.desk.feedback import release
    from assess.desk.letters import letter_files

    root = build_course(folder / "letter", candidates=1, names=NAMES[2:3], tasks=("T6",))
    for who, device in (("A1", "d7h2k"), ("A2", "a2a2a")):
        desk = open_desk(root, who, device=device)
        sheet = desk.slot("T6", "C01")
        for criterion in sheet.criteria:
            sheet.score(criterion, 5)
        sheet.lock()
        assert desk.close()
    desk = open_desk(root, "D1")
    try:
        for item in proposals(desk):
            sign(desk, item.candidate, item.module, valid_to="2027-02-05" if item.follows == "grant" else None)
        release(desk, "candidates")
        made = [letter_files(desk, ["C01"], language=language, forms=(form,))[0] for language in languages]
        return {language: one.content for language, (one,) in zip(languages, made, strict=True)}
    finally:
        assert desk.close()


def all_cards(folder: Path, size: CardSize) -> CardSet:
    """Every card of an assessor, with names that are hard to set."""
    from assess.desk.cards import card_set

    desk = open_desk(build_course(folder / f"cards-{size}", candidates=4, names=NAMES[1:5]))
    try:
        return card_set(desk, "A1", size)
    finally:
        assert desk.close()


def cards(folder: Path) -> dict[str, bytes]:
    """A run card and a lesson card, each in a file of its own."""
    from assess.desk.cards import card_files

    whole = all_cards(folder, "a6")
    kinds = {
        "card-run": tuple(card for card in whole.cards if card.number and card.person is None),
        "card-lesson": tuple(card for card in whole.cards if card.number and card.person is not None)[:4],
        "card-levels": tuple(card for card in whole.cards if not card.number),
    }
    return {kind: card_files(replace(whole, cards=some), "en")[0].content for kind, some in kinds.items()}


def printed(documents: Mapping[str, Document], folder: Path) -> dict[str, bytes]:
    """Every kind of page as a PDF: the documents, a letter in each language, the cards."""
    from assess.reports.pdf import as_pdf

    letters = letter(folder, "pdf", ("en", "de"))
    return {
        **{kind: as_pdf(document) for kind, document in documents.items()},
        **{f"letter-{language}": raw for language, raw in letters.items()},
        **cards(folder),
    }


def case(folder: Path) -> Document:
    from assess.desk.case_page import case_document
    from assess.desk.case_record import case_record

    root = folder / "case"
    shutil.copytree(SAMPLES / "course", root)
    desk = open_desk(root, "D1")
    try:
        return case_document(case_record(desk, "C02", None))
    finally:
        assert desk.close()


def every_block() -> Document:
    """Everything a document may hold, with texts that are hard to set."""
    wide = Table("Many columns", tuple(f"column {n}" for n in range(14)), ((NAMES[0],) * 14,))
    names = Table("Names", ("Name",), tuple((name,) for name in NAMES))
    texts = (Text(" ".join(NAMES)), Note(NAMES[1], "missing"), Note(NAMES[2], "words"))
    lists = (Listing(NAMES), Listing(NAMES, ordered=True), names, wide, Table("Nothing", ("Name",), ()))
    drawn = tuple(Section(title, (picture,)) for title, picture in pictures().items())
    return Document(
        title=NAMES[1],
        about=NAMES[0],
        audience="For nobody",
        dated="2026-02-05",
        sections=(Section("Blocks", (*texts, *lists)), Section("Pictures", sections=drawn)),
        closing=("The end.",),
    )


def pictures() -> dict[str, Picture]:
    """Each kind of picture, also of nothing and of one."""
    from assess.reports.charts import Dot, Point, counts, dots, over_time

    rows = tuple(
        Dot(name, place / 5 - 0.4, (place / 5 - 0.9, place / 5), f"{place} sheets") for place, name in enumerate(NAMES)
    )
    return {
        "Dots": dots(rows, caption="Dots", alt="dots", axis="levels", names="Who", line=(0.0, "line")),
        "Nobody": dots((), caption="No dots", alt="nothing", axis="levels", names="Who"),
        "One": dots(rows[:1], caption="One dot", alt="one", axis="levels", names="Who"),
        "Counts": counts(("1", "2"), (3, 0), caption="Counts", alt="how often", axis="how often", names="Level"),
        "Time": over_time((Point(0, "2026-01-02", 1.0),), caption="Time", alt="one day", axis="levels"),
    }


def _of(kind: str, where: str, who: str, about: str | None = None) -> Callable[[Path], Document]:
    return lambda folder: page_of(kind, SAMPLES / where, who, about=about).document  # type: ignore[arg-type]


KINDS: dict[str, Callable[[Path], Document]] = {
    "result": _of("result", "course", "D1"),
    "result-one": lambda folder: result(folder, 1, "one"),
    "result-forty": lambda folder: result(folder, 40, "forty"),
    "assessor": _of("assessor", "course", "D1", "A2"),
    "agreement": _of("agreement", "course", "A1"),
    "criteria": _of("criteria", "course", "D1"),
    "round": _of("round", "calibration", "D1"),
    "round-one": _of("round", "calibration", "D1", "A3"),
    "quality": lambda folder: page_of("quality", SAMPLES / "course", "D1", on="2026-11-30").document,
    "season": _of("season", "season", "KW"),
    "case": case,
    "blocks": lambda folder: every_block(),
}
