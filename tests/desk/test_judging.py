"""Practice at judging: the panel's own answer is full marks, and what was not seen for longest comes first."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from assess.desk.judging import (
    Answer,
    attempts_of,
    chosen_lesson,
    improvement,
    judge,
    judged_and_kept,
    next_lesson,
    practice_lessons,
)  # fmt: skip
from assess.records.errors import InputError, StorageTrouble, UsageError
from tests.cli.commands import assess

LESSONS = practice_lessons(())


@pytest.fixture(autouse=True)
def own_data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ASSESS_DATA_DIR", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.mark.parametrize("item", LESSONS, ids=lambda item: item.lesson.id)
def test_the_panels_own_causes_in_their_order_are_full_marks(item) -> None:
    roots = sorted(item.scenario.reference.target_learner.roots, key=lambda root: -root.w)
    found = judge(
        item, Answer(named=tuple(root.id for root in roots), hazards=tuple(h.id for h in item.scenario.hazards))
    )
    if roots:
        assert found.score == pytest.approx(1)
        assert found.chance is not None
        assert found.chance < 0.5
    assert found.hazards_missed == ()
    assert found.hazards_share == pytest.approx(1)


def test_names_that_are_none_and_names_on_both_sides_are_refused() -> None:
    item = LESSONS[0]
    with pytest.raises(UsageError, match="nosuch"):
        judge(item, Answer(named=("nosuch",)))
    fault = next(iter(item.choices("faults")))
    with pytest.raises(UsageError, match="named and ruled out"):
        judge(item, Answer(named=(fault,), ruled_out=(fault,)))


def test_the_lesson_not_seen_for_longest_comes_first() -> None:
    assert next_lesson(LESSONS, []) is LESSONS[0]
    seen = [{"lesson": item.lesson.id, "at": f"2026-01-{30 - n:02d}"} for n, item in enumerate(LESSONS[:25])]
    assert next_lesson(LESSONS[:25], seen) is LESSONS[24]
    assert next_lesson(LESSONS, seen) is LESSONS[25]


def test_attempts_are_kept_and_a_file_that_was_broken_names_its_line(own_data: Path) -> None:
    item = LESSONS[0]
    for _ in range(2):
        judged_and_kept(item, Answer(hazards=(item.scenario.hazards[0].id,)), "T1")
    assert [attempt["lesson"] for attempt in attempts_of("T1")] == [item.lesson.id] * 2
    assert attempts_of("T2") == []
    file = own_data / "practice" / "T1.jsonl"
    assert file.stat().st_mode & 0o077 == 0
    file.write_bytes(file.read_bytes() + b"{half")
    with pytest.raises(InputError) as refused:
        attempts_of("T1")
    assert refused.value.problems[0].line == 3
    with pytest.raises(UsageError):
        attempts_of("../etc/passwd")


def test_a_disk_that_says_no_loses_nothing_silently(own_data: Path) -> None:
    own_data.write_text("in the way")
    with pytest.raises(StorageTrouble, match="not saved"):
        judged_and_kept(LESSONS[0], Answer(), "T1")


def test_only_first_attempts_tell_whether_one_improves() -> None:
    rising = [{"lesson": str(n), "score": 0.2 + 0.1 * n, "chance": 0.1} for n in range(6)]
    assert improvement(rising).startswith("your diagnosis improves")
    again = [{"lesson": "0", "score": 0.1 * n, "chance": 0.1} for n in range(6)]
    assert improvement(again) == "1 lesson seen for the first time: too few to say whether your diagnosis improves"
    mixed = [{"lesson": str(n), "score": s, "chance": 0.1} for n, s in enumerate((0.5, 0.2, 0.6, 0.3))]
    assert improvement(mixed).startswith("no direction is shown yet")


def test_the_command_shows_a_lesson_takes_an_answer_and_tells_the_history() -> None:
    item = LESSONS[0]
    shown = assess("practice", "--json").json
    assert shown["lesson"] == item.lesson.id
    assert not any(word in json.dumps(shown) for word in ("reference", "roots"))
    hazard = item.scenario.hazards[0].id
    told = assess("practice", "--lesson", item.lesson.id, "--hazards", hazard, "--json").json
    assert hazard not in told["hazards_missed"]
    assert told["reference"]
    assert assess("practice", "--json").json["lesson"] == LESSONS[1].lesson.id
    assert len(assess("practice", "--history", "--json").json["attempts"]) == 1
    assert assess("practice", "--lesson", "nosuch").code == 2
    assert chosen_lesson((), "me", item.lesson.id).lesson.id == item.lesson.id
