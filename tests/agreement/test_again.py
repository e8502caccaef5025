"""Would the same outcome be given again: against marking by hand, one marking at a time, and against real repeats."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache
from math import sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.agreement.again import Judged, chance_of_same, same_again
from assess.agreement.bootstrap import Cancelled
from assess.agreement.mark_model import MarkModel, ModuleMarks, SheetMarks, mark_model
from assess.agreement.results.again import Again
from assess.marking.outcome import module_result
from assess.marking.results import ModuleResult
from assess.records.rubric import Rubric
from tests.agreement.test_whole_rule import written
from tests.marking.building import case, rubric, sheet, sheet_error, slot

TASKS = {"T1": ("a", "b", "c", "d"), "T2": ("a", "e", "f", "g")}
Levels = dict[str, list[dict[str, int]]]


def rules(**more: Any) -> Rubric:
    band = {"z": "1", "sheet_error": {"m": sheet_error("0.46")}}
    return rubric(TASKS, **{"band": band, "below_line": {"m": 2}, **more})


def judged(ruled: Rubric, candidate: str, levels: Levels, third: Levels | None = None) -> tuple[Judged, ModuleResult]:
    """A candidate's module from the levels of two (and, in a closed third look, three) sheets a task."""
    slots = []
    for task, pair in levels.items():
        by = {f"A{number + 1}": marks for number, marks in enumerate(pair)}
        looked = tuple(sheet(ruled, marks, task=task, assessor="A9") for marks in (third or {}).get(task, ()))
        slots.append(slot(ruled, task, by, third=looked))
    result = module_result(case(ruled, *slots, third_look="closed" if third else "none"))
    sheets = [
        SheetMarks(task, task, f"A{number}", {k: Fraction(level) for k, level in marks.items()}, third=late)
        for late, told in ((False, levels), (True, third or {}))
        for task, held in told.items()
        for number, marks in enumerate(held)
    ]
    rule = written(ruled)
    assert result.mean is not None and rule.band_squared is not None
    in_band = (result.mean - rule.line) ** 2 * result.n_sheets <= rule.band_squared
    module = ModuleMarks(candidate, tuple(sheets), dict(TASKS), {})
    return Judged(module, rule, result.outcome, result.mean, in_band), result


class Markers:
    """Invented candidates and markers, every number drawn one by one with the standard library."""

    def __init__(self, seed: int, sheet: float = 0.35, mark: float = 0.6) -> None:
        self.pick, self.sheet, self.mark = random.Random(seed), sheet, mark

    def own(self, mean: float = 3.8) -> dict[str, dict[str, float]]:
        able = self.pick.gauss(mean, 0.5)
        return {
            task: {k: able + better + self.pick.gauss(0, 0.3) for k in held}
            for task, held in TASKS.items()
            for better in [self.pick.gauss(0, 0.3)]
        }

    def mark_all(self, own: dict[str, dict[str, float]], times: int) -> Levels:
        return {task: [self._sheet(cells) for _ in range(times)] for task, cells in own.items()}

    def _sheet(self, cells: dict[str, float]) -> dict[str, int]:
        off = self.pick.gauss(0, self.sheet)
        return {k: min(6, max(1, round(level + off + self.pick.gauss(0, self.mark)))) for k, level in cells.items()}


def final(ruled: Rubric, levels: Levels, third: Levels) -> str:
    """The outcome, a third look taken where the rule asks for one."""
    outcome = judged(ruled, "C01", levels)[1].outcome
    return judged(ruled, "C01", levels, third)[1].outcome if outcome == "third_look" else outcome


# --- against a computation of every marking by the rules of marking -----------------------------------

MODEL = MarkModel({(t, k): 3.8 for t, held in TASKS.items() for k in held}, 0.25, 0.09, 0.09, 0.1225, 0.36 + 1 / 12)


def both(one: dict[str, int], other: dict[str, int]) -> Levels:
    """Both markers the same, `one` on T1 and `other` on T2."""
    return {"T1": [one, one], "T2": [other, other]}


def pair(t1: tuple[int, int], t2: tuple[int, int]) -> Levels:
    """One level everywhere on a sheet."""
    return {task: [dict.fromkeys(TASKS[task], level) for level in two] for task, two in (("T1", t1), ("T2", t2))}


TABLES: tuple[tuple[str, Levels], ...] = (
    ("near the line", pair((4, 3), (4, 4))),
    ("third look", pair((4, 3), (3, 4))),
    ("one low value", both({"a": 5, "b": 5, "c": 5, "d": 2}, dict.fromkeys("aefg", 4))),
    ("low", both(dict.fromkeys("abcd", 3), {"a": 2, "e": 3, "f": 4, "g": 3})),
)


