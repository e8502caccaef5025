"""A resit opens its module and no other; what was granted is carried with its date."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from assess.desk.deciding import sign
from assess.desk.further import add_slot
from assess.desk.outcomes import outcome_board
from assess.desk.resits import open_resit
from assess.records.errors import Refusal
from tests.sample.story import Story, fact_of

DATES: Any = {"opens": "2026-03-01", "closes": "2026-04-30"}


@pytest.fixture
def story(tmp_path: Path) -> Story:
    """C04 failed the demonstration, passed in teaching; both are signed, the differences kept."""
    story = Story(tmp_path)
    story.keep_all()
    with story.desk("D1") as desk:
        sign(desk, "C04", "demo")
        sign(desk, "C04", "teach", valid_to="2027-02-05")
    return story


def test_the_module_is_opened_with_its_tasks_and_the_others_are_carried(story: Story) -> None:
    with story.desk("D1") as desk:
        fact = fact_of(open_resit(desk, "C04", "demo", max_tries=3, **DATES))
    assert (fact.module, fact.tasks, fact.attempt) == ("demo", ("T1", "T2", "T3"), 2)
    assert fact.carried == {"teach": "2027-02-05"}


def test_no_other_module_changes_and_no_other_task_gets_a_performance(story: Story) -> None:
    with story.desk("D1") as desk:
        before = outcome_board(desk)
        open_resit(desk, "C04", "demo", max_tries=3, **DATES)
        assert outcome_board(desk) == before
        with pytest.raises(Refusal, match="no resit of T4 is open"):
            add_slot(desk, "T4", "C04", why="resit", assessors=("A1", "A3"))
        with pytest.raises(Refusal, match="no resit of T1 is open"):
            add_slot(desk, "T1", "C06", why="resit", assessors=("A1", "A3"))
        assert fact_of(add_slot(desk, "T1", "C04", why="resit", assessors=("A3", "A4"))).task == "T1-2"


def test_a_resit_follows_from_a_refusal_has_a_last_try_and_dates_in_order(story: Story) -> None:
    with story.desk("D1") as desk:
        for module, words, said in (
            ("teach", {"max_tries": 3, **DATES}, "was not refused"),
            ("demo", {"max_tries": 3, "opens": "2026-04-30", "closes": "2026-03-01"}, "does not follow"),
            ("demo", {"max_tries": 3, "opens": "2025-01-01", "closes": "2026-03-01"}, "does not follow"),
            ("demo", {"max_tries": 3, "opens": "soon", "closes": "later"}, "not two dates"),
        ):
            with pytest.raises(Refusal, match=said):
                open_resit(desk, "C04", module, **words)
        open_resit(desk, "C04", "demo", max_tries=2, **DATES)
        with pytest.raises(Refusal, match="has had 2 tries"):
            open_resit(desk, "C04", "demo", max_tries=2, reason="once more", **DATES)


def test_somebody_new_is_among_the_markers_of_a_resit(story: Story) -> None:
    # T1, T2, T3 of C04 were marked by A1, A2 and A4: A3 alone is new in the module.
    with story.desk("D1") as desk:
        open_resit(desk, "C04", "demo", max_tries=3, **DATES)
        with pytest.raises(Refusal, match="nobody new"):
            add_slot(desk, "T2", "C04", why="resit", assessors=("A1", "A2"))
        add_slot(desk, "T2", "C04", why="resit", assessors=("A1", "A3"))
