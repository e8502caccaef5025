"""What was seen, as a letter tells it: means of all markers together, descriptors, and notes that name nobody else."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import floor
from typing import TYPE_CHECKING

from assess.desk.outcomes import module_case
from assess.records.ids import base_task
from assess.reports.letter import Place, Strength, Where

if TYPE_CHECKING:
    from assess.desk.deciding import Signed
    from assess.desk.session import Desk
    from assess.marking.results import ModuleResult, Sheet
    from assess.records.facts import Observation
    from assess.records.naming import Names
    from assess.records.rubric import Rubric

__all__ = ["CLOSE", "Basis", "Standing", "module_title", "others_named", "places", "strengths"]

CLOSE = Fraction(1, 2)
"""So many levels either side of the line a criterion is called close to it. A reading aid, no computed interval."""
_MARK = re.compile(r"\b(?:level|mark|score|digit|stufe|note)\w*\s*:?\s*\d|^\s*\d+\s*$", re.IGNORECASE)
"""A note that tells a level is one assessor's mark."""


@dataclass(frozen=True)
class Standing:
    """One criterion of a module over all its tasks and markers. single: one marker alone saw it."""

    criterion: str
    value: Fraction
    n: int
    single: bool


@dataclass(frozen=True)
class Basis:
    """A signed decision with the entries it rests on, and nothing written later."""

    desk: Desk
    signed: Signed
    result: ModuleResult
    sheets: tuple[tuple[str, Sheet], ...]
    rubric: Rubric
    others: Names

    @classmethod
    def of(cls, desk: Desk, signed: Signed, others: Names) -> Basis:
        """From the record; others: `others_named`. Raises Refusal where it is not as it was signed."""
        from assess.desk.decision_basis import as_signed
        from assess.marking.outcome import module_result

        then = as_signed(desk, signed)
        result = module_result(module_case(then, signed.candidate, signed.fact.module))
        task = next(t.id for t in desk.course.tasks if signed.fact.module in desk.rubric_for(t.id).modules_of(t.id))
        used = tuple(
            (item.task, then.folded(item.task, signed.candidate, item.assessor))
            for item in result.sheets
            if item.value is not None
        )
        return cls(desk, signed, result, used, desk.rubric_for(task), others)

    @property
    def closed_by_breach(self) -> bool:
        """True when a confirmed breach decides the module."""
        return self.result.breach is not None and self.result.breach.state == "confirmed"

    @cached_property
    def standings(self) -> tuple[Standing, ...]:
        """Every criterion that was scored, in the rubric's order."""
        found = []
        for name in self.rubric.criteria:
            values = [item for item in self.result.values if item.criterion == name]
            n = sum(item.n for item in values)
            if values:
                mean = sum((item.value for item in values), Fraction(0)) / len(values)
                found.append(Standing(name, mean, n, len(self._markers(name)) < 2))
        return tuple(found)

    def _markers(self, criterion: str) -> set[str]:
        marks = ((sheet.assessor, sheet.mark(criterion)) for _, sheet in self.sheets)
        return {assessor for assessor, mark in marks if mark is not None and mark.value is not None}

    def descriptor(self, criterion: str, value: Fraction, above: int = 0) -> str:
        """The sentence of the level that was reached in full (`above` levels higher); empty where there is none."""
        level = min(max(floor(value), self.rubric.scale.min) + above, self.rubric.scale.max)
        if above and level <= floor(value):
            return ""
        return self.rubric.criteria[criterion].levels.get(level, "")

    def task_title(self, task: str) -> str:
        """What a task is called: `T3-2` is a T3."""
        return self.desk.task(base_task(task, {item.id for item in self.desk.course.tasks})).title

    def notes(self, criterion: str, direction: str) -> Iterator[tuple[str, str]]:
        """(title of the task, words) of what was noted for or against a criterion; none that tells of anybody else.

        In an order that has nothing to do with who wrote them.
        """
        found = {
            (task, seen.fact.text)
            for task, sheet in self.sheets
            for seen in sheet.observations
            if seen.fact.direction == direction and criterion in seen.fact.criteria and self.tells(seen.fact)
        }
        for task, words in sorted(found, key=lambda item: (item[0], item[1] or "")):
            yield self.task_title(task), words or ""

    def tells(self, fact: Observation) -> bool:
        """True for words from the task that name nobody else and no level."""
        return bool(fact.made_in_task and fact.text and self.said(fact.text) and not _MARK.search(fact.text))

    def said(self, text: str) -> str:
        """The text, or nothing where it names anybody but the candidate."""
        return "" if self.others.found(text) or self._ids.search(text) else text

    @cached_property
    def _ids(self) -> re.Pattern[str]:
        course, people = self.desk.course, self.desk.people
        ids = {*course.candidates, *course.assessors, *course.directors, *(each.id for each in people.learners)}
        others = sorted(ids - {self.signed.candidate}, key=lambda name: (-len(name), name))
        return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, others)) or '(?!)'})(?!\w)", re.IGNORECASE)


