"""The qualification rule: counted by hand, met exactly at its edges, never better for being further off."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from assess.marking.qualification import figures, forbids_any_far_score, judged, unmet
from assess.records.round import Conditions, Qualification
from assess.records.round_figures import Figures
from tests.round_sheets import RUBRIC, reference_of_levels, sheet

REFERENCE = reference_of_levels({"L01": (4, 4, 4, 4), "L02": (3, 3, 4, Fraction(7, 2)), "L03": (5, 5, 5, 6)})


def found(**changed: object) -> Figures:
    """Ten scores on four sheets, all exact, unless changed."""
    base: dict[str, object] = {
        "possible": 10, "scores": 10, "exact": 10, "within_one": 10, "distance": Fraction(0), "above": Fraction(0),
        "sheets": 4, "same_side": 4, "several": 4, "flat": 0, "repeated": 4, "repeated_exact": 4,
        "repeated_within_one": 4, "early": Fraction(0), "early_scores": 5, "late": Fraction(0), "late_scores": 5,
    }  # fmt: skip
    return Figures(**{**base, **changed})  # type: ignore[arg-type]


def test_sheets_are_counted_as_by_hand() -> None:
    sheets = [
        sheet("A1", "L01", (4, 4, 3, 3)),  # 2 exact, 2 one below; 3.5 is on the line, as the panel's 4 is
        sheet(
            "A1", "L02", (3, 5, 4, 4)
        ),  # half a level from 3.5 is exact; 5 is two above 3; 4 against 3.375: other side
        sheet("A1", "L03", (5, None, 6, 6)),  # one not observed, one above
        sheet("A1", "L01-2", (4, 4, 4, 4)),  # flat; two moved by one
    ]
    assert figures(sheets, REFERENCE, RUBRIC) == Figures(
        possible=16, scores=15, exact=11, within_one=14,
        distance=Fraction(2) + Fraction(5, 2) + 1, above=Fraction(-2) + Fraction(5, 2) + 1,
        sheets=4, same_side=3, several=4, flat=1, repeated=4, repeated_exact=2, repeated_within_one=4,
        early=Fraction(1, 2), early_scores=8, late=Fraction(1), late_scores=7,
    )  # fmt: skip


def test_a_repeat_marked_before_its_first_is_a_repeat_all_the_same() -> None:
    sheets = [sheet("A1", "L01-2", (4, 4, 4, 5)), sheet("A1", "L01", (4, 4, 4, 4))]
    counted = figures(sheets, REFERENCE, RUBRIC)
    assert (counted.repeated, counted.repeated_exact) == (4, 3)


def test_nothing_given_reaches_nothing() -> None:
    empty = figures([sheet("A1", "L01", (None,) * 4)], REFERENCE, RUBRIC)
    assert (empty.possible, empty.scores, empty.sheets, empty.severity, empty.drift) == (4, 0, 0, None, None)
    everything = Conditions.model_validate(dict.fromkeys(Conditions.model_fields, "0.5"))
    assert {item.condition for item in unmet(everything, empty)} == set(Conditions.model_fields)
    assert [item.reached for item in unmet(everything, empty)].count(None) == len(Conditions.model_fields) - 1


@pytest.mark.parametrize(
    ("condition", "edge", "reached", "short"),
    [
        ("scored_at_least", "0.9", {"scores": 9}, {"scores": 8}),
        ("exact_at_least", "0.7", {"exact": 7}, {"exact": 6}),
        ("within_one_at_least", "0.9", {"within_one": 9}, {"within_one": 8}),
        ("line_agreement_at_least", "0.75", {"same_side": 3}, {"same_side": 2}),
        ("severity_at_most", "0.3", {"above": Fraction(-3)}, {"above": Fraction(-31, 10)}),
        ("severity_at_most", "0.3", {"above": Fraction(3)}, {"above": Fraction(7, 2)}),
        ("distance_at_most", "0.5", {"distance": Fraction(5)}, {"distance": Fraction(11, 2)}),
        ("drift_at_most", "0.4", {"late": Fraction(2)}, {"late": Fraction(5, 2)}),
        ("drift_at_most", "0.4", {"early": Fraction(2)}, {"early": Fraction(5, 2)}),
        ("repeats_within_one_at_least", "0.5", {"repeated_within_one": 2}, {"repeated_within_one": 1}),
        ("flat_sheets_at_most", "0.25", {"flat": 1}, {"flat": 2}),
    ],
)
def test_every_condition_is_met_at_its_edge_and_not_beyond(
    condition: str, edge: str, reached: dict[str, object], short: dict[str, object]
) -> None:
    asked = Conditions.model_validate({condition: edge})
    assert unmet(asked, found(**reached)) == ()
    assert [item.condition for item in unmet(asked, found(**short))] == [condition]


def test_a_third_is_compared_exactly() -> None:
    asked = Conditions.model_validate({"exact_at_least": "0.333333"})
    assert unmet(asked, found(scores=3, exact=1)) == ()
    assert unmet(Conditions.model_validate({"exact_at_least": "0.333334"}), found(scores=3, exact=1))


RULE = Qualification.model_validate(
    {"current": {"within_one_at_least": "0.9", "severity_at_most": "0.3"}, "mark_again": {"within_one_at_least": "0.8"}}
)


def test_current_then_mark_again_then_train() -> None:
    assert judged(RULE, found()).result == "current"
    again = judged(RULE, found(within_one=8))
    assert (again.result, [item.condition for item in again.unmet]) == ("mark-again", ["within_one_at_least"])
    train = judged(RULE, found(within_one=7, above=Fraction(4)))
    assert train.result == "train"
    assert [(item.condition, str(item.asked)) for item in train.unmet] == [
        ("within_one_at_least", "4/5"), ("within_one_at_least", "9/10"), ("severity_at_most", "3/10"),
    ]  # fmt: skip


def test_without_a_second_chance_it_is_current_or_train() -> None:
    rule = Qualification.model_validate({"current": {"exact_at_least": "0.5"}})
    assert (judged(rule, found(exact=5)).result, judged(rule, found(exact=4)).result) == ("current", "train")


@pytest.mark.parametrize(
    ("asked", "n", "forbids"),
    [
        ("1", 64, True),
        ("0.99", 64, True),
        ("0.984375", 64, False),
        ("0.9", 64, False),
        ("0.9", 5, True),
        ("1", 0, False),
    ],
)
def test_none_off_by_more_than_one_is_seen_however_it_is_written(asked: str, n: int, forbids: bool) -> None:
    assert forbids_any_far_score(Conditions.model_validate({"within_one_at_least": asked}), n) is forbids
    assert not forbids_any_far_score(Conditions.model_validate({"exact_at_least": asked}), n)


@pytest.mark.parametrize("said", [{}, {"exact_at_least": "1.5"}, {"severity_at_most": "-1"}, {"unknown": "1"}])
def test_a_condition_that_asks_nothing_or_nonsense_is_refused(said: dict[str, str]) -> None:
    with pytest.raises(ValidationError):
        Conditions.model_validate(said)


LEVELS = st.tuples(*(st.integers(1, 6) for _ in range(4)))
ORDER = {"current": 2, "mark-again": 1, "train": 0}


@settings(max_examples=150)
@given(LEVELS, LEVELS, st.integers(0, 1), st.integers(0, 3))
def test_a_score_moved_onto_the_panels_level_is_never_counted_as_worse(
    first: tuple[int, ...], second: tuple[int, ...], which: int, criterion: int
) -> None:
    """Exact, within one and distance only; severity and spread may rightly move either way."""
    rule = Qualification.model_validate(
        {
            "current": {"within_one_at_least": "0.9", "exact_at_least": "0.5", "distance_at_most": "0.6"},
            "mark_again": {"within_one_at_least": "0.5"},
        }
    )
    given_levels = {"L01": list(first), "L03": list(second)}
    before = figures([sheet("A1", slot, levels) for slot, levels in given_levels.items()], REFERENCE, RUBRIC)
    slot = ("L01", "L03")[which]
    given_levels[slot][criterion] = int(REFERENCE.lesson(slot).levels[criterion].level)
    after = figures([sheet("A1", slot, levels) for slot, levels in given_levels.items()], REFERENCE, RUBRIC)
    assert ORDER[judged(rule, after).result] >= ORDER[judged(rule, before).result]
