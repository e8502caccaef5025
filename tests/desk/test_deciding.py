"""Decisions: signed by a named person who may, on what stands, worked out again to the same bytes."""

from __future__ import annotations

import ast
import random
from pathlib import Path
from typing import Any

import pytest

from assess.cli.later_lines import proposal_lines
from assess.desk.deciding import decisions, proposal, proposals, sign, standing_decision
from assess.desk.decision_basis import still_gives
from assess.desk.eligible import may_decide
from assess.marking import reasons
from assess.records.errors import AssessError, Refusal
from assess.records.facts import Decision
from assess.store.merge import merge
from tests.courses import open_desk
from tests.sample.story import DAY_9, Story, fact_of

PACKAGE = Path(__file__).resolve().parent.parent.parent / "assess"


@pytest.fixture(scope="module")
def signed(morning: Story, tmp_path_factory: pytest.TempPathFactory) -> Story:
    """The sample course after the reserve morning, every module signed by D1."""
    story = morning.again(tmp_path_factory.mktemp("story"))
    story.sign_all()
    return story


def test_every_module_is_signed_as_the_rules_propose(signed: Story) -> None:
    with signed.desk("D1") as desk:
        told = {(item.candidate, item.module): item for item in proposals(desk)}
    assert len(told) == 30
    assert all(item.standing is not None and not item.stale for item in told.values())
    words = [item.standing.fact.decision for item in told.values() if item.standing]
    # The table after the reserve morning: 21 passed, 7 not passed, 2 open.
    assert [words.count(kind) for kind in ("grant", "refuse", "open")] == [21, 7, 2]


def test_each_can_be_worked_out_again_to_the_same_bytes(signed: Story) -> None:
    with signed.desk("D1") as desk:
        every = [item for who in desk.course.candidates for item in decisions(desk, who)]
        assert len(every) == 30
        assert all(still_gives(desk, item) for item in every)


