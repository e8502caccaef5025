"""Self-assessments, and whatever else nobody allocated, are never in the input of a decision."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assess.desk.outcomes import results_json
from assess.records.facts import Lock, Score
from assess.records.ledger import Header
from tests.courses import FixedClock, build_course, open_desk


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(author=st.sampled_from(("C01", "C02", "D1", "A9")), levels=st.lists(st.integers(1, 6), min_size=4, max_size=4))
def test_a_sheet_by_the_candidate_or_by_anybody_not_allocated_changes_no_result(
    tmp_path_factory: pytest.TempPathFactory, author: str, levels: list[int]
) -> None:
    root = build_course(tmp_path_factory.mktemp("course") / "course", candidates=2, tasks=("T6",))
    for who in ("A1", "A2"):
        desk = open_desk(root, who, device=f"{who.lower()}x9z")
        sheet = desk.slot("T6", "C01")
        for criterion in sheet.criteria:
            sheet.score(criterion, 4)
        sheet.lock()
        assert desk.close()
    desk = open_desk(root, "D1", device="d31kq")
    before = results_json(desk.outcomes())
    pin = desk.course.pin("T6")
    assert pin is not None
    header = Header(
        kind="sheet", course="K-TEST", task="T6", candidate="C01", assessor=author, rubric=pin.reference,
        device="s3lf9", opened=desk.now(),
    )  # fmt: skip
    live = desk.live(header)
    for criterion, level in zip(desk.task("T6").criteria, levels, strict=True):
        desk.append(live, Score(criterion=criterion, level=level))
    from assess.store.seals import seal_of

    heads = {live.name: live.head}
    desk.append(live, Lock(heads=heads, seal=seal_of(heads)))
    assert results_json(desk.outcomes()) == before
    assert desk.close()
    again = open_desk(root, "D1", device="d31kq", clock=FixedClock(1_770_060_000_000))
    assert results_json(again.outcomes()) == before
    assert again.close()
