"""Invariant 17: raising one existing score, all else the same, never lowers the outcome."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from assess.marking.outcome import module_result
from tests.marking.drawn import Drawn, modules

ORDER = ("not_passed", "open", "third_look", "passed")


def raised(drawn: Drawn, data: st.DataObject) -> Drawn:
    """The same module with one level of one sheet, perhaps a third sheet, set higher."""
    where = [
        (group, sheet, key, level)
        for group in ("sheets", "thirds")
        for sheet, marks in getattr(drawn, group).items()
        for key, level in marks.items()
        if isinstance(level, int) and level < 6
    ]
    assume(where)
    group, sheet, key, level = data.draw(st.sampled_from(where))
    higher = data.draw(st.integers(level + 1, 6))
    held = {**(drawn.sheets if group == "sheets" else drawn.thirds)}
    held[sheet] = {**held[sheet], key: higher}
    return replace(drawn, sheets=held) if group == "sheets" else replace(drawn, thirds=held)


@settings(max_examples=250, suppress_health_check=[HealthCheck.too_slow])
@given(modules(), st.data())
def test_raising_one_score_never_lowers_the_outcome(drawn: Drawn, data: st.DataObject) -> None:
    before = module_result(drawn.case())
    after = module_result(raised(drawn, data).case())
    assert ORDER.index(after.outcome) >= ORDER.index(before.outcome)
