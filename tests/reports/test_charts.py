"""Pictures: the same bytes each time, all text is text, and the table beside them says it all."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.reports.charts import Dot, Point, counts, dots, over_time
from assess.reports.document import Picture
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


def test_the_same_numbers_give_the_same_bytes_and_no_date() -> None:
    assert severity() == severity()
    assert not re.search(r"20\d\d-|matplotlib\.org|<!DOCTYPE|<style", severity().svg)


def test_a_label_is_text_and_no_formula_or_markup() -> None:
    told = texts(severity())
    assert "A1 Ärger & $x$" in told and "<b>A2</b>" in told and "山田太郎" in told and "group" in told
    assert "محمد" not in told, "what is not known is in the table alone"
    assert not [text for text in told if text.startswith("row-")]


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
    drawn = re.findall(r'<use [^>]*x="([\d.]+)" y="([\d.]+)" style="fill: #004f82', picture.svg)
    places = [float(x) for x, _ in drawn]
    assert len(places) == len(values)
    order = sorted(range(len(values)), key=lambda at: values[at])
    assert all(places[one] < places[two] for one, two in pairwise(order))


@settings(max_examples=8, deadline=None)
@given(st.lists(st.tuples(st.text(max_size=40), st.floats(-5, 5)), max_size=4))
def test_any_label_gives_a_well_formed_picture(rows: list[tuple[str, float]]) -> None:
    ElementTree.fromstring(severity(tuple(Dot(label, value) for label, value in rows)).svg)
