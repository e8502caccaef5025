"""A moderated value lies within the range of the sheets unless new, admitted evidence is named."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assess.desk.late_evidence import log_late, rule_on_late
from assess.desk.later_ledgers import write_moderation
from assess.desk.moderating import moderate, standing_moderation
from assess.desk.outcomes import module_result_of as outcome_of
from assess.records.errors import Refusal
from assess.records.facts import Moderated
from tests.courses import FixedClock, build_course, open_desk

levels = st.integers(1, 6)
SHA = "sha256:" + "a" * 64


def marked(root: Path, first: int, second: int) -> Path:
    build_course(root, candidates=1, tasks=("T6",))
    for who, level in (("A1", first), ("A2", second)):
        desk = open_desk(root, who, device=f"{who.lower()}x9z")
        sheet = desk.slot("T6", "C01")
        for criterion in sheet.criteria:
            sheet.score(criterion, level)
        if sheet.needing_evidence():
            sheet.note("seen from the side")
        sheet.lock()
        assert desk.close()
    return root


def module_result_of(desk: Any, candidate: str, module: str) -> Any:
    """The module's result; a director sees every one."""
    return outcome_of(desk, candidate, module)


def director(root: Path):
    return open_desk(root, "D1", device="d31kq", clock=FixedClock(1_770_060_000_000))


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(first=levels, second=levels, agreed=levels)
def test_the_desk_takes_what_lies_between_the_marks_and_nothing_else(
    tmp_path_factory: pytest.TempPathFactory, first: int, second: int, agreed: int
) -> None:
    root = marked(tmp_path_factory.mktemp("course") / "course", first, second)
    desk = director(root)
    inside = min(first, second) <= agreed <= max(first, second)
    try:
        moderate(desk, "T6.C01", "agree-value", values={"hazards": agreed}, present=("A1", "A2"), reason="talked over")
        taken = True
    except Refusal as refused:
        assert "outside the marks" in str(refused)
        taken = False
    assert taken == inside
    assert desk.close()
    assert bool(list((root / "moderation").glob("*")) if (root / "moderation").exists() else []) == inside


def test_outside_the_range_takes_evidence_that_was_admitted(tmp_path: Path) -> None:
    desk = director(marked(tmp_path / "course", 2, 3))
    words: Any = {"values": {"hazards": 5}, "present": ("A1", "A2"), "reason": "the whole run on film"}
    with pytest.raises(Refusal, match="not admitted"):
        moderate(desk, "T6.C01", "agree-value", evidence=(SHA,), **words)
    log_late(desk, "T6.C01", SHA, "film of the whole run")
    with pytest.raises(Refusal, match="not admitted"):
        moderate(desk, "T6.C01", "agree-value", evidence=(SHA,), **words)
    rule_on_late(desk, "C01", SHA, admit=True, rule="whole run, same day", reason="complete")
    moderate(desk, "T6.C01", "agree-value", evidence=(SHA,), **words)
    assert standing_moderation(desk, "T6", "C01").trouble == ""
    assert desk.close()


def test_a_value_out_of_range_written_past_the_desk_holds_the_module_open(tmp_path: Path) -> None:
    desk = director(marked(tmp_path / "course", 2, 3))
    fact = Moderated(outcome="agree-value", values={"hazards": 6}, present=("D1",), reason="typed into the file")
    write_moderation(desk, "T6", "C01", fact)
    result = module_result_of(desk, "C01", "safety")
    assert result.outcome == "open"
    assert "outside its marks" in " ".join(result.reasons)
    assert desk.close()


def test_the_originals_stay_and_the_agreed_level_stands_in_their_place(tmp_path: Path) -> None:
    root = marked(tmp_path / "course", 2, 5)
    before = {path: path.read_bytes() for path in (root / "sheets").iterdir()}
    desk = director(root)
    mean = module_result_of(desk, "C01", "safety").mean
    moderate(desk, "T6.C01", "agree-value", values={"hazards": 5}, present=("A1", "A2"), reason="seen on film")
    after = module_result_of(desk, "C01", "safety")
    assert mean is not None
    assert after.mean is not None
    assert after.mean - mean == (5 - 2) / 8
    assert after.moderation_due == ()
    assert desk.close()
    assert {path: path.read_bytes() for path in (root / "sheets").iterdir()} == before


def test_two_people_who_agreed_on_different_things_are_a_hole_until_one_stands_in_for_both(tmp_path: Path) -> None:
    root = marked(tmp_path / "course", 2, 5)
    for who, level in (("A1", 3), ("D2", 4)):
        # Each on a copy that does not know of the other, as two devices without network.
        desk = open_desk(root, who, device=f"{who.lower()}k7k")
        fact = Moderated(outcome="agree-value", values={"hazards": level}, present=(who,), reason="at the table")
        write_moderation(desk, "T6", "C01", fact)
        assert desk.close()
    desk = director(root)
    result = module_result_of(desk, "C01", "safety")
    assert result.outcome == "open"
    assert "moderated in two ways" in " ".join(result.reasons)
    moderate(desk, "T6.C01", "agree-value", values={"hazards": 4}, present=("A1", "D2"), reason="settled")
    assert "two ways" not in " ".join(module_result_of(desk, "C01", "safety").reasons)
    assert desk.close()
