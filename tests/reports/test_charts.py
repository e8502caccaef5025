"""Pictures: the same bytes each time, all text is text, and the table beside them says it all."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.reports.charts import Dot, Point, counts, dots, over_time
from assess.reports.document import Document, Picture, Section
from assess.reports.drawing import ticks
from assess.reports.page import as_html
from assess.reports.palette import LIGHT

SVG = "{http://www.w3.org/2000/svg}"
ROWS = (
    Dot("A1 Ärger & $x$", 0.2, (-0.1, 0.5), "12 sheets"),
    Dot("<b>A2</b>", -0.3, (-0.6, 0.02), "9 sheets"),
    Dot("محمد", None),
    Dot("山田太郎", -0.001),
)


def severity(rows: tuple[Dot, ...] = ROWS) -> Picture:
    return dots(rows, caption="Severity", alt="four assessors", axis="levels", names="Assessor", line=(0.0, "group"),
                signed=True)  # fmt: skip


def texts(picture: Picture) -> list[str]:
    return [item.text or "" for item in ElementTree.fromstring(picture.svg).iter(f"{SVG}text")]


def places(picture: Picture) -> list[tuple[str, str]]:
    """Where its dots stand, to the right and down."""
    return re.findall(r'<use [^>]*x="([\d.]+)" y="([\d.]+)" style="fill: #004f82', picture.svg)


def test_the_same_numbers_give_the_same_bytes_and_no_date() -> None:
    assert severity() == severity()
    assert not re.search(r"20\d\d-|matplotlib\.org|<!DOCTYPE|<style", severity().svg)


def test_the_names_of_rows_are_text_of_the_page_at_the_height_of_their_dots() -> None:
    picture = severity()
    assert [label.text for label in picture.labels] == ["A1 Ärger & $x$", "<b>A2</b>", "山田太郎"], "not known: table"
    height = float(re.findall(r'viewBox="0 0 [\d.]+ ([\d.]+)"', picture.svg)[0])
    dots_at = [float(y) / height for _, y in places(picture)]
    assert [label.down for label in picture.labels] == pytest.approx(dots_at, abs=1e-4)
    assert all(0 < label.across < min(float(x) for x, _ in places(picture)) / 389 for label in picture.labels)


def test_words_are_text_and_no_formula_or_markup() -> None:
    picture = dots(ROWS, caption="c", alt="a", axis="$x^2$ & <i>", names="n", line=(0.0, "<b>group</b>"))
    told = texts(picture)
    assert "<b>group</b>" in told and "$x^2$ & <i>" in told
    assert not set(told) & {row.label for row in ROWS}


def test_a_page_sets_the_names_of_rows_beside_the_drawing() -> None:
    told = Document("t", "a", "b", "2026-01-01", (Section("s", (severity(),)),))
    page = as_html(told)
    figure = page[page.index("<figure") : page.index("</figure>")]
    assert [re.sub(r"<[^>]+>", "", row) for row in re.findall(r'<span dir="auto".*?</span>', figure)] == [
        "A1 Ärger &amp; $x$", "&lt;b&gt;A2&lt;/b&gt;", "山田太郎",
    ]  # fmt: skip


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e4), st.integers(2, 9))
@settings(max_examples=60, deadline=None)
def test_the_numbers_of_a_scale_are_round_rising_and_what_they_say(low: float, across: float, most: int) -> None:
    found = ticks(low, low + across, most)
    assert 1 <= len(found) <= most + 2
    values = [value for value, _ in found]
    assert values == sorted(set(values))
    assert all(low - 1e-6 * across <= value <= low + across * (1 + 1e-6) for value in values)
    written = [float(text.replace("\u2212", "-")) for _, text in found]
    assert written == pytest.approx(values, abs=1e-6 * max(1.0, across))


def test_the_table_holds_every_row_with_its_ends_and_what_it_rests_on() -> None:
    assert severity().table.rows == (
        ("A1 Ärger & $x$", "+0.20", "-0.10 to +0.50", "12 sheets"),
        ("<b>A2</b>", "-0.30", "-0.60 to +0.02", "9 sheets"),
        ("محمد", "not known", "-", "-"),
        ("山田太郎", "+0.00", "none", "-"),
    )


def test_two_pictures_on_a_page_share_no_id() -> None:
    ids = [set(re.findall(r'\bid="([^"]+)"', picture.svg)) for picture in (severity(), severity(ROWS[:2]))]
    assert ids[0] and not ids[0] & ids[1]
    for picture in (severity(), severity(ROWS[:2])):
        named = set(re.findall(r'\bid="([^"]+)"', picture.svg))
        assert set(re.findall(r'href="#([^"]+)"', picture.svg)) <= named
        assert set(re.findall(r"url\(#([^)]+)\)", picture.svg)) <= named


def test_every_colour_is_of_the_palette() -> None:
    for picture in (severity(), levels(), trend()):
        assert set(re.findall(r"#[0-9a-f]{6}\b", picture.svg)) <= set(LIGHT.values())


def levels() -> Picture:
    return counts(("1", "2", "3"), (0, 7, 2), caption="Levels", alt="mostly 2", axis="how often", names="Level")


def trend() -> Picture:
    points = (Point(0, "2026-01-02", 1.1, "6 criteria"), Point(20, "2026-01-22", 0.6, "6 criteria"))
    return over_time(points, caption="Distance", alt="smaller", axis="levels apart")


def test_how_often_and_over_time_have_their_tables_too() -> None:
    assert levels().table.rows == (("1", "0"), ("2", "7"), ("3", "2"))
    assert {"0", "7", "2"} <= set(texts(levels()))
    assert trend().table.rows[1] == ("2026-01-22", "0.60", "6 criteria")


@pytest.mark.parametrize("values", [(0.1, 0.4, 0.2), (-1.0, 1.0, 0.0)])
def test_dots_stand_in_the_order_of_their_values(values: tuple[float, ...]) -> None:
    picture = severity(tuple(Dot(f"A{n}", value) for n, value in enumerate(values)))
    across = [float(x) for x, _ in places(picture)]
    assert len(across) == len(values)
    order = sorted(range(len(values)), key=lambda at: values[at])
    assert all(across[one] < across[two] for one, two in pairwise(order))


@settings(max_examples=8, deadline=None)
@given(st.lists(st.tuples(st.text(max_size=40), st.floats(-5, 5)), max_size=4))
def test_any_label_gives_a_well_formed_picture(rows: list[tuple[str, float]]) -> None:
    ElementTree.fromstring(severity(tuple(Dot(label, value) for label, value in rows)).svg)
