"""A calibration round as plain lines: the assessors one line each, or one of them lesson by lesson."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.cli.figures import cautions, many, number, paragraphs, percent

if TYPE_CHECKING:
    from fractions import Fraction

    from assess.desk.round_lessons import LessonLine, PairedMark, Parted
    from assess.desk.round_signing import SignedResult
    from assess.desk.rounds import AssessorRound, RoundView
    from assess.desk.session import Desk

__all__ = ["CAUTION", "assessor_lines", "round_lines", "signed_lines"]

CAUTION = (
    "Numbers about marks, not about people. The rule proposes; a director decides and signs. Never a sanction from one"
    " number."
)
_NAME = 20


def round_lines(view: RoundView) -> Iterator[str]:
    """The round for one person: the reference, the rule and its chances, then a line for each assessor."""
    yield from paragraphs([CAUTION])
    yield ""
    yield from paragraphs([_head(view)])
    if view.why:
        yield ""
        yield from paragraphs([f"The reference is not shown: {view.why}."])
    else:
        yield from _reference(view)
    yield from _rule(view)
    if view.assessors:
        yield ""
        yield f"  {'':<{_NAME}}{'result':<12}{'off by':>7}{'exact':>7}{'near':>7}{'line':>7}{'level':>8}  95 %"
        for found in view.assessors:
            yield from _line(found)
        yield from paragraphs([_legend()])
    yield from _locks(view)
    yield from cautions(view.notes)


def _head(view: RoundView) -> str:
    this = view.round
    lessons = f"{many(len(this.lessons), 'lesson')}, {len(this.repeats)} of them marked twice"
    return f"{this.id} {this.title} ({this.date}): {lessons}; panel of {len(set(this.panel))}."


def _reference(view: RoundView) -> Iterator[str]:
    reference, panel = view.reference, view.panel
    if reference is None or panel is None:
        return
    yield ""
    n = len(set(view.round.panel))
    told = f"The reference is the middle of {n} blind markings; {reference.near} of {len(reference.lessons)} lessons"
    told += f" are within {float(view.round.near_line):g} of the pass line."
    if panel.score is not None:
        told += f" One score of the panel is off by {panel.score:.2f} levels as a rule"
        told += f" ({panel.n_scores} scores, {many(panel.n_lessons, 'lesson')})."
    yield from paragraphs([told])


def _rule(view: RoundView) -> Iterator[str]:
    from assess.desk.round_rule import rule_words

    yield ""
    yield "The rule:"
    yield from paragraphs(rule_words(view.round.rule), "  ")
    if view.refused:
        yield from paragraphs([f"It cannot be used: {view.refused}. Nobody is judged by it."], "  ")
    yield from paragraphs([each.sentence for each in view.chances], "  ")
    if view.chances:
        yield from paragraphs([f"(Worked out on these lessons, from {view.chances[0].n} simulated rounds each.)"], "  ")


def _line(found: AssessorRound) -> Iterator[str]:
    from assess.desk.round_rule import RESULT_WORDS

    numbers, figures = found.numbers, found.figures
    name = f"{found.assessor} {found.name}"
    if len(name) > _NAME - 1:
        yield f"  {name}"
        name = ""
    word = RESULT_WORDS[found.judged.result] if found.judged else "-"
    line = f"{figures.same_side}/{figures.sheets}"
    severity = numbers.severity.estimate
    shown = "-" if severity is None else f"{severity:+.2f}"
    ends = numbers.severity.ci95
    between = f"{ends[0]:+.2f} to {ends[1]:+.2f}" if ends else "-"
    yield (
        f"  {name:<{_NAME}}{word:<12}{number(numbers.distance.estimate):>7}{percent(numbers.exact.estimate):>7}"
        f"{percent(numbers.within_one.estimate):>7}{line:>7}{shown:>8}  {between}"
    )
    if found.looks:
        yield f"  {'':<{_NAME}}to look at: {', '.join(found.looks)}"
    if found.signed is not None:
        until = f", licence until {found.signed.licence.valid_to}" if found.signed.licence else ""
        old = "; it rests on other sheets or another rule than stand here now" if found.stale else ""
        yield f"  {'':<{_NAME}}signed: {RESULT_WORDS[found.signed.result]}{until}{old}"


def _legend() -> str:
    return (
        "off by: mean distance of a score from the panel's, in levels. near: on the panel's level or the next. line:"
        " sheets on the panel's side of the pass line. level: plus gives more than the panel, with its 95 % interval."
    )


def _locks(view: RoundView) -> Iterator[str]:
    if not view.locks:
        return
    yield ""
    if all(each.done for each in view.locks):
        who = "Everybody has locked everything" if len(view.locks) > 1 else "You have locked everything"
        yield f"{who} ({', '.join(each.marker for each in view.locks)})."
        return
    yield "Locked so far:"
    for each in view.locks:
        panel = ", panel" if each.panel else ""
        yield f"  {each.marker:<4}{each.locked:>3} of {each.of}{panel}"


# --- one assessor ------------------------------------------------------------------------------


def assessor_lines(desk: Desk, view: RoundView, found: AssessorRound) -> Iterator[str]:
    """One assessor: the result and why, every number and habit in a sentence, the lessons, where they parted."""
    from assess.desk.round_lessons import lesson_lines, parted
    from assess.desk.round_rule import RESULT_WORDS, reached

    yield from paragraphs([CAUTION])
    yield ""
    yield from paragraphs([_head(view)])
    yield ""
    word = RESULT_WORDS[found.judged.result] if found.judged else "no result: the rule cannot be used"
    yield f"{found.assessor} {found.name}: {word}"
    if found.judged:
        yield from paragraphs([f"not reached: {reached(item)}" for item in found.judged.unmet], "  ")
    numbers = found.numbers
    yield ""
    told = [each.sentence for each in (numbers.exact, numbers.within_one, numbers.line, numbers.distance)]
    same, near = found.near
    told.append(f"Of the {many(near, 'sheet')} near the pass line {same} are on the panel's side.")
    yield from paragraphs(told, "* ")
    yield ""
    yield "Habits:"
    for effect in numbers.effects:
        yield from paragraphs([f"{effect.verdict}: {effect.sentence}"], "* ")
        yield from paragraphs([f"What helps: {effect.todo}"] if effect.todo else [], "  ")
    yield from _table(lesson_lines(desk, view, found))
    yield from _parted(parted(desk, view, found))


def _table(lessons: tuple[LessonLine, ...]) -> Iterator[str]:
    labels = list(dict.fromkeys(mark.label for line in lessons for mark in line.marks))
    yield ""
    yield "Lesson by lesson, yours and the panel's (in the order of marking; ~ near the line, ! the other side):"
    yield f"  {'':<12}" + "".join(f"{label[:13]:>14}" for label in labels)
    for line in lessons:
        flags = ("~" if line.near else " ") + (" " if line.same_side is not False else "!")
        by_label = {mark.label: mark for mark in line.marks}
        cells = "".join(f"{_pair(by_label.get(label)):>14}" for label in labels)
        yield f"  {line.place:>2} {line.slot:<6}{flags} {cells}"


def _pair(mark: PairedMark | None) -> str:
    if mark is None:
        return ""
    return f"{_level(mark.level)} {_level(mark.reference)}"


def _level(level: Fraction | None) -> str:
    return "-" if level is None else f"{float(level):g}"


def _parted(items: tuple[Parted, ...]) -> Iterator[str]:
    yield ""
    if not items:
        yield "Nowhere did the two part by two levels, or by one across the pass line."
        return
    yield "Where they parted, the furthest first:"
    for item in items:
        mark = item.mark
        across = ", across the pass line" if item.across else ""
        between = f"{_level(mark.lowest)} to {_level(mark.highest)}"
        yield from paragraphs(
            [f"{item.slot} {item.title}, {mark.label}: {_level(mark.level)}, the panel {_level(mark.reference)}"
             f" ({between}){across}"], "* "
        )  # fmt: skip
        yield from paragraphs([f"noted: {'; '.join(item.mine) or 'nothing'}"], "    ")
        if item.reason:
            yield from paragraphs([f"the panel's reason: {item.reason}"], "    ")
        if item.panel:
            yield from paragraphs([f"the panel noted: {'; '.join(item.panel[:3])}"], "    ")


def signed_lines(signed: tuple[SignedResult, ...], into: str | None) -> Iterator[str]:
    """What was signed for whom, and what went into a course."""
    from assess.desk.round_rule import RESULT_WORDS

    for item in signed:
        licence = item.licence
        worth = f", licence {licence.valid_from} to {licence.valid_to}" if licence else ", no licence follows"
        if licence and licence.conditions:
            worth += f" ({', '.join(licence.conditions)})"
        before = "signed" if item.new else "signed already"
        yield f"{item.assessor} {item.name}: {RESULT_WORDS[item.result]}{worth}; {before}: {item.file}"
        if into is not None:
            yield f"  {into}/people.yaml: {'added' if item.added else f'not added: {item.why_not}'}"
