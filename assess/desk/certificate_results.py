"""What a certificate says of how it was earned: the module's mean, and a value for each criterion of the rubric.

Every value is of all markers together, never one person's mark: a criterion that one assessor alone marked has none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from assess.desk.deciding import Signed
    from assess.desk.letter_seen import Standing
    from assess.desk.rubric_give import RubricIds
    from assess.desk.session import Desk
    from assess.records.rubric import Rubric

__all__ = ["Achieved", "achieved"]

Achieved = tuple[list[dict[str, Any]], list[dict[str, Any]], str]
"""Descriptions of results (of the achievement), results (of its holder), and a sentence with the numbers of marks."""


def achieved(desk: Desk, signed: Signed, rubric: Rubric, ids: RubricIds, *, brief: bool) -> Achieved:
    """The results of a signed grant. brief: the module's mean alone.

    Raises Refusal where what the decision rests on is not here as it was signed.
    """
    from assess.desk.certificate import urn

    module = signed.fact.module
    scale = {"valueMin": str(rubric.scale.min), "valueMax": str(rubric.scale.max)}
    whole = urn("result", desk.course.id, module)
    result = {"type": ["Result"], "resultDescription": whole, "status": "Completed"}
    if not signed.fact.mean:
        # A renewal rests on no numbers.
        alone = {"id": whole, "type": ["ResultDescription"], "name": "granted", "resultType": "Status"}
        return [alone], [result], ""
    descriptions: list[dict[str, Any]] = [
        {
            "id": whole,
            "type": ["ResultDescription"],
            "name": f"mean mark, on levels {rubric.scale.min} to {rubric.scale.max}",
            "resultType": "Result",
            **scale,
        }
    ]
    results = [{**result, "value": signed.fact.mean}]
    if brief:
        return descriptions, results, ""
    told = _standings(desk, signed)
    descriptions += [_description(rubric, item.criterion, ids, scale) for item in told]
    results += [_result(rubric, item, ids) for item in told]
    counts = "; ".join(f"{rubric.criteria[item.criterion].label} {item.n}" for item in told)
    sentence = f"Each value is a mean of all assessors together. Marks behind it: {counts}." if told else ""
    return descriptions, results, sentence


def _standings(desk: Desk, signed: Signed) -> tuple[Standing, ...]:
    from assess.desk.letter_seen import Basis, others_named

    basis = Basis.of(desk, signed, others_named(desk, signed.candidate, frozenset()))
    return tuple(item for item in basis.standings if not item.single)


def _description(rubric: Rubric, name: str, ids: RubricIds, scale: dict[str, str]) -> dict[str, Any]:
    from assess.desk.rubric_give import one_line

    criterion = rubric.criteria[name]
    levels = [
        {
            "id": f"urn:uuid:{ids.of('criterion', name, level)}",
            "type": ["RubricCriterionLevel"],
            "name": one_line(rubric.scale.words.get(level, f"level {level}")),
            "level": str(level),
            "description": text,
        }
        for level, text in sorted(criterion.levels.items())
    ]
    return {
        "id": f"urn:uuid:{ids.of('result', name)}",
        "type": ["ResultDescription"],
        "name": one_line(criterion.label),
        "resultType": "RubricCriterion",
        "alignment": [
            {
                "type": ["Alignment"],
                "targetName": one_line(criterion.label),
                "targetType": "CFRubricCriterion",
                "targetUrl": f"urn:uuid:{ids.of('criterion', name)}",
            }
        ],
        **({"rubricCriterionLevel": levels} if levels else {}),
        **scale,
    }


def _result(rubric: Rubric, item: Standing, ids: RubricIds) -> dict[str, Any]:
    """A mean between two levels achieved neither: it has its value alone."""
    from assess.marking.rounding import fair

    told = {
        "type": ["Result"],
        "resultDescription": f"urn:uuid:{ids.of('result', item.criterion)}",
        "value": fair(item.value, rubric.scale.pass_line),
    }
    level = int(item.value) if item.value.denominator == 1 else None
    if level in rubric.criteria[item.criterion].levels:
        told["achievedLevel"] = f"urn:uuid:{ids.of('criterion', item.criterion, level)}"
    return told