def test_another_wording_of_the_program_makes_no_signed_decision_look_changed(
    signed: Story, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = reasons._failures
    monkeypatch.setattr(reasons, "_failures", lambda *given: [f"in other words: {each}" for each in said(*given)])
    with signed.desk("D1") as desk:
        told = proposals(desk)
        assert any("in other words" in " ".join(item.result.reasons) for item in told)
        assert not any(item.stale for item in told)
        assert all(still_gives(desk, item.standing) for item in told if item.standing is not None)


def test_what_is_written_later_changes_nothing_of_it(tmp_path: Path) -> None:
    story = Story(tmp_path)
    story.keep_all()
    with story.desk("D1") as desk:
        sign(desk, "C04", "demo")
    story.clock.ms = DAY_9
    from assess.desk.moderating import moderate

    with story.desk("D1") as desk:
        values = {"over-feet": desk_level(desk, "T1", "C04", "over-feet")}
        moderate(desk, "T1.C04", "agree-value", values=values, present=("A1", "A2"), reason="on appeal")
        item = standing_decision(desk, "C04", "demo")
        assert item is not None
        assert still_gives(desk, item)
        (told,) = [found for found in proposals(desk) if (found.candidate, found.module) == ("C04", "demo")]
        assert told.stale


def test_a_module_signed_in_two_ways_on_two_devices_is_told_until_one_stands_in_for_both(tmp_path: Path) -> None:
    here, there = Story(tmp_path / "here"), Story(tmp_path / "there")
    signings: tuple[tuple[Story, Any, str], ...] = ((here, None, "d7h2k"), (there, "void", "b3n8x"))
    for story, kind, name in signings:
        story.keep_all()
        desk = open_desk(story.root, "D1", device=name, clock=story.clock)
        sign(desk, "C04", "demo", kind=kind, reason="as it stands")
        assert desk.close()
    merge(here.root, [there.root])
    with here.desk("D1") as desk:
        found = proposal(desk, "C04", "demo")
        assert found.standing is not None
        assert {found.standing.fact.decision, *(item.fact.decision for item in found.otherwise)} == {"refuse", "void"}
        assert "SIGNED IN ANOTHER WAY TOO" in "\n".join(proposal_lines(desk, [found]))
        sign(desk, "C04", "demo", reason="the second look at it was a slip")
        assert proposal(desk, "C04", "demo").otherwise == ()


def desk_level(desk, task: str, candidate: str, criterion: str) -> int:
    """The highest mark given on a criterion of a slot."""
    sheets = [desk.folded(task, candidate, who) for who in desk.markers(task, candidate)]
    return max(int(mark.value) for sheet in sheets if (mark := sheet.mark(criterion)) and mark.value is not None)


def test_a_ledger_that_was_changed_below_its_head_is_told(tmp_path: Path) -> None:
    story = Story(tmp_path)
    story.keep_all()
    with story.desk("D1") as desk:
        sign(desk, "C04", "demo")
    sheet = next((story.root / "sheets").glob("T1.C04.A1.*"))
    lines = sheet.read_bytes().splitlines(keepends=True)
    sheet.write_bytes(b"".join(lines[:-1]))
    with story.desk("D1") as desk:
        item = standing_decision(desk, "C04", "demo")
        assert item is not None
        with pytest.raises(Refusal, match="is not as it was"):
            still_gives(desk, item)


def test_only_one_place_makes_a_decision() -> None:
    makers = [
        f"{path.relative_to(PACKAGE)}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and getattr(node.func, "id", getattr(node.func, "attr", "")) == "Decision"
    ]
    assert makers == ["desk/deciding.py"]


def test_nobody_signs_who_may_not_whatever_is_tried(tmp_path: Path) -> None:
    """A walk: everybody of the course and nobody, every module, every kind, with and without a waiver."""
    story = Story(tmp_path)
    pick = random.Random(7)
    people = ["A1", "A2", "A3", "A4", "D1", "D2"]
    written = 0
    for who in people:
        with story.desk(who) as desk:
            for candidate in desk.course.candidates:
                for module in ("demo", "teach", "safety"):
                    kind: Any = pick.choice((None, "grant", "refuse", "open", "void", "suspend", "withdraw", "renew"))
                    waiver = pick.choice(("", "nobody else is here"))
                    against = may_decide(desk, who, candidate, module)
                    before = len(decisions(desk, candidate, module))
                    try:
                        fact = fact_of(sign(desk, candidate, module, kind=kind, reason="tried", waiver=waiver))
                    except AssessError:
                        assert len(decisions(desk, candidate, module)) == before
                        continue
                    written += 1
                    assert isinstance(fact, Decision)
                    assert who in desk.course.directors
                    assert not against or fact.waiver
                    assert bool(fact.waiver) == bool(against)
    assert written > 10


def test_a_decision_somebody_else_wrote_into_the_file_is_none(tmp_path: Path) -> None:
    story = Story(tmp_path)
    from assess.desk.later_ledgers import write_decision

    with story.desk("D1") as desk:
        fact = fact_of(sign(desk, "C01", "teach"))
    with story.desk("A1") as desk:
        write_decision(desk, "C08", fact)
        assert decisions(desk, "C08") == ()


def test_the_one_who_found_on_a_breach_does_not_decide_it_and_the_decider_does_not_find(tmp_path: Path) -> None:
    from assess.desk.breach_steps import find, hear

    story = Story(tmp_path)
    with story.desk("D2") as desk, pytest.raises(Refusal, match="found on the breach"):
        sign(desk, "C09", "teach")
    with story.desk("D1") as desk:
        sign(desk, "C09", "teach")
        hear(desk, "C09", "beyond-a-closure", "as before")
        with pytest.raises(Refusal, match="decided one of these modules"):
            find(desk, "C09", "beyond-a-closure", "not-confirmed", reason="second thoughts")