@pytest.mark.parametrize(("levels"), [levels for _, levels in TABLES], ids=[name for name, _ in TABLES])
def test_the_chance_is_that_of_marking_by_hand(levels: Levels) -> None:
    """Own levels are drawn from the same posterior; all else is done again with the rules of marking and lists."""
    ruled = rules()
    item, result = judged(ruled, "C01", levels)
    true = MODEL.true_levels(item.marked)
    pick = random.Random(4)
    markers = Markers(5)
    same, times = 0, 250
    for _ in range(times):
        drawn = true.mean + true.root @ [pick.gauss(0, 1) for _ in true.mean]
        own: dict[str, dict[str, float]] = {}
        for (_, task, k), level in zip(item.marked.cells, drawn, strict=True):
            own.setdefault(task, {})[k] = float(level)
        first = result.outcome
        if first == "third_look":
            first = judged(ruled, "C01", levels, markers.mark_all(own, 1))[1].outcome
        same += first == final(ruled, markers.mark_all(own, 2), markers.mark_all(own, 1))
    found = chance_of_same(item, MODEL, replicates=4000)
    spread = sqrt(found * (1 - found) / times)
    assert same / times == pytest.approx(found, abs=3.5 * spread + 0.005)


def test_the_posterior_is_that_of_the_textbook() -> None:
    """One mark each on one criterion: own level = mean + r (mark - mean), r = true by all variance (Kelley)."""
    model = MarkModel({("T1", "a"): 3.0}, 0.5, 0.0, 0.0, 0.0, 0.5)
    module = ModuleMarks("C1", (SheetMarks("T1", "T1", "A1", {"a": Fraction(5)}),), {"T1": ("a",)}, {})
    true = model.true_levels(module)
    assert true.mean == pytest.approx([4.0])
    assert (true.root @ true.root.T)[0, 0] == pytest.approx(0.25)


# --- against real repeats -----------------------------------------------------------------------------


@cache
def people(n: int, seed: int, **more: float) -> tuple[list[Judged], list[bool]]:
    """Judged candidates, and whether a real second marking of each gave the same outcome."""
    ruled, markers = rules(), Markers(seed, **more)
    found, same = [], []
    for number in range(n):
        own = markers.own()
        first, third = markers.mark_all(own, 2), markers.mark_all(own, 1)
        found.append(judged(ruled, f"C{number:04}", first)[0])
        second = final(ruled, markers.mark_all(own, 2), markers.mark_all(own, 1))
        same.append(final(ruled, first, third) == second)
    return found, same


def test_the_share_of_many_candidates_is_the_share_that_repeats() -> None:
    items, same = people(300, 11)
    model = mark_model([item.marked for item in items])
    assert isinstance(model, MarkModel)
    assert model.mark == pytest.approx(0.36 + 1 / 12, rel=0.1)
    assert model.sheet == pytest.approx(0.1225, rel=0.25)
    assert model.candidate == pytest.approx(0.25, rel=0.3)
    shares = [chance_of_same(item, model, replicates=200) for item in items]
    for part in ([True] * len(items), [item.near for item in items], [not item.near for item in items]):
        told = [share for share, belongs in zip(shares, part, strict=True) if belongs]
        real = [again for again, belongs in zip(same, part, strict=True) if belongs]
        error = sqrt(np.mean(real) * (1 - np.mean(real)) / len(real))
        assert np.mean(told) == pytest.approx(np.mean(real), abs=3 * error + 0.02)


@pytest.fixture(scope="module")
def twelve() -> Again:
    return same_again("m", people(12, 3)[0], replicates=200)


def test_a_result_has_its_n_its_interval_and_its_sentence(twelve: Again) -> None:
    assert twelve.undefined is None and twelve.spread is not None
    for part in (twelve.overall, twelve.clear):
        assert part.estimate is not None and part.ci95 is not None
        assert 0 <= part.ci95[0] <= part.estimate <= part.ci95[1] <= 1
        assert f"{part.n} candidates" in part.sentence and "95 %" in part.sentence
    assert twelve.overall.n == 12 == twelve.near.n + twelve.clear.n == len(twelve.candidates)
    assert twelve.overall.estimate == pytest.approx(np.mean([one.same for one in twelve.candidates]))
    if twelve.near.n < 5:
        assert twelve.near.estimate is None and f"n={twelve.near.n}" in twelve.near.sentence


def share(items: Sequence[Judged]) -> float:
    model = mark_model([item.marked for item in items])
    assert isinstance(model, MarkModel)
    return float(np.mean([chance_of_same(item, model, replicates=100) for item in items]))


def test_who_stands_further_from_the_line_is_surer() -> None:
    items = people(100, 8)[0]
    model = mark_model([item.marked for item in items])
    assert isinstance(model, MarkModel)
    shares = [(item.near, chance_of_same(item, model, replicates=100)) for item in items]
    near, clear = ([same for is_near, same in shares if is_near == part] for part in (True, False))
    assert np.mean(near) < np.mean(clear) - 0.05


