"""How far a third look can lead: checked against every third sheet that could be given."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import product

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from assess.marking.case import ModuleCase
from assess.marking.fold import task_of
from assess.marking.outcome import module_result
from assess.marking.reach import Decided, decide, reach, seen_slots
from assess.marking.rule import module_rule, rule_outcome
from assess.marking.values import CountedSheet, counted_sheets, tally, weighted_mean
from tests.marking.building import Given, case, flat, rubric, sheet_error, slot
from tests.marking.drawn import Drawn, modules
from tests.marking.test_flips import LEVELS, small_modules


def every_third_look(start: ModuleCase) -> Iterator[Decided]:
    """The module after every third look over all slots a third person can see; an agreed mark stands in it too."""
    sheets = counted_sheets(start)
    agreed = {(held.task, k): level for held in start.slots for k, level in held.moderated.items()}
    seen = start.third_tasks
    slots = sorted({s.slot for s in sheets if seen is None or {s.slot, s.task} & set(seen)})
    places = [(task, k) for task in slots for k in task_of(task, start.rubric).criteria]
    rule = module_rule(start.rubric, "m")
    for given_levels in product(LEVELS, repeat=len(places)):
        marks = {place: Fraction(agreed.get(place, new)) for place, new in zip(places, given_levels, strict=True)}
        third = []
        for task in slots:
            levels = {k: level for (held, k), level in marks.items() if held == task}
            value = weighted_mean(levels, start.rubric)
            third.append(CountedSheet(task, start.base(task), "A9", levels, value, third=True))
        figures = tally([*sheets, *third], "m", start.rubric)
        yield Decided(rule_outcome(figures, rule, read_band=False), figures)


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(small_modules())
def test_the_ends_and_the_outcomes_told_are_those_of_all_third_looks_together(start: ModuleCase) -> None:
    start = replace(start, third_look="none")
    told = reach(counted_sheets(start), start, module_rule(start.rubric, "m"))
    tried = list(every_third_look(start))
    means = [item.figures.mean for item in tried]
    assert (told.lowest, told.highest) == (min(means), max(means))
    assert set(told.outcomes) == {item.outcome for item in tried}


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(small_modules())
def test_a_third_look_is_offered_only_where_it_can_lead_to_either_outcome(start: ModuleCase) -> None:
    start = replace(start, third_look="none")
    rule = module_rule(start.rubric, "m")
    result = decide(counted_sheets(start), start, rule)
    plain = rule_outcome(result.figures, rule, read_band=True)
    possible = {item.outcome for item in every_third_look(start)}
    if plain == "third_look":
        assert result.outcome == ("third_look" if len(possible) == 2 else possible.pop())
    else:
        assert (result.outcome, result.reach) == (plain, None)


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(modules(breaches=False, medians=True, looks=("closed",)))
def test_no_third_look_leads_beyond_the_reach_told_before_it(drawn: Drawn) -> None:
    before, after = replace(drawn, third_look="none").case(), drawn.case()
    first, last = counted_sheets(before), counted_sheets(after)
    assume({s.slot for s in first} == {"T1", "T2"})
    # What no marker could mark is not there for a third person either.
    excluded = {(s.slot, k) for s in first for k in s.excluded}
    assume(not any((s.slot, k) in excluded for s in last if s.third for k in s.levels))
    if drawn.rules.third_look.median_if_apart is not None:
        # With medians the ends are told for third sheets, one in each slot seen, with a whole level on every criterion.
        thirds = [s for s in last if s.third]
        assume({s.slot for s in thirds} == set(seen_slots(first, before)))
        assume(all(len(s.levels) == len(drawn.rules.tasks[s.task].criteria) - _nowhere(s, first) for s in thirds))
        assume(all(level.denominator == 1 for s in thirds for level in s.levels.values()))
    told = reach(first, before, module_rule(drawn.rules, "m"))
    mean = tally(last, "m", drawn.rules).mean
    assert told.lowest <= mean <= told.highest


def _nowhere(third: CountedSheet, first: tuple[CountedSheet, ...]) -> int:
    """How many criteria of a slot no marker could mark."""
    excluded = [s.excluded.difference(s.levels) for s in first if s.slot == third.slot]
    return len(frozenset.intersection(*excluded))


def test_an_agreed_mark_does_not_move_in_a_third_look() -> None:
    # All four marks agreed: a third sheet can bring nothing new, so no third look is offered.
    rules = rubric({"T1": ("a", "b")}, below_line={"m": 2}, band={"z": "1", "sheet_error": {"m": sheet_error("0.5")}})
    both = {"A1": flat(rules, "T1", 5), "A2": flat(rules, "T1", 3)}
    result = module_result(case(rules, slot(rules, "T1", both, moderated={"a": 4, "b": 3})))
    assert (result.outcome, result.mean, result.reach) == ("passed", Fraction(7, 2), None)
    assert result.reasons == ("third look not offered: from 3.50 to 3.50 it cannot change the outcome",)
    # a is 4 in every sheet, b 5 and 3: with a third b of 1 the mean is 21/6, with one of 6 it is 26/6.
    one = case(rules, slot(rules, "T1", both, moderated={"a": 4}))
    told = reach(counted_sheets(one), one, module_rule(rules, "m"))
    assert (told.lowest, told.highest) == (Fraction(21, 6), Fraction(26, 6))


def test_with_medians_each_slot_has_an_end_of_its_own() -> None:
    # T1 4 and 4: a third 1 is far apart, the median stays 4; a third 3 is near and gives 11 in all.
    # T2 5 and 1: far apart already, so the median of 5, 1 and 1 counts three times: 3 in all. (11 + 3) / 6.
    rules = rubric(third_look={"median_if_apart": "1"})
    start = case(
        rules,
        slot(rules, "T1", {"A1": flat(rules, "T1", 4), "A2": flat(rules, "T1", 4)}),
        slot(rules, "T2", {"A1": flat(rules, "T2", 5), "A2": flat(rules, "T2", 1)}),
    )
    told = reach(counted_sheets(start), start, module_rule(rules, "m"))
    assert (told.lowest, told.highest) == (Fraction(14, 6), Fraction(13 + 15, 6))


@given(st.lists(st.integers(1, 6), min_size=4, max_size=4))
def test_the_reach_holds_the_mean_it_starts_from(levels: list[int]) -> None:
    rules = rubric({"T1": ("a", "b")})
    sheets = {"A1": dict(zip("ab", levels[:2], strict=True)), "A2": dict(zip("ab", levels[2:], strict=True))}
    start = case(rules, slot(rules, "T1", sheets))
    told = reach(counted_sheets(start), start, module_rule(rules, "m"))
    assert told.lowest <= Fraction(sum(levels), 4) <= told.highest


def test_what_no_marker_could_mark_is_no_part_of_a_third_sheet() -> None:
    rules = rubric({"T1": ("a", "b")}, weights={"a": "1", "b": "3"})
    without: dict[str, Given] = {"a": 4, "b": "not-applicable"}
    start = case(rules, slot(rules, "T1", {"A1": without, "A2": without}))
    told = reach(counted_sheets(start), start, module_rule(rules, "m"))
    assert (told.lowest, told.highest) == (Fraction(9, 3), Fraction(14, 3))
    one_could = case(rules, slot(rules, "T1", {"A1": without, "A2": {"a": 4, "b": 4}}))
    told = reach(counted_sheets(one_could), one_could, module_rule(rules, "m"))
    assert (told.lowest, told.highest) == (Fraction(9, 3), Fraction(14, 3))
