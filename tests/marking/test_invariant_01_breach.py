"""Invariant 1: a confirmed breach gives not_passed in every module it closes, whatever the numbers."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given

from assess.marking.outcome import module_result
from assess.marking.results import BreachState
from assess.records.facts import Breach
from tests.marking.building import case, even, flat, ledger, locked, rubric, scores, slot
from tests.marking.drawn import Drawn, modules

CONFIRMED = BreachState("past-a-rope", "confirmed", ("m", "other"))
REPORTED = BreachState("past-a-rope", "reported", ("m",))
LIFTED = BreachState("past-a-rope", "not-confirmed", ("m",))


@given(modules())
def test_no_numbers_moderations_or_third_looks_lift_a_confirmed_breach(drawn: Drawn) -> None:
    result = module_result(replace(drawn.case(), breaches=(REPORTED, CONFIRMED)))
    assert result.outcome == "not_passed"
    assert result.reasons == ("breach confirmed",)
    assert result.breach == CONFIRMED


def test_all_sixes_do_not_outweigh_a_confirmed_breach() -> None:
    result = module_result(even(rubric(), 6, breaches=(CONFIRMED,)))
    assert (result.outcome, result.mean, result.flips_with) == ("not_passed", Fraction(6), None)


def test_a_confirmed_breach_closes_a_module_that_is_not_locked_yet() -> None:
    rules = rubric()
    open_slot = replace(slot(rules, "T1", {"A1": flat(rules, "T1", 5)}), allocated=("A1", "A2"))
    result = module_result(case(rules, open_slot, breaches=(CONFIRMED,)))
    assert (result.outcome, result.mean, result.reasons) == ("not_passed", None, ("breach confirmed", "not locked"))


def test_only_not_confirmed_lifts_it() -> None:
    rules = rubric()
    assert module_result(even(rules, 5, breaches=(REPORTED,))).outcome == "open"
    assert module_result(even(rules, 5, breaches=(LIFTED,))).outcome == "passed"


def test_a_breach_of_another_module_changes_nothing_here() -> None:
    elsewhere = BreachState("elsewhere", "confirmed", ("other",))
    result = module_result(even(rubric(), 5, breaches=(elsewhere,)))
    assert (result.outcome, result.breach) == ("passed", None)


def test_a_report_waits_open_until_it_is_decided() -> None:
    result = module_result(even(rubric(), 1, breaches=(REPORTED,)))
    assert (result.outcome, result.reasons) == ("open", ("breach reported, not yet decided",))


def test_the_rules_open_no_breach_by_themselves() -> None:
    # A report on a sheet is taken up by a person; the computation of an outcome neither finds nor decides one.
    from assess.marking.fold import fold_sheet

    rules = rubric()
    facts = [*scores(flat(rules, "T1", 5)), Breach(must_not="past-a-rope")]
    told = fold_sheet([locked(ledger(facts))], rubric=rules)
    assert [report.must_not for report in told.breaches] == ["past-a-rope"]
    whole = slot(rules, "T2", {"A1": flat(rules, "T2", 5)})
    one = replace(slot(rules, "T1", {"A1": flat(rules, "T1", 5)}), sheets=(told,))
    assert module_result(case(rules, one, whole)).breach is None
