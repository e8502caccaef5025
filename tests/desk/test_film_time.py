"""Shares of a filmed lesson by its marks, and two observers of the same film."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.film_time import agreed_practice, time_use
from tests.seasons import build_season, film_desk


def marked(root: Path, who: str, marks: list[tuple[int, str, bool]]):
    desk = film_desk(root, who)
    sheet = desk.film("T5", "F1")
    for at, use, on in marks:
        sheet.at_ms = at * 1000
        sheet.interval(use, on)
    found = sheet.sheet
    desk.close()
    return found


def test_shares_run_from_the_first_mark_to_the_last_and_sum_to_one(tmp_path: Path) -> None:
    root = build_season(tmp_path / "s")
    sheet = marked(
        root, "TR", [(100, "talk", True), (140, "talk", False), (150, "practise", True), (200, "practise", False)]
    )
    found = time_use(sheet)
    assert found is not None and found.total_ms == 100_000
    shares = {share.use: share.share for share in found.shares}
    assert (shares["talk"], shares["practise"], shares["not marked"]) == pytest.approx((0.4, 0.5, 0.1))
    assert sum(shares.values()) == pytest.approx(1)


def test_a_use_that_never_stops_is_no_share(tmp_path: Path) -> None:
    assert time_use(marked(build_season(tmp_path / "s"), "TR", [(1, "talk", True)])) is None


def test_two_observers_are_compared_second_by_second(tmp_path: Path) -> None:
    root = build_season(tmp_path / "s")
    one = marked(root, "TR", [(0, "practise", True), (60, "practise", False), (60, "talk", True), (100, "talk", False)])
    two = marked(root, "M1", [(0, "practise", True), (50, "practise", False), (50, "talk", True), (100, "talk", False)])
    found = agreed_practice(one, two)
    # By hand: 50 both, 10 the first alone, 40 none; chance = .6 * .5 + .4 * .5.
    assert found is not None and found.table == (50, 10, 0, 40)
    assert found.kappa == pytest.approx((0.9 - 0.5) / 0.5)
