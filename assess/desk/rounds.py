"""A calibration round against its reference, as far as one person may see it.

While one's own sheets of the round are not all locked nothing of the reference and of others is shown; of an assessor's
sheets nothing before all of them are locked; how an assessor did is shown to the directors and to that assessor.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assess.records.errors import Refusal, UsageError

if TYPE_CHECKING:
    from assess.agreement.results.rounds import Chances, MarkerNumbers, PanelError
    from assess.desk.session import Desk
    from assess.desk.sight import RoundSight
    from assess.marking.qualification import Judged
    from assess.marking.reference import Reference
    from assess.marking.results import Sheet
    from assess.records.facts import CalibrationSigned
    from assess.records.round import Round
    from assess.records.round_figures import Figures
    from assess.records.rubric import Rubric

__all__ = [
    "AssessorRound", "Locks", "RoundView", "locks_of", "reference_of", "round_of", "round_rubric", "round_sight",
    "round_view", "sheets_of", "slots_of", "why_no_reference",
]  # fmt: skip


@dataclass(frozen=True)
class Locks:
    """How far one marker is: lessons locked, of so many."""

    marker: str
    name: str
    panel: bool
    locked: int
    of: int

    @property
    def done(self) -> bool:
        """True once everything is locked."""
        return self.locked == self.of


@dataclass(frozen=True)
class AssessorRound:
    """How one assessor did. judged: None where the rule cannot be used. near: lessons near the line on the right side.

    sheets: in the order in which they were marked. signed: what a director signed last, stale when the sheets or the
    round's file are no longer those it rests on.
    """

    assessor: str
    name: str
    figures: Figures
    numbers: MarkerNumbers
    judged: Judged | None
    near: tuple[int, int]
    sheets: tuple[Sheet, ...]
    signed: CalibrationSigned | None = None
    stale: bool = False

    @property
    def looks(self) -> tuple[str, ...]:
        """The habits to look at, in two or three words."""
        from assess.agreement.round_words import look_words

        return tuple(look_words(effect) for effect in self.numbers.effects if effect.verdict == "look")


@dataclass(frozen=True)
class RoundView:
    """A round for one person. locks: of everybody to a director, else one's own.

    why: why no reference is shown, "" where it is. refused: why the rule cannot be used, "" where it can.
    chances: what the rule does to a good marker and to poor ones; only beside the reference it is worked out from.
    assessors: those whose result may be shown. notes: what to be careful about.
    """

    round: Round
    locks: tuple[Locks, ...]
    why: str
    reference: Reference | None = None
    panel: PanelError | None = None
    refused: str = ""
    chances: tuple[Chances, ...] = ()
    assessors: tuple[AssessorRound, ...] = ()
    notes: tuple[str, ...] = ()

    def assessor(self, who: str) -> AssessorRound | None:
        """How one assessor did, or None where that is not shown."""
        return next((item for item in self.assessors if item.assessor == who), None)


def round_of(desk: Desk) -> Round:
    """The round at this desk. Raises UsageError for a course."""
    found = desk.folder.round
    if found is None:
        raise UsageError(f"{desk.folder.root} is a course, no calibration round", todo="name the folder of a round")
    return found


def round_sight(desk: Desk) -> RoundSight:
    """What this person may see of the round. Raises UsageError for a course."""
    from assess.desk.sight import RoundSight

    round_of(desk)
    if not isinstance(desk.sight, RoundSight):
        raise TypeError("the sight of a round is a RoundSight")
    return desk.sight


def round_rubric(desk: Desk) -> Rubric:
    """The rubric of the round. Raises Refusal when it is not there."""
    return desk.rubric_for(round_of(desk).lessons[0].task)


def slots_of(desk: Desk, marker: str) -> tuple[tuple[str, str], ...]:
    """Task and slot of everything a marker marks, in that marker's order; what a director took off them left out."""
    this = round_of(desk)
    slots = [(lesson.task, slot) for slot in this.mine(marker) if (lesson := this.lesson(slot)) is not None]
    return tuple((task, slot) for task, slot in slots if marker in desk.markers(task, slot))


def sheets_of(desk: Desk, marker: str) -> tuple[Sheet, ...]:
    """One marker's sheets in the order in which they were marked; imported ones in the order they were meant to be."""
    sheets = []
    for place, (task, slot) in enumerate(slots_of(desk, marker)):
        sheet = desk.folded(task, slot, marker)
        begun = "" if sheet.origin == "imported" else min((mark.at for mark in sheet.marks), default="")
        sheets.append((begun, place, sheet))
    # Some imported and some marked: no order of time is known for all.
    timed = all(begun for begun, _, _ in sheets)
    return tuple(sheet for _, _, sheet in sorted(sheets, key=lambda item: item[:2] if timed else ("", item[1])))


