"""A calibration round as a page: the reference and the rule, then each assessor, or one of them lesson by lesson."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from assess.reports.document import Block, Document, Listing, Note, Picture, Section, Table, Text

if TYPE_CHECKING:
    from assess.desk.round_lessons import LessonLine, PairedMark
    from assess.desk.rounds import AssessorRound, RoundView
    from assess.desk.session import Desk

__all__ = ["round_document", "round_missing"]

CAUTION = (
    "Numbers about marks, not about people. The rule proposes; a director decides and signs. Never a sanction from one"
    " number."
)
RESULT_SIGNS = {"current": "\u2713 current", "mark-again": "? mark again", "train": "\u2191 train"}


def round_document(desk: Desk, view: RoundView, assessor: str | None = None) -> Document:
    """The round as this person may see it, or the page of one assessor of those the view shows."""
    from assess.records.audience import AUDIENCES

    this = view.round
    found = view.assessor(assessor) if assessor else None
    sections = [Section("The rule", tuple(_rule(view))), Section("The reference", tuple(_reference(view)))]
    if found is None:
        sections = [
            Section("Who has locked", tuple(_locks(view))),
            Section("Results", tuple(_results(view))),
            *sections,
        ]
    else:
        sections = [*_one(desk, view, found), *sections]
    if view.notes:
        sections.append(Section("Take care", (Listing(view.notes),)))
    who = f": {found.assessor} {found.name}" if found else ""
    return Document(
        title=f"Calibration round {this.title}{who}",
        about=f"{this.id}; {_many(len(this.lessons), 'lesson')}, {len(this.repeats)} of them marked twice; panel of "
        f"{len(set(this.panel))}",
        audience=AUDIENCES["director" if desk.role == "director" else "person"].capitalize(),
        dated=str(this.date),
        sections=tuple(sections),
        closing=(CAUTION,),
    )


def round_missing(view: RoundView) -> tuple[str, ...]:
    """What the page cannot say yet."""
    open_ = [each.marker for each in view.locks if not each.done]
    told = [f"not everything locked: {', '.join(open_)}"] if open_ else []
    told += [f"no reference: {view.why}"] if view.why else []
    return (*told, *([f"the rule cannot be used: {view.refused}"] if view.refused else ()))


def _locks(view: RoundView) -> Iterator[Block]:
    rows = tuple(
        (f"{each.marker} {each.name}", "panel" if each.panel else "assessor", f"{each.locked} of {each.of}",
         "\u2713 locked" if each.done else "\u2026 not yet")
        for each in view.locks
    )  # fmt: skip
    yield Table("Sheets locked so far", ("Who", "As", "Sheets", "State"), rows, frozenset({2}))


def _rule(view: RoundView) -> Iterator[Block]:
    from assess.desk.round_rule import rule_words

    yield Listing(rule_words(view.round.rule), ordered=True)
    if view.refused:
        yield Note(f"! It cannot be used: {view.refused}. Nobody is judged by it.", "missing")
    yield from (Text(each.sentence) for each in view.chances)
    if view.chances:
        yield Text(f"Worked out on these lessons, from {view.chances[0].n} simulated rounds each.")


def _reference(view: RoundView) -> Iterator[Block]:
    reference, panel = view.reference, view.panel
    if reference is None or panel is None:
        yield Note(f"! The reference is not shown: {view.why or 'there is none'}.", "missing")
        return
    n, near = len(set(view.round.panel)), float(view.round.near_line)
    yield Text(
        f"It is the middle of {n} blind markings; {reference.near} of {len(reference.lessons)} lessons are within "
        f"{near:g} of the pass line."
    )
    if panel.score is not None:
        yield Text(
            f"One score of the panel is off by {panel.score:.2f} levels as a rule ({panel.n_scores} scores, "
            f"{_many(panel.n_lessons, 'lesson')})."
        )


def _results(view: RoundView) -> Iterator[Block]:
    if not view.assessors:
        yield Note("! Nobody's result may be shown yet.", "missing")
        return
    columns = (
        "Assessor",
        "By the rule",
        "Off by",
        "Exact",
        "Within one",
        "Same side",
        "To look at",
        "Signed",
    )
    rows = tuple(_row(found) for found in view.assessors)
    yield Table("Each assessor beside the panel", columns, rows, frozenset(range(2, 6)))
    yield Text(
        "Off by: mean distance of a score from the panel's, in levels. Within one: on the panel's level or the next. "
        "Same side: sheets on the panel's side of the pass line."
    )
    yield _severity(view)
    for found in view.assessors:
        told = [f"not reached: {line}" for line in _unmet(found)]
        if told:
            yield Text(f"{found.assessor} {found.name}")
            yield Listing(tuple(told))


def _row(found: AssessorRound) -> tuple[str, ...]:
    numbers, figures = found.numbers, found.figures
    return (
        f"{found.assessor} {found.name}",
        RESULT_SIGNS[found.judged.result] if found.judged else "\u2026 no result",
        _number(numbers.distance.estimate),
        _percent(numbers.exact.estimate),
        _percent(numbers.within_one.estimate),
        f"{figures.same_side} of {figures.sheets}",
        ", ".join(found.looks) or "-",
        _signed(found),
    )


def _signed(found: AssessorRound) -> str:
    from assess.desk.round_rule import RESULT_WORDS

    if found.signed is None:
        return "not signed"
    until = f", licence until {found.signed.licence.valid_to}" if found.signed.licence else ""
    old = "; ! it rests on other sheets or another rule than stand here now" if found.stale else ""
    return f"{RESULT_WORDS[found.signed.result]}{until}{old}"


def _unmet(found: AssessorRound) -> tuple[str, ...]:
    from assess.desk.round_rule import reached

    return tuple(reached(item) for item in found.judged.unmet) if found.judged else ()


def _severity(view: RoundView) -> Picture:
    from assess.reports.charts import Dot, dots

    known = [(found.assessor, found.numbers.severity) for found in view.assessors]
    return dots(
        tuple(Dot(who, one.estimate, one.ci95, f"{one.n} scores") for who, one in known),
        caption="Severity beside the panel, in levels",
        alt="; ".join(f"{who}: {one.sentence}" for who, one in known),
        axis="levels beside the panel: harder left, milder right",
        names="Assessor",
        line=(0.0, "the panel"),
        signed=True,
    )


# --- one assessor ------------------------------------------------------------------------------


def _one(desk: Desk, view: RoundView, found: AssessorRound) -> Iterator[Section]:
    from assess.desk.round_lessons import lesson_lines

    word = RESULT_SIGNS[found.judged.result] if found.judged else "\u2026 no result: the rule cannot be used"
    numbers = found.numbers
    same, near = found.near
    told = [each.sentence for each in (numbers.exact, numbers.within_one, numbers.line, numbers.distance)]
    told.append(f"Of the {_many(near, 'sheet')} near the pass line {same} are on the panel's side.")
    unmet = tuple(f"not reached: {line}" for line in _unmet(found))
    yield Section("The result", (Text(f"By the rule: {word}. Signed: {_signed(found)}."),
                                 *([Listing(unmet)] if unmet else []), Listing(tuple(told))))  # fmt: skip
    yield Section("Habits", tuple(_habits(found)))
    yield Section("Lesson by lesson", (_lessons(lesson_lines(desk, view, found)),))
    yield Section("Where they parted, the furthest first", tuple(_parted(desk, view, found)))


def _habits(found: AssessorRound) -> Iterator[Block]:
    from assess.agreement.rater_words import NAMES

    for effect in found.numbers.effects:
        helps = f" What helps: {effect.todo}" if effect.todo else ""
        name = NAMES[effect.name]
        said = f"{name[:1].upper()}{name[1:]}: {effect.verdict}. {effect.sentence}{helps}"
        yield Note(f"! {said}", "caution") if effect.verdict == "look" else Text(said)


def _lessons(lessons: tuple[LessonLine, ...]) -> Table:
    labels = tuple(dict.fromkeys(mark.label for line in lessons for mark in line.marks))
    rows = []
    for line in lessons:
        marks = {mark.label: mark for mark in line.marks}
        flags = ", ".join(
            word
            for word, holds in (("near the line", line.near), ("! the other side", line.same_side is False),
                                ("again", line.again)) if holds
        )  # fmt: skip
        rows.append((f"{line.place} {line.slot}", *(_pair(marks.get(label)) for label in labels), flags or "-"))
    caption = "One's own level and the panel's, in the order of marking"
    return Table(caption, ("Lesson", *labels, "Remarks"), tuple(rows))


def _pair(mark: PairedMark | None) -> str:
    return "-" if mark is None else f"{_level(mark.level)}, panel {_level(mark.reference)}"


def _level(level: Fraction | None) -> str:
    return "-" if level is None else f"{float(level):g}"


def _parted(desk: Desk, view: RoundView, found: AssessorRound) -> Iterator[Block]:
    from assess.desk.round_lessons import parted

    items = parted(desk, view, found)
    if not items:
        yield Text("Nowhere did the two part by two levels, or by one across the pass line.")
    for item in items:
        mark = item.mark
        across = ", across the pass line" if item.across else ""
        between = f"{_level(mark.lowest)} to {_level(mark.highest)}"
        yield Text(f"{item.slot} {item.title}, {mark.label}: {_level(mark.level)}, the panel {_level(mark.reference)} "
                   f"({between}){across}.")  # fmt: skip
        noted = [f"noted: {'; '.join(item.mine) or 'nothing'}"]
        noted += [f"the panel's reason: {item.reason}"] if item.reason else []
        noted += [f"the panel noted: {'; '.join(item.panel[:3])}"] if item.panel else []
        yield Listing(tuple(noted))


def _number(value: float | None) -> str:
    return "-" if value is None else f"{round(value, 2) + 0.0:.2f}"


def _percent(share: float | None) -> str:
    return "-" if share is None else f"{100 * share:.0f} %"


def _many(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"