def others_named(desk: Desk, candidate: str, ordinary: frozenset[str]) -> Names:
    """Finds everybody in a text but the candidate; ordinary: words that name nobody when they are written small."""
    from assess.records.naming import Names, everybody_named

    people = everybody_named(desk.people)
    own = [each for each in people if each.id == candidate]
    return Names((each for each in people if each.id != candidate), spared=own, ordinary=ordinary)


def module_title(desk: Desk, module: str) -> str:
    """What a module is called in the rubric, its id otherwise."""
    for task in desk.course.tasks:
        found = desk.rubric_for(task.id).modules.get(module)
        if found is not None and found.title:
            return found.title
    return module


def places(desk: Desk, basis: Basis) -> Iterator[Place]:
    """Where every criterion of a module stands; for a decision that rests on no numbers there is none."""
    from assess.marking.rounding import fair

    if basis.signed.fact.decision not in ("grant", "refuse", "open"):
        return
    scale = basis.rubric.scale
    for item in basis.standings:
        share = (item.value - scale.min) / (scale.max - scale.min)
        where: Where = "single" if item.single else _where(item.value, scale.pass_line)
        yield Place(
            module_title(desk, basis.signed.fact.module),
            basis.rubric.criteria[item.criterion].label,
            None if item.single else fair(item.value, scale.pass_line),
            0.0 if item.single else float(share),
            item.n,
            where,
        )


def _where(value: Fraction, line: Fraction) -> Where:
    if abs(value - line) <= CLOSE:
        return "close"
    return "above" if value > line else "below"


def strengths(desk: Desk, bases: Sequence[Basis], missing: list[str], most: int = 2) -> tuple[Strength, ...]:
    """The two criteria that stand highest, those with a note from the task first where they are as high or nearly so.

    A module a breach closed has none: nobody who was put at risk wants to read them.
    """
    ranked = []
    for place, basis in enumerate(bases):
        if basis.closed_by_breach or basis.signed.fact.decision not in ("grant", "refuse", "open"):
            continue
        for item in basis.standings:
            if not item.single:
                unseen = next(basis.notes(item.criterion, "for"), None) is None
                # Less than half a level apart is no difference: then the one that can be shown goes first.
                ranked.append((-floor(item.value * 2), unseen, -item.value, place, item.criterion))
    if not ranked:
        missing.append("no strength: nothing was seen by two markers outside what a breach closed")
    found: list[Strength] = []
    for _, _, value, place, criterion in sorted(ranked)[:most]:
        found.append(_strength(bases[place], criterion, -value, {item.note for item in found}))
    return tuple(found)


def _strength(basis: Basis, criterion: str, value: Fraction, told: set[str]) -> Strength:
    """With a note that was not told before, if there is one."""
    task, note = next((item for item in basis.notes(criterion, "for") if item[1] not in told), ("", ""))
    module = module_title(basis.desk, basis.signed.fact.module)
    return Strength(
        module, basis.rubric.criteria[criterion].label, basis.descriptor(criterion, value), note, task
    )  # fmt: skip
