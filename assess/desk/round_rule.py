"""The qualification rule of a round in words: what it asks, what was not reached, what is doubtful in it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from assess.records.errors import Problem

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.marking.qualification import Unmet
    from assess.records.round import Conditions, Qualification

__all__ = ["RESULT_WORDS", "asked", "reached", "rule_problems", "rule_words"]

RESULT_WORDS = {"current": "current", "mark-again": "mark again", "train": "train"}
_WHAT = {
    "scored_at_least": ("of what the panel scored is scored", "share"),
    "exact_at_least": ("of the scores on the panel's level", "share"),
    "within_one_at_least": ("of the scores within one level of it", "share"),
    "line_agreement_at_least": ("of the sheets on the panel's side of the pass line", "share"),
    "severity_at_most": ("levels milder or harder", "levels"),
    "distance_at_most": ("levels from the panel on average", "levels"),
    "drift_at_most": ("levels between the first and the second half of the order", "levels"),
    "repeats_within_one_at_least": ("of the scores given twice within one level", "share"),
    "flat_sheets_at_most": ("of the sheets with one level throughout", "share"),
}


def _number(value: Fraction, kind: str) -> str:
    return f"{float(100 * value):g} %" if kind == "share" else f"{float(value):g}"


def asked(key: str, value: Fraction) -> str:
    """One condition: `at least 90 % scores within one level of it`."""
    what, kind = _WHAT[key]
    if value == 1:
        what = what.replace("levels", "level")
    return f"{'at most' if key.endswith('_at_most') else 'at least'} {_number(value, kind)} {what}"


def reached(item: Unmet) -> str:
    """One condition that was not met: `62 % scores on the panel's level; at least 70 % are asked`."""
    what, kind = _WHAT[item.condition]
    limit = f"{'at most' if item.at_most else 'at least'} {_number(item.asked, kind)} is asked"
    if item.reached is None:
        return f"{what}: there is nothing to count; {limit}"
    value = float(item.reached)
    return f"{f'{100 * value:.1f} %' if kind == 'share' else f'{value:.2f}'} {what}; {limit}"


def rule_words(rule: Qualification) -> tuple[str, ...]:
    """The rule, a sentence for each result."""
    told = [f"Current: {_all(rule.current)}."]
    if rule.mark_again is not None:
        told.append(f"Else mark again: {_all(rule.mark_again)}.")
    told.append("Else train.")
    return tuple(told)


def _all(conditions: Conditions) -> str:
    return "; ".join(asked(key, value) for key, value in _given(conditions))


def _given(conditions: Conditions) -> Iterator[tuple[str, Fraction]]:
    for key in type(conditions).model_fields:
        value = getattr(conditions, key)
        if value is not None:
            yield key, value


def rule_problems(desk: Desk) -> Iterator[Problem]:
    """What is wrong with the rule of the round at this desk: what a good marker fails, or what cannot be counted."""
    from assess.desk.round_numbers import panel_error_of, refused_rule
    from assess.desk.rounds import locks_of, reference_of, round_of, why_no_reference

    this, doc = round_of(desk), desk.folder.course_doc
    # Before the reference may be seen the chance is told for the stated error alone.
    shown = not why_no_reference(desk, locks_of(desk))
    panel = panel_error_of(desk, reference_of(desk)) if shown else None
    refused = refused_rule(desk, panel)
    if refused:
        yield Problem(doc.shown, doc.line("rule"), refused, 'ask for a share of the scores, such as "0.95"')
    for part in ("current", "mark_again"):
        conditions = getattr(this.rule, part)
        if conditions is None:
            continue
        if conditions.repeats_within_one_at_least is not None and not this.repeats:
            what = "the rule asks about lessons marked twice, and there is none"
            line = doc.line("rule", part, "repeats_within_one_at_least")
            yield Problem(doc.shown, line, what, "list some under `repeats`, or take the condition out")
    yield from _stricter(this.rule, desk)


def _stricter(rule: Qualification, desk: Desk) -> Iterator[Problem]:
    if rule.mark_again is None:
        return
    doc, strict = desk.folder.course_doc, dict(_given(rule.current))
    for key, value in _given(rule.mark_again):
        limit = strict.get(key)
        if limit is None or (value < limit if key.endswith("_at_most") else value > limit):
            what = f"`mark_again` asks more of `{key}` than `current` does"
            line = doc.line("rule", "mark_again", key)
            yield Problem(doc.shown, line, what, "ask less of who marks again", doubt=True)