def test_more_error_of_markers_makes_outcomes_repeat_less() -> None:
    little, much = (share(people(60, 8, sheet=error / 2, mark=error)[0]) for error in (0.4, 0.9))
    assert much < little - 0.05


@given(st.permutations(range(12)), st.integers(0, 3))
@settings(deadline=None, max_examples=3)
def test_neither_the_order_nor_a_second_run_changes_a_bit(order: Sequence[int], seed: int) -> None:
    items = people(12, 3)[0]
    once = same_again("m", items, replicates=40, seed=seed)
    assert same_again("m", [items[number] for number in order], replicates=40, seed=seed) == once


def test_a_closed_third_look_is_marked_afresh_with_two_sheets() -> None:
    """What the third sheets told enters the candidate's own level, and they are not drawn again as first ones."""
    ruled = rules()
    levels = TABLES[1][1]
    third: Levels = {task: [dict.fromkeys(held, 5)] for task, held in TASKS.items()}
    closed, result = judged(ruled, "C01", levels, third)
    assert (result.outcome, len(closed.marked.sheets)) == ("passed", 6)
    still = judged(ruled, "C01", levels)[0]
    assert closed.marked.cells == still.marked.cells
    assert MODEL.true_levels(closed.marked).mean.mean() > MODEL.true_levels(still.marked).mean.mean()
    without = replace(
        closed, marked=replace(closed.marked, sheets=tuple(s for s in closed.marked.sheets if not s.third))
    )
    assert chance_of_same(without, MODEL) < chance_of_same(closed, MODEL) - 0.1


@pytest.mark.parametrize(("agreed", "outcome"), [({}, "passed"), ({"a": 2, "b": 2, "c": 2}, "not_passed")])
def test_agreed_levels_stand_in_every_sheet_of_the_first_outcome_and_in_none_of_the_second(
    agreed: dict[str, int], outcome: str
) -> None:
    """Without any error every drawn mark is 4: only what was agreed can make the outcomes differ."""
    ruled = rules(minimum=None, below_line={})
    levels = pair((4, 3), (3, 4))
    slots = [slot(ruled, "T1", by_marker(levels["T1"]), moderated=agreed), slot(ruled, "T2", by_marker(levels["T2"]))]
    fours = {task: [dict.fromkeys(held, 4)] for task, held in TASKS.items()}
    third = [replace(one, third=(sheet(ruled, fours[one.task][0], task=one.task, assessor="A9"),)) for one in slots]
    result = module_result(case(ruled, *slots))
    assert module_result(case(ruled, *third, third_look="closed")).outcome == outcome
    given = tuple(
        SheetMarks(task, task, f"A{number}", {k: Fraction(level) for k, level in marks.items()})
        for task, held in levels.items()
        for number, marks in enumerate(held)
    )
    module = ModuleMarks("C01", given, dict(TASKS), {("T1", k): Fraction(level) for k, level in agreed.items()})
    item = Judged(module, written(ruled), "third_look", result.mean or Fraction(0), True)
    still = MarkModel({(t, k): 4.0 for t, held in TASKS.items() for k in held}, 0.0, 0.0, 0.0, 0.0, 1 / 12)
    assert chance_of_same(item, still, replicates=50) == (1.0 if outcome == "passed" else 0.0)


def by_marker(held: list[dict[str, int]]) -> dict[str, dict[str, int]]:
    return {f"A{number + 1}": marks for number, marks in enumerate(held)}


# --- too little ----------------------------------------------------------------------------------------


def test_few_candidates_and_marks_without_a_second_marker_are_not_estimable() -> None:
    items = people(12, 3)[0]
    found = same_again("m", items[:4], replicates=50)
    assert found.undefined is not None and "n=4" in found.undefined
    assert found.overall.estimate is None and "n=4" in found.overall.sentence and found.candidates == ()
    alone = [
        replace(item, marked=replace(item.marked, sheets=tuple(s for s in item.marked.sheets if s.assessor == "A0")))
        for item in items
    ]
    assert "0 turns marked twice" in str(same_again("m", alone, replicates=50).undefined)
    assert same_again("m", [], replicates=50).undefined


def test_markers_who_never_differ_leave_no_error_to_be_estimated() -> None:
    items = [
        judged(rules(), f"C{n}", {task: [dict.fromkeys(held, level)] * 2 for task, held in TASKS.items()})[0]
        for n, level in enumerate((2, 3, 4, 5, 5, 4))
    ]
    assert "n=6" in str(same_again("m", items, replicates=50).undefined)
    flat = [replace(items[0], marked=replace(items[0].marked, candidate=f"C{n}")) for n in range(6)]
    assert "same marks" in str(same_again("m", flat, replicates=50).undefined)


def test_it_can_be_stopped() -> None:
    with pytest.raises(Cancelled):
        same_again("m", people(6, 3)[0], replicates=50, progress=lambda share: share < 0.5)