def round_view(desk: Desk, assessor: str | None = None, *, seed: int = 0) -> RoundView:
    """The round as this person may see it; assessor: only this one's result.

    Raises UsageError for a course or an assessor the round does not have, Refusal for a result that is not theirs to
    see or not ready.
    """
    from assess.desk.round_numbers import chances_of, numbers_of, panel_error_of, refused_rule

    this, sight = round_of(desk), round_sight(desk)
    if assessor is not None and assessor not in this.assessors:
        raise UsageError(f"{assessor} is no assessor of this round", todo=f"use one of {', '.join(this.assessors)}")
    locks, why = _locks(desk), why_no_reference(desk, locks_of(desk))
    if why:
        if assessor is not None:
            raise Refusal(f"how {assessor} did is not shown: {why}", todo="look again later")
        return RoundView(this, locks, why, refused=refused_rule(desk, None))
    reference = reference_of(desk)
    panel = panel_error_of(desk, reference)
    ready = [who for who in this.assessors if sight.result_of(who)]
    shown = tuple(who for who in ready if assessor in (None, who) and _whole(desk, who))
    if assessor is not None and not shown:
        raise Refusal(
            f"how {assessor} did is not shown to you yet, or not at all",
            todo="a director sees it once all sheets of it are locked and whole, and so does who marked them",
        )
    refused = refused_rule(desk, panel)
    found = numbers_of(desk, reference, panel, shown, seed=seed)
    chances = () if refused else chances_of(desk, reference, panel, seed=seed)
    assessors = tuple(_assessor(desk, who, reference, numbers, bool(refused)) for who, numbers in found.items())
    return RoundView(
        this, locks, "", reference, panel, refused, chances, assessors,
        (*_broken(desk, ready), *_notes(this, reference, panel)),
    )  # fmt: skip


def locks_of(desk: Desk) -> tuple[Locks, ...]:
    """How far everybody is, panel first. For the rules only: ask `round_view` what is shown."""
    this = round_of(desk)
    found = []
    for marker in dict.fromkeys((*this.panel, *this.assessors)):
        mine = slots_of(desk, marker)
        locked = sum(desk.locked(task, slot, marker) for task, slot in mine)
        found.append(Locks(marker, desk.name(marker), marker in this.panel, locked, len(mine)))
    return tuple(found)


def _locks(desk: Desk) -> tuple[Locks, ...]:
    this = round_of(desk)
    return tuple(each for each in locks_of(desk) if desk.who in this.directors or each.marker == desk.who)


def why_no_reference(desk: Desk, locks: tuple[Locks, ...]) -> str:
    """Why this person is not shown the reference, in words that tell nothing of it; "" when they are."""
    from assess.records.round import LEAST_PANEL

    this = round_of(desk)
    if desk.who is None:
        return "nobody has said who is asking; a director sees the results, and each assessor their own"
    mine = next((each for each in locks if each.marker == desk.who), None)
    if mine is not None and not mine.done:
        return f"your own sheets are not all locked yet ({mine.locked} of {mine.of} are)"
    if len(set(this.panel)) < LEAST_PANEL:
        n = len(set(this.panel))
        return f"a reference is built from at least {LEAST_PANEL} blind markings, and the panel has {n}"
    if not all(each.done for each in locks if each.panel):
        return "the panel has not locked all its sheets yet"
    broken = [who for who in this.panel if not _whole(desk, who)]
    if broken:
        return f"sheets of {', '.join(broken)} are not whole; `assess check` says what is missing"
    return ""


def _whole(desk: Desk, marker: str) -> bool:
    """True when everything the locks of a marker sealed is here."""
    return all(sheet.usable for sheet in sheets_of(desk, marker))


def reference_of(desk: Desk) -> Reference:
    """The reference, built from the panel's locked sheets. For the rules: ask `round_view` whether it may be shown."""
    from assess.marking.reference import built

    this = round_of(desk)
    sheets = {
        (lesson.task, lesson.id): tuple(
            desk.folded(lesson.task, lesson.id, marker)
            for marker in dict.fromkeys(this.panel)
            if marker in desk.markers(lesson.task, lesson.id)
        )
        for lesson in this.lessons
    }
    return built(sheets, this.panel, round_rubric(desk), this.near_line)


def _assessor(desk: Desk, who: str, reference: Reference, numbers: MarkerNumbers, refused: bool) -> AssessorRound:
    from assess.desk.round_signing import signed_result
    from assess.marking.qualification import figures, judged

    this, rubric = round_of(desk), round_rubric(desk)
    sheets = sheets_of(desk, who)
    found = figures(sheets, reference, rubric)
    near = {item.lesson for item in reference.lessons if item.near}
    close = figures([sheet for sheet in sheets if _lesson_id(this, sheet.candidate) in near], reference, rubric)
    signed, stale = signed_result(desk, who)
    return AssessorRound(
        who, desk.name(who), found, numbers, None if refused else judged(this.rule, found),
        (close.same_side, close.sheets), sheets, signed, stale,
    )  # fmt: skip


def _lesson_id(this: Round, slot: str) -> str:
    lesson = this.lesson(slot)
    return lesson.id if lesson else slot


def _broken(desk: Desk, ready: list[str]) -> list[str]:
    broken = [who for who in ready if not _whole(desk, who)]
    return [f"sheets of {', '.join(broken)} are not whole and not used; see `assess check`"] if broken else []


def _notes(this: Round, reference: Reference, panel: PanelError) -> tuple[str, ...]:
    notes = []
    n = len(this.lessons)
    if reference.near * 2 < n:
        near = f"{float(this.near_line):g} of a level"
        notes.append(
            f"{reference.near} of {n} lessons are within {near} of the pass line; with half of them near it the line is"
            " put to the test"
        )
    missing = [f"{item.lesson} {key}" for item in reference.lessons for key in item.missing]
    if missing:
        notes.append(f"no reference, because fewer than four of the panel saw it: {', '.join(missing)}")
    if panel.undefined:
        notes.append(f"the panel's own error: {panel.undefined}")
    return tuple(notes)
