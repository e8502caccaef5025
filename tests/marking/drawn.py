"""Hypothesis strategies: small rubrics with every rule varied, and whole modules marked by two or three people."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from hypothesis import strategies as st

from assess.marking.case import ModuleCase, SlotCase
from assess.marking.fold import fold_sheet
from assess.marking.results import BreachState, Sheet
from assess.records.facts import Fact, Score
from assess.records.ledger import Ledger
from assess.records.rubric import Rubric
from tests.marking.building import REF, Given, ledger, locked, rubric, sheet_error

TASKS = {"T1": ("a", "b", "c"), "T2": ("a", "d")}
NOT_A_NUMBER = ("not-observed", "not-applicable")
# (slot, assessor) -> one mark per (run, criterion)
Marks = dict[tuple[int, str], Given]


@dataclass(frozen=True)
class Drawn:
    """A module before it is folded: the marks of every sheet, so that a test can change one of them."""

    rules: Rubric
    sheets: Mapping[tuple[str, str], Marks]
    thirds: Mapping[tuple[str, str], Marks] = field(default_factory=dict)
    moderated: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    breaches: tuple[BreachState, ...] = ()
    third_look: str = "none"
    third_tasks: tuple[str, ...] | None = None

    def case(self, *, reverse: bool = False, unlocked: frozenset[tuple[str, str]] = frozenset()) -> ModuleCase:
        turn = -1 if reverse else 1
        slots = []
        for task in sorted({task for task, _ in self.sheets})[::turn]:
            whose = sorted(who for held, who in self.sheets if held == task)[::turn]
            own = tuple(self._sheet(self.sheets[task, w], task, w, (task, w) not in unlocked) for w in whose)
            third = tuple(self._sheet(m, task, w, True) for (held, w), m in self.thirds.items() if held == task)
            agreed = self.moderated.get(task, {})
            slots.append(SlotCase(task, "C01", tuple(sorted(whose)), sheets=own, third=third, moderated=agreed))
        return ModuleCase(
            self.rules, "m", "C01", tuple(slots), self.breaches, self.third_look, self.third_tasks  # type: ignore[arg-type]
        )  # fmt: skip

    def _sheet(self, marks: Marks, task: str, who: str, lock: bool) -> Sheet:
        own = sheet_ledger(marks, task, who)
        return fold_sheet([locked(own) if lock else own], rubric=self.rules)


def sheet_ledger(marks: Marks, task: str, who: str) -> Ledger:
    facts: list[Fact] = [
        Score(run=run, criterion=k, level=given)
        if isinstance(given, int)
        else Score(run=run, criterion=k, status=given)
        for (run, k), given in sorted(marks.items())
    ]
    return ledger(facts, task=task, assessor=who, ref=REF)


@st.composite
def rubrics(draw: st.DrawFn, *, medians: bool = False) -> Rubric:
    """Weights, coverage, line, kind of rule, minimum, count, band, folds and minimum evidence all vary."""
    weights = {k: draw(st.sampled_from(["0.5", "1", "2", "3"])) for k in "abcd"}
    minimum = draw(st.sampled_from([None, {"value": "2.5"}, {"value": "3", "inclusive": False}]))
    median = draw(st.sampled_from([None, "0.5", "1"])) if medians else None
    scale = {"min": 1, "max": 6, "pass_line": draw(st.sampled_from(["2.5", "3", "3.5", "3.75"]))}
    return rubric(
        TASKS,
        scale={**scale, "words": dict.fromkeys(range(1, 7), "x")},
        weights=draw(st.sampled_from(["1", weights])),
        coverage=draw(st.sampled_from(["0.5", "0.5", "0.75", "1"])),
        rule=draw(st.sampled_from(["mixed", "mixed", "compensatory", "conjunctive"])),
        minimum=minimum,
        below_line=draw(st.sampled_from([{}, {"m": 0}, {"m": 1}, {"m": 2}])),
        band=draw(st.sampled_from([None, {"z": "1", "sheet_error": {"m": sheet_error("0.5")}},
                                   {"z": "1.64", "sheet_error": {"m": sheet_error("0.8")}}])),
        passes={"T1": draw(st.sampled_from(["last", "median", "best", "overall"]))},
        third_look={"median_if_apart": median},
        minimum_evidence={"scores": draw(st.sampled_from([0, 1, 1, 2])), "tasks": draw(st.integers(0, 1))},
    )  # fmt: skip


def marks(task: str) -> st.SearchStrategy[Marks]:
    """The marks of one sheet, many of them near the line; T1 has one to three runs and sometimes an overall mark."""
    anything = st.sampled_from((*range(1, 7), *NOT_A_NUMBER))
    given: st.SearchStrategy[Given] = st.one_of(*[st.integers(3, 4)] * 3, *[st.integers(2, 5)] * 3, anything)
    runs = st.sampled_from([(1,), (1,), (1, 2), (0, 1, 2), (1, 2, 3)] if task == "T1" else [(1,)])
    return runs.flatmap(
        lambda held: st.fixed_dictionaries({(run, k): given for run in held for k in TASKS[task]})
    )  # fmt: skip


@st.composite
def modules(
    draw: st.DrawFn,
    *,
    medians: bool = False,
    breaches: bool = True,
    looks: tuple[str, ...] = ("none", "none", "closed", "ordered"),
) -> Drawn:
    """A module of two tasks with two markers each; perhaps a third look, moderations, a breach."""
    rules = draw(rubrics(medians=medians))
    sheets = {(task, who): draw(marks(task)) for task in TASKS for who in ("A1", "A2")}
    look = draw(st.sampled_from(looks))
    seen = draw(st.sampled_from([None, ("T1",), ("T2",), ()]))
    thirds = {(task, "A3"): draw(marks(task)) for task in TASKS if look != "none" and (seen is None or task in seen)}
    agreed = {
        task: draw(st.dictionaries(st.sampled_from(TASKS[task]), st.integers(1, 6), max_size=2))
        for task in TASKS
        if draw(st.integers(0, 4)) == 0
    }
    states = st.sampled_from([BreachState("past-a-rope", word, ("m",)) for word in ("reported", "not-confirmed")])
    held = draw(st.lists(states, max_size=1)) if breaches and draw(st.integers(0, 5)) == 0 else []
    return Drawn(rules, sheets, thirds, agreed, tuple(held), look, seen)
