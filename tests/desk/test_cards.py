"""Paper cards: what stands on them, by which number, for whom; and that nothing runs over the edge of a card."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from assess.desk.card_numbers import card_of, cards_of
from assess.desk.cards import card_files, card_set
from assess.records.errors import Refusal
from assess.reports.card_layout import FORMATS, split_evenly
from assess.reports.card_page import cards_html
from tests.cli.commands import assess
from tests.courses import RUBRIC, build_course, open_desk
from tests.reports.test_pdf import claims_wrong

LONG = (
    "Maximiliane-Theodora von und zu Oberhohenwaldkirchen-Streitberg",
    "علي بن الحسين المنصوري",
    "王小明",
    "🎿" * 30,
)
EIGHT = "over-feet, edging, line, speed-control, separation, rhythm, lane-held, absorb"


def wide_course(root: Path, candidates: int = 24) -> Path:
    """24 candidates, 8 criteria in one task, names of every length and direction, long marks."""
    rubric = root.parent / "wide.yaml"
    text = RUBRIC.read_text(encoding="utf-8")
    text = text.replace("criteria: [over-feet, edging, line, speed-control]", f"criteria: [{EIGHT}]", 1)
    rubric.write_text(text.replace('label: "Edging"', 'label: "Edging in hard snow 1234"', 1), encoding="utf-8")
    build_course(root, candidates=candidates, names=LONG * 6, rubric=rubric)
    people = root / "people.yaml"
    told = people.read_text(encoding="utf-8").replace("mark: red jacket", "mark: red jacket with a long blue stripe", 3)
    people.write_text(told, encoding="utf-8")
    return root


def said(root: Path, size: Any, who: str = "A1", language: str = "en") -> str:
    desk = open_desk(root, who)
    try:
        return cards_html(card_set(desk, who, size), language)
    finally:
        desk.close()


def test_a_card_has_my_candidates_in_planned_order_and_nobody_elses(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=4)
    course = root / "course.yaml"
    text = course.read_text().replace("candidate: C03, assessors: [A1, A2]", "candidate: C03, assessors: [A2]")
    course.write_text(text.replace("order: 1, candidate: C01", "order: 9, candidate: C01"))
    desk = open_desk(root)
    made = card_set(desk, "A1", "a6")
    run = next(card for card in made.cards if card.task == "T1" and card.number)
    assert [person.bib for person in run.parts[0].people] == [21, 23, 20]
    lessons = [card.sheet for card in made.cards if card.person is not None]
    assert sorted(set(lessons)) == ["T4.C01.A1", "T4.C02.A1", "T4.C04.A1"]
    desk.close()


def test_cards_hold_no_mark_whatever_was_marked(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course")
    before = said(root, "a6")
    desk = open_desk(root)
    for candidate in ("C01", "C02"):
        slot = desk.slot("T1", candidate)
        for criterion in slot.criteria:
            slot.score(criterion, 5)
    desk.slot("T1", "C02").note("tails wash", ("edging",))
    desk.close()
    assert said(root, "a6") == before


def test_a_number_is_of_one_card_and_of_todays_plan_only(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=7)
    desk = open_desk(root)
    mine, others = cards_of(desk, "A1"), cards_of(desk, "A2")
    numbers = [plan.number for plan in mine]
    assert len(set(numbers)) == len(numbers) and all(len(number) == 5 for number in numbers)
    assert cards_of(desk, "A1") == mine
    run = next(plan for plan in mine if plan.kind == "run")
    assert card_of(desk, run.number) == run
    foreign = next(plan.number for plan in others if plan.number not in numbers)
    with pytest.raises(Refusal, match=f"card {foreign} is A2's, not yours"):
        card_of(desk, foreign)
    desk.close()
    course = root / "course.yaml"
    text = course.read_text()
    course.write_text(text.replace("task: T1, order: 1,", "task: T1, order: 3,").replace(
        "task: T1, order: 3, candidate: C03", "task: T1, order: 1, candidate: C03"))  # fmt: skip
    desk = open_desk(root)
    with pytest.raises(Refusal, match=f"there is no card {run.number} in this course as it is planned now"):
        card_of(desk, run.number)
    kept = {plan.number for plan in mine if plan.kind == "lesson"}
    assert kept <= {plan.number for plan in cards_of(desk, "A1")}
    desk.close()


def test_more_than_fits_goes_on_another_card() -> None:
    assert split_evenly(range(8), 4) == [(0, 1, 2, 3), (4, 5, 6, 7)]
    assert [len(group) for group in split_evenly(range(5), 4)] == [3, 2]
    assert [len(group) for group in split_evenly(range(24), FORMATS["a5"].rows)] == [8, 8, 8]


@pytest.mark.parametrize("size", ["a6", "a5"])
@pytest.mark.parametrize("language", ["en", "de"])
def test_nothing_runs_over_the_edge_of_its_card_or_into_its_foot(tmp_path: Path, size: Any, language: str) -> None:
    import weasyprint

    root = wide_course(tmp_path / "course")
    desk = open_desk(root)
    whole = card_set(desk, "A1", size)
    desk.close()
    # Every card of the wide task, and of the lessons those of four candidates: each kind of name once.
    lessons = [card for card in whole.cards if card.task == "T4"]
    made = replace(whole, cards=(*(card for card in whole.cards if card.task == "T1"), *lessons[:8], lessons[-1]))
    people = {person.bib for card in made.cards if card.task == "T1" for part in card.parts for person in part.people}
    assert len(people) == 24
    pages = weasyprint.HTML(string=cards_html(made, language)).render().pages
    found = [box for page in pages for box in page._page_box.descendants() if box.element_tag == "article"]
    assert len(found) == len(made.cards)
    assert len(pages) == -(-len(found) // (4 if size == "a6" else 2))
    assert [run_over for card in found for run_over in over_the_edge(card)] == []


def over_the_edge(card: Any) -> list[str]:
    """What of a card does not stand in it, or stands in its foot. What is cut off on purpose ends at its own box."""
    parts = {box.element.get("class"): box for box in card.descendants() if box.element is not None}
    assert {"head", "body", "foot"} <= set(parts)
    wrong = []
    right, bottom = card.position_x + card.border_width(), card.position_y + card.border_height()

    def look(box: Any, low: float) -> None:
        if box.position_x + box.width > right + 0.5 or box.position_y + box.height > low + 0.5:
            wrong.append(f"{card.element.get('id')}: {box} to {box.position_y + box.height:.0f} of {low:.0f}")
        kept = box.style["overflow"] == "hidden" and box.element.get("class") != "codes"
        for inner in () if kept else getattr(box, "children", ()):
            look(inner, low)

    look(parts["head"], parts["body"].position_y)
    look(parts["body"], parts["foot"].position_y)
    look(parts["foot"], bottom)
    return wrong


def test_a_card_that_is_too_full_is_found(tmp_path: Path) -> None:
    import weasyprint

    root = wide_course(tmp_path / "course")
    desk = open_desk(root)
    whole = card_set(desk, "A1", "a6")
    desk.close()
    html = cards_html(replace(whole, cards=whole.cards[:4]))
    assert html.count(".run tbody tr { height: 15mm; }") == 1
    html = html.replace(".run tbody tr { height: 15mm; }", ".run tbody tr { height: 16mm; }")
    pages = weasyprint.HTML(string=html).render().pages
    cards = [box for page in pages for box in page._page_box.descendants() if box.element_tag == "article"]
    assert any(over_the_edge(card) for card in cards)


@pytest.mark.parametrize("size", ["a6", "a5"])
def test_the_file_is_what_it_claims_and_the_same_again(tmp_path: Path, size: Any) -> None:
    root = build_course(tmp_path / "course", candidates=4, names=LONG)
    desk = open_desk(root)
    first = card_files(card_set(desk, "A1", size), "de")
    again = card_files(card_set(desk, "A1", size), "de")
    desk.close()
    assert [item.content for item in first] == [item.content for item in again]
    assert claims_wrong(first[0].content) == []
    assert all(item.private and item.audience == "panel" for item in first)


@pytest.mark.needs_pdf_tools
@pytest.mark.parametrize("size", ["a6", "a5"])
def test_the_picture_is_read_back_as_the_sheet(tmp_path: Path, size: Any) -> None:
    if shutil.which("pdftoppm") is None or shutil.which("zbarimg") is None:
        pytest.skip("pdftoppm or zbarimg is not here")
    root = build_course(tmp_path / "course", candidates=2)
    desk = open_desk(root)
    made = card_set(desk, "A1", size)
    (tmp_path / "cards.pdf").write_bytes(card_files(made, "en")[0].content)
    desk.close()
    subprocess.run(["pdftoppm", "-r", "150", "-png", "cards.pdf", "page"], cwd=tmp_path, check=True)
    read = subprocess.run(
        ["zbarimg", "--quiet", "--raw", *sorted(path.name for path in tmp_path.glob("page*.png"))],
        cwd=tmp_path, check=True, capture_output=True, text=True,
    )  # fmt: skip
    assert sorted(read.stdout.split()) == sorted(card.code for card in made.cards if card.number)


def test_the_command_says_first_and_writes_into_one_folder(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=1)
    out = tmp_path / "out"
    looked = assess("cards", root, "--for", "A1", "--to", out, "--dry-run")
    assert looked.code == 0 and not out.exists()
    assert "cards-A1-a6-en.pdf" in looked.out and "for the assessors and directors" in looked.out
    ran = assess("cards", root, "--as", "A1", "--to", out, "--size", "a5", "--language", "de", "--json")
    assert ran.code == 0 and ran.json["written"] is True
    assert sorted(path.name for path in out.iterdir()) == ["cards-A1-a5-de.html", "cards-A1-a5-de.pdf"]
    assert all(path.stat().st_mode & 0o777 == 0o600 for path in out.iterdir())


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--as", "A1", "--for", "A2", "--dry-run"], "these would be the cards of A2, and you are A1"),
        (["--for", "A9", "--as", "D1", "--dry-run"], "A9 is no assessor of this course"),
        (["--for", "A1", "--day", "7", "--dry-run"], "this course has no day 7"),
        (["--for", "A1", "--day", "2", "--dry-run"], "A1 marks nobody on day 2"),
        (["--for", "A1"], "where to?"),
        (["--for", "A1", "--dry-run", "--language", "fr"], "there are no texts in `fr`"),
    ],
)
def test_what_cannot_be_printed_is_refused_in_one_sentence(tmp_path: Path, words: list[str], told: str) -> None:
    root = build_course(tmp_path / "course")
    ran = assess("cards", root, *words)
    assert ran.code in (1, 2) and told in ran.err, ran.err


def test_a_director_prints_anybodys_cards(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=1)
    assert assess("cards", root, "--as", "D1", "--for", "A2", "--dry-run").code == 0
