"""The reading of a diagnosis: the worked table, and what holds for any names (the project's own arithmetic)."""

from __future__ import annotations

from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.lesson.diagnosis import read_diagnosis
from assess.lesson.results import DiagnosisReading
from assess.records.catalogue import Catalogue
from assess.records.practice import LearnerReference, Named, Scenario
from assess.store.catalogue_folder import load_catalogue
from assess.store.practice_file import read_practice
from tests.courses import ROOT


@lru_cache
def catalogue() -> Catalogue:
    return load_catalogue(ROOT / "rubrics" / "alpine-ski" / "catalogue").catalogue


@lru_cache
def scenarios() -> dict[str, Scenario]:
    practice = read_practice(ROOT / "sample_sessions" / "practice" / "alpine-ski.yaml").practice
    return {scenario.id: scenario for scenario in practice.scenarios}


def learner(scenario: str) -> LearnerReference:
    return scenarios()[scenario].reference.target_learner


def read(scenario: str, *names: str) -> DiagnosisReading:
    """`-name` is a cause ruled out."""
    who = learner(scenario)
    said = [
        Named.model_validate(
            {"fault": name.lstrip("-"), "role": "ruled_out" if name.startswith("-") else "root", "learner": who.id}
        )
        for name in names
    ]
    return read_diagnosis(said, who, catalogue())


# Targets flat-start .6, upper-rotation .4; two chains from flat-start; two decimals as printed.
WORKED = [
    (("flat-start", "upper-rotation"), (1.00, 1.00, 1.00, 1.00)),
    (("upper-rotation", "flat-start"), (1.00, 0.91, 1.00, 0.98)),
    (("flat-start",), (0.60, 0.70, 1.00, 0.69)),
    (("flat-start", "a-frame"), (0.60, 0.70, 0.50, 0.61)),
    (("aft-stance", "flat-start"), (0.60, 0.44, 0.50, 0.55)),
    (("flat-start", "pop-up"), (0.60, 0.70, 0.50, 0.36)),
    (("late-pressure",), (0.30, 0.35, 0.50, 0.34)),
    (("late-pressure", "square-finish", "chatter"), (0.30, 0.35, 0.50, 0.34)),
    (("chatter",), (0.15, 0.18, 0.25, 0.17)),
]


@pytest.mark.parametrize(("names", "values"), WORKED, ids=lambda value: "+".join(map(str, value)))
def test_the_worked_table_of_the_third_learner(names: tuple[str, ...], values: tuple[float, ...]) -> None:
    found = read("S3", *names)
    for got, wanted in zip((found.recall, found.ndcg, found.precision, found.score), values, strict=True):
        assert got is not None and abs(got - wanted) < 0.0051


def test_a_ski_rightly_ruled_out_costs_nothing_and_named_as_a_cause_it_costs_ground() -> None:
    assert read("S4", "-X-ski", "flat-start", "early-hip-drop").score == pytest.approx(1.0)
    assert read("S4", "X-ski", "flat-start", "early-hip-drop").score == pytest.approx(0.86, abs=0.005)


NAMES = st.lists(st.sampled_from(sorted(catalogue().names)), max_size=5, unique=True)
WHO = st.sampled_from(sorted(scenarios()))


@given(WHO, NAMES, st.data())
@settings(deadline=None, max_examples=150)
def test_one_more_right_cause_within_the_first_three_never_lowers_what_was_found(who, names, data) -> None:
    names = names[:2]
    target = data.draw(st.sampled_from([root.id for root in learner(who).roots]))
    if target not in names:
        before, after = read(who, *names).recall, read(who, *names, target).recall
        assert before is not None and after is not None and after >= before - 1e-12


@given(WHO, NAMES, NAMES)
@settings(deadline=None, max_examples=150)
def test_the_fourth_and_later_names_change_nothing(who, first, more) -> None:
    first = (first + sorted(set(catalogue().names) - set(first)))[:3]
    one, two = read(who, *first), read(who, *first, *more)
    assert (one.score, one.recall, one.ndcg, one.precision, one.harmful) == (
        two.score, two.recall, two.ndcg, two.precision, two.harmful,
    )  # fmt: skip


@given(WHO, NAMES, st.sampled_from(sorted(catalogue().names)), st.integers(0, 5))
@settings(deadline=None, max_examples=150)
def test_a_cause_ruled_out_changes_no_number(who, names, ruled_out, place) -> None:
    names = [name for name in names if name != ruled_out]
    one, two = read(who, *names), read(who, *names[:place], f"-{ruled_out}", *names[place:])
    assert (one.score, one.recall, one.ndcg, one.precision) == (two.score, two.recall, two.ndcg, two.precision)


@given(WHO, st.data())
@settings(deadline=None, max_examples=100)
def test_several_symptoms_of_one_cause_earn_no_more_than_the_best_of_them(who, data) -> None:
    chain = data.draw(st.sampled_from([chain for chain in learner(who).chains if len(chain) > 1]))
    targets = {root.id for root in learner(who).roots}
    symptoms = [name for name in chain[1:] if name not in targets][:3]
    if symptoms:
        together = read(who, *symptoms).recall
        assert together == pytest.approx(max(read(who, name).recall or 0 for name in symptoms))
