"""Nobody is third in a slot they have a sheet in; no look that can change nothing; a repeat for all in the band."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from assess.desk.further import add_slot, in_the_band, offer_repeat
from assess.desk.merging import merge_courses
from assess.desk.outcomes import course_modules
from assess.desk.outcomes import module_result_of as outcome_of
from assess.desk.third_looks import order_look, reach_of, reach_table
from assess.records.errors import Refusal
from tests.sample.story import Story, fact_of

MODULES = {"demo": ("T1", "T2", "T3"), "teach": ("T4", "T5"), "safety": ("T6",)}


def module_result_of(desk: Any, candidate: str, module: str) -> Any:
    """The module's result; a director sees every one."""
    return outcome_of(desk, candidate, module)


@pytest.fixture
def story(tmp_path: Path) -> Story:
    return Story(tmp_path)


def order(desk, candidate: str, module: str, marker: str, slots: tuple[str, ...], mixed: tuple[str, ...]) -> None:
    order_look(desk, candidate, module, marker=marker, slots=slots, source="film", mixed=mixed, reason="in the band")


def test_only_somebody_without_a_sheet_in_any_of_the_slots_is_third(story: Story) -> None:
    # C02/T4 was marked by A1 and A3, C02/T5 by A2 and A3: A4 alone has neither.
    with story.desk("D1") as desk:
        for marker in ("A1", "A2", "A3"):
            with pytest.raises(Refusal, match="is not fresh"):
                order(desk, "C02", "teach", marker, ("T4", "T5"), ("T4.C01",))
        order(desk, "C02", "teach", "A4", ("T4", "T5"), ("T4.C01",))


def test_somebody_at_the_moderation_of_a_slot_is_not_fresh_for_it(story: Story) -> None:
    from assess.desk.moderating import moderate

    with story.desk("D1") as desk:
        moderate(desk, "T5.C02", "keep-both", present=("A2", "A3", "A4"), reason="talked over with A4 at the table")
        with pytest.raises(Refusal, match="at its moderation"):
            order(desk, "C02", "teach", "A4", ("T4", "T5"), ("T4.C01",))


def test_every_look_on_offer_can_change_the_outcome_and_no_other_is_taken(story: Story) -> None:
    with story.desk("D1") as desk:
        offered = {(item.candidate, item.module) for item in reach_table(desk) if not item.why_not}
        assert offered == {("C02", "demo"), ("C02", "teach"), ("C04", "safety"), ("C06", "teach"), ("C10", "teach")}
        for candidate in desk.course.candidates:
            for module in course_modules(desk):
                told = reach_of(desk, candidate, module)
                if (candidate, module) in offered:
                    assert set(told.outcomes) == {"passed", "not_passed"}
                else:
                    assert told.why_not
                    with pytest.raises(Refusal):
                        order(desk, candidate, module, "A4", MODULES[module], ())


def test_a_third_sheet_is_not_seen_before_its_lock_and_its_marker_sees_no_other(story: Story) -> None:
    with story.desk("D1") as desk:
        assert desk.sight.sheet("T4", "C02", "A1")
        order(desk, "C02", "teach", "A4", ("T4", "T5"), ("T4.C01",))
    with story.desk("A4") as desk:
        assert not desk.sight.sheet("T4", "C02", "A1")
        assert desk.sight.module_word("teach", "C02")
        assert "T4" in {slot.task for slot in desk.mine("T4") if slot.candidate == "C02"}
        desk.slot("T4", "C02").score("plan-and-fit", 3)
    for who in ("A1", "D1", "D2"):
        with story.desk(who) as desk:
            assert not desk.sight.sheet("T4", "C02", "A4")
            assert desk.sight.sheet("T4", "C02", "A1")
    with story.desk("D1") as desk:
        result = module_result_of(desk, "C02", "teach")
        assert (result.outcome, result.n_sheets) == ("third_look", 4)


def test_clear_slots_are_mixed_in_and_their_sheets_count_nowhere(story: Story) -> None:
    with story.desk("D1") as desk:
        with pytest.raises(Refusal, match="would know which"):
            order(desk, "C02", "teach", "A4", ("T4", "T5"), ())
        with pytest.raises(Refusal, match="is not clear"):
            order(desk, "C02", "teach", "A4", ("T4", "T5"), ("T5.C06",))
        before = module_result_of(desk, "C01", "teach")
    story.look(1)
    with story.desk("D1") as desk:
        assert module_result_of(desk, "C01", "teach") == before


def test_a_repeat_is_offered_to_everybody_in_the_band_and_to_nobody_else(story: Story) -> None:
    with story.desk("D1") as desk:
        for module, tasks in MODULES.items():
            band = in_the_band(desk, module)
            expected = tuple(
                who
                for who in desk.course.candidates
                for result in [module_result_of(desk, who, module)]
                if result.band_squared is not None
                and result.outcome != "open"
                and abs(result.mean - result.line) ** 2 <= result.band_squared
            )
            assert band == expected
            if band:
                assert fact_of(offer_repeat(desk, tasks[0], module, "weather")).candidates == band
            for who in desk.course.candidates:
                if who not in band:
                    with pytest.raises(Refusal, match="was offered"):
                        add_slot(desk, tasks[0], who, why="repeat", assessors=("A3", "A4"))


@pytest.mark.parametrize("who", ["A4", "A1"])
def test_a_merge_tells_an_assessor_not_whose_third_look_was_ordered(story: Story, tmp_path: Path, who: str) -> None:
    copies = [shutil.copytree(story.root, tmp_path / name) for name in ("one", "other")]
    with story.desk("D1") as desk:
        order(desk, "C02", "teach", "A4", ("T4", "T5"), ("T4.C01",))
    told, whole = (merge_courses(copy, [story.root], name) for copy, name in zip(copies, (who, "D1"), strict=True))
    assert told.taken and told.came["D1"] == ("decisions",)
    assert "C02" not in repr((told.taken, told.came))
    assert "decisions C02" in whole.came["D1"]
