"""The story of the sample course, played through the desk to the table after the reserve morning, step by step."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from assess.desk.further import in_the_band
from assess.desk.outcomes import results_json
from assess.desk.third_looks import reach_of
from tests.sample.story import Story

DATA = Path(__file__).parent.parent / "data" / "marking"


@pytest.fixture(scope="module")
def played(morning: Story, tmp_path_factory: pytest.TempPathFactory) -> Story:
    """The course after the reserve morning."""
    return morning.again(tmp_path_factory.mktemp("story"))


def test_the_table_after_the_reserve_morning_comes_out(played: Story) -> None:
    with (DATA / "after_reserve.csv").open(encoding="utf-8", newline="") as file:
        wanted = list(csv.DictReader(file))
    with played.desk("D1") as desk:
        told = {item["id"]: item["modules"] for item in results_json(desk.outcomes())["candidates"]}
    for row in wanted:
        module = told[row["candidate"]][row["module"]]
        found = (module["outcome"], module["mean"], module["mean_exact"], module["n_sheets"], module["moderation_due"])
        assert found == (row["outcome"], row["mean"] or None, row["exact"] or None, int(row["n"]), []), row


def test_step_8_the_reach_is_told_before_a_third_look_and_the_repeat_is_offered_to_all_in_the_band(
    tmp_path: Path,
) -> None:
    story = Story(tmp_path)
    with story.desk("D1") as desk:
        told = reach_of(desk, "C02", "demo", ("T1", "T3"))
        assert (told.lowest, told.highest, told.outcomes, told.why_not) == (
            "2.97",
            "4.22",
            ("not_passed", "passed"),
            "",
        )
        assert in_the_band(desk, "demo") == ("C02",)
