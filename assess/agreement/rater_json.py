"""The effects of assessors as other programs read them: keys are added, never renamed; what does not exist is null."""

from __future__ import annotations

from typing import Any

from assess.agreement.results.raters import Advice, Effect, Interval, Rater, RaterCourse, Raters

__all__ = ["rater_json", "raters_json"]


def raters_json(found: Raters) -> dict[str, Any]:
    """Plain values, ready for `json.dumps`."""
    return {
        "courses": [_course(course) for course in found.courses],
        "together": None if found.together is None else _course(found.together),
        "advice": [_advice(advice) for advice in found.advice],
        "never": found.never,
        "warnings": list(found.warnings),
    }


def _course(course: RaterCourse) -> dict[str, Any]:
    return {
        "course": course.course,
        "date": course.date,
        "levels": [_plain(level) for level in course.levels],
        "n_candidates": course.n_candidates,
        "n_assessors": course.n_assessors,
        "n_sheets": course.n_sheets,
        "n_slots": course.n_slots,
        "groups": [list(group) for group in course.groups],
        "family": {
            "name": course.family, "n_tests": course.n_tests, "n_flagged": course.n_flagged, "rate": course.rate,
            "sentence": course.family_sentence,
        },
        "assessors": [rater_json(rater) for rater in course.raters],
        "warnings": list(course.warnings),
    }  # fmt: skip


def rater_json(rater: Rater) -> dict[str, Any]:
    """One assessor in one course."""
    return {
        "id": rater.id,
        "n_sheets": rater.n_sheets,
        "n_candidates": rater.n_candidates,
        "flat_sheets": rater.n_flat,
        "sheets_of_several_marks": rater.n_several,
        "spread": rater.spread,
        "levels": list(rater.levels),
        "sentence": rater.sentence,
        "effects": [_effect(effect) for effect in rater.effects],
    }


def _effect(effect: Effect) -> dict[str, Any]:
    return {
        "name": effect.name,
        "estimate": effect.estimate,
        "ci95": _limits(effect.ci95),
        "interval": effect.interval,
        "p": effect.p,
        "adjusted": effect.adjusted,
        "verdict": effect.verdict,
        "n": effect.n,
        "n_candidates": effect.n_candidates,
        "own": effect.own,
        "own_ci95": _limits(effect.own_ci95),
        "others": effect.others,
        "undefined": effect.undefined,
        "mirror_of": effect.mirror_of.split(", ") if effect.mirror_of else [],
        "sentence": effect.sentence,
        "limit": effect.limit,
        "todo": effect.todo,
        "warnings": list(effect.warnings),
    }


def _advice(advice: Advice) -> dict[str, Any]:
    return {
        "assessor": advice.assessor,
        "effect": advice.name,
        "course": advice.course,
        "do": advice.do,
        "flagged_in": list(advice.flagged_in),
        "sentence": advice.sentence,
    }


def _limits(limits: Interval | None) -> list[float] | None:
    return None if limits is None else [float(limits[0]), float(limits[1])]


def _plain(level: float) -> float | int:
    return int(level) if level == int(level) else level
