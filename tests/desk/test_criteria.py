"""The director's two pages, on the sample course and on courses where nothing may be said."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.agreement.bootstrap import Cancelled
from assess.desk.criteria import criteria_of
from assess.desk.next_course import next_course
from assess.records.errors import Refusal
from tests.courses import ROOT, FixedClock, build_course, open_desk

SAMPLE = ROOT / "sample_sessions" / "course"


@pytest.fixture(scope="module")
def director():
    from assess.desk.session import Desk

    desk = Desk.open(SAMPLE, "D1", device="reading")
    yield desk
    desk.close(0)


def test_the_criteria_stand_with_the_lowest_agreement_first_and_their_numbers(director) -> None:
    found = criteria_of(director)
    shares = [row.equal.estimate or 0 for row in found.rows]
    assert shares == sorted(shares) and all(row.equal.ci95 for row in found.rows)
    assert all(row.equal.n_candidates <= row.pairs for row in found.rows)
    # 224 pairs of marks over all criteria, as the sample course's own table has it.
    assert sum(row.pairs for row in found.rows) == 224
    over_all = sum((row.equal.estimate or 0) * row.equal.n for row in found.rows) / 224
    assert over_all == pytest.approx(0.47, abs=0.005)
    assert {row.label for row in found.rows} >= {"Diagnosis", "Edging"}


def test_a_criterion_that_repeats_another_is_found_and_so_is_a_level_nobody_gave(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course", candidates=4, tasks=("T1",))
    for who, device in (("A1", "d7h2k"), ("A2", "a2a2a")):
        desk = open_desk(root, who, device=device, clock=FixedClock())
        for number in range(1, 5):
            slot = desk.slot("T1", f"C{number:02d}")
            for criterion, level in zip(
                slot.criteria, (3 + number % 2, 3 + number % 2, 5, 2 + number % 3), strict=True
            ):
                slot.score(criterion, level)
            slot.note("seen", slot.criteria)
            slot.lock()
        assert desk.close()
    desk = open_desk(root, "D1")
    found = criteria_of(desk)
    first, second = (desk.rubric_for("T1").criteria[name].label for name in desk.task("T1").criteria[:2])
    assert [(pair.first, pair.second, pair.share, pair.n) for pair in found.alike] == [(first, second, 1.0, 8)]
    assert found.closest == found.alike[0] and found.n_sheets == 8
    assert found.told[0].startswith("This rests on 4 candidates, 2 assessors, 1 task and 8 sheets: too few")
    assert all({1, 6} <= set(row.unused) for row in found.rows)
    assert "beyond-a-closure" in found.silent_must_nots
    desk.close()


def test_both_pages_are_the_directors_until_all_is_locked_and_released(tmp_path: Path) -> None:
    desk = open_desk(build_course(tmp_path / "course"), "A1")
    for page in (criteria_of, next_course):
        with pytest.raises(Refusal, match="shown to a director"):
            page(desk)
    desk.close()


def test_work_that_is_left_ends(director) -> None:
    for page in (criteria_of, next_course):
        with pytest.raises(Cancelled):
            page(director, lambda share: False)


def test_the_next_course_says_which_plan_is_enough_or_that_none_is(director) -> None:
    found = next_course(director)
    assert found.facet == "task" and found.reached == ()
    assert found.sentence == (
        "No plan up to 4 assessors and 4 tasks makes 80 % of the differences repeat: that would give about 68 %"
        " (anything from 22 % to 89 % fits these scores)."
    )
    assert found.caution.startswith("This rests on 10 candidates, 4 assessors, 6 tasks and 120 sheets; one course is")
    assert [(plan.assessors, plan.tasks) for plan in found.plans] == [(a, t) for a in range(1, 5) for t in range(1, 5)]
    plan = next(plan for plan in found.plans if (plan.assessors, plan.tasks) == (2, 3))
    assert plan.phi == pytest.approx(0.56, abs=0.005) and plan.phi_ci95 is not None
