"""A calibration round as one document: counts and exact values as text, statistics as numbers with their intervals."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from assess.desk.round_lessons import lesson_lines, parted

if TYPE_CHECKING:
    from assess.agreement.results import Estimate
    from assess.agreement.results.raters import Effect
    from assess.desk.round_lessons import LessonLine, Parted
    from assess.desk.round_signing import SignedResult
    from assess.desk.rounds import AssessorRound, RoundView
    from assess.desk.session import Desk
    from assess.marking.reference import Reference
    from assess.records.round import Conditions

__all__ = ["round_document", "signed_document"]


def round_document(desk: Desk, view: RoundView) -> dict[str, Any]:
    """What this person may see of the round. `reference` and `chances` are null while they may not, with `why`."""
    this = view.round
    return {
        "round": this.id,
        "title": this.title,
        "date": this.date,
        "lessons": len(this.lessons),
        "marked_twice": len(this.repeats),
        "why": view.why,
        "locks": [
            {"marker": each.marker, "panel": each.panel, "locked": each.locked, "of": each.of} for each in view.locks
        ],
        "rule": {
            "current": _conditions(this.rule.current),
            "mark_again": None if this.rule.mark_again is None else _conditions(this.rule.mark_again),
            "refused": view.refused or None,
        },
        "reference": None if view.reference is None else _reference(view),
        "chances": [
            {"marker": each.marker, "error": each.error, "severity": each.severity, "drift": each.drift, "n": each.n,
             "shares": dict(each.shares), "sentence": each.sentence}
            for each in view.chances
        ] if view.reference is not None else None,
        "assessors": [_assessor(desk, view, each) for each in view.assessors],
        "notes": list(view.notes),
    }  # fmt: skip


def _text(value: Fraction | None) -> str | None:
    return None if value is None else str(value)


def _conditions(conditions: Conditions) -> dict[str, str]:
    dumped = conditions.model_dump(mode="json", exclude_none=True)
    return {key: str(value) for key, value in dumped.items()}


def _reference(view: RoundView) -> dict[str, Any]:
    reference, panel = view.reference, view.panel
    if reference is None or panel is None:
        raise ValueError("there is no reference")
    return {
        "panel": list(reference.panel),
        "near_line": reference.near,
        "error_of_a_score": {
            "estimate": panel.score, "of_the_sheet": panel.sheet, "of_the_score_alone": panel.rest,
            "severity_of_markers": panel.severity, "n_markers": panel.n_markers, "n_lessons": panel.n_lessons,
            "n_scores": panel.n_scores, "undefined": panel.undefined,
        },
        "lessons": _reference_lessons(reference),
    }  # fmt: skip


def _reference_lessons(reference: Reference) -> list[dict[str, Any]]:
    return [
        {
            "lesson": item.lesson,
            "value": _text(item.value),
            "near_line": item.near,
            "levels": {
                level.criterion: {
                    "level": _text(level.level),
                    "panel": {who: _text(given) for who, given in level.levels.items()},
                }
                for level in item.levels
            },
            "without_reference": list(item.missing),
        }
        for item in reference.lessons
    ]


def _assessor(desk: Desk, view: RoundView, found: AssessorRound) -> dict[str, Any]:
    figures, numbers = found.figures, found.numbers
    estimates = (numbers.distance, numbers.severity, numbers.exact, numbers.within_one, numbers.line)
    return {
        "assessor": found.assessor,
        "name": found.name,
        "result": found.judged.result if found.judged else None,
        "unmet": [
            {"condition": item.condition, "reached": _text(item.reached), "asked": _text(item.asked)}
            for item in (found.judged.unmet if found.judged else ())
        ],
        "signed": None if found.signed is None else {
            "result": found.signed.result, "day": found.signed.day, "stale": found.stale,
            "valid_to": found.signed.licence.valid_to if found.signed.licence else None,
        },
        "counts": {
            name: _text(value) if isinstance(value := getattr(figures, name), Fraction) else value
            for name in type(figures).__dataclass_fields__
        },
        "near_line": {"same_side": found.near[0], "sheets": found.near[1]},
        "numbers": {each.name: _estimate(each) for each in estimates},
        "habits": [_effect(each) for each in numbers.effects],
        "lessons": [_lesson(each) for each in lesson_lines(desk, view, found)],
        "parted": [_parted(each) for each in parted(desk, view, found)],
    }  # fmt: skip


def _estimate(found: Estimate) -> dict[str, Any]:
    return {
        "estimate": found.estimate, "se": found.se, "ci95": _ends(found.ci95), "interval": found.interval,
        "n": found.n, "n_lessons": found.n_candidates, "undefined": found.undefined, "sentence": found.sentence,
    }  # fmt: skip


def _effect(found: Effect) -> dict[str, Any]:
    return {
        "name": found.name, "estimate": found.estimate, "ci95": _ends(found.ci95), "interval": found.interval,
        "p": found.p, "adjusted": found.adjusted, "verdict": found.verdict, "own": found.own, "panel": found.others,
        "n": found.n, "n_lessons": found.n_candidates, "undefined": found.undefined, "sentence": found.sentence,
        "todo": found.todo,
    }  # fmt: skip


def _ends(ends: tuple[float, float] | None) -> list[float] | None:
    return None if ends is None else list(ends)


def _lesson(line: LessonLine) -> dict[str, Any]:
    return {
        "slot": line.slot, "place": line.place, "title": line.title, "near_line": line.near, "again": line.again,
        "value": _text(line.value), "reference": _text(line.reference), "same_side": line.same_side,
        "levels": {mark.criterion: [_text(mark.level), _text(mark.reference)] for mark in line.marks},
    }  # fmt: skip


def _parted(item: Parted) -> dict[str, Any]:
    return {
        "slot": item.slot, "title": item.title, "criterion": item.mark.criterion, "level": _text(item.mark.level),
        "reference": _text(item.mark.reference), "panel_from": _text(item.mark.lowest),
        "panel_to": _text(item.mark.highest), "across_the_line": item.across, "seen": list(item.mine),
        "reason": item.reason, "panel_saw": list(item.panel),
    }  # fmt: skip


def signed_document(signed: tuple[SignedResult, ...], into: str | None) -> dict[str, Any]:
    """What was signed, and what went into the course that was named."""
    return {
        "into": into,
        "signed": [
            {
                "assessor": item.assessor, "result": item.result, "file": item.file, "new": item.new,
                "licence": None if item.licence is None else item.licence.model_dump(mode="json"),
                "added": item.added, "why_not": item.why_not or None,
            }
            for item in signed
        ],
    }  # fmt: skip
