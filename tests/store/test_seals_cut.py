"""A sealed ledger cut at any entry or byte, or rewritten from any entry on: what is read of it, and what is told."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.facts import Observation, Seal, Undo
from assess.store.course_folder import load_course
from assess.store.seals import head_problems, seal_of
from tests.store.course_maker import heads, ledger_bytes, make_course, other, put, scores, sheet
from tests.store.test_seals import FIRST, NAME, SHEET, found, seal


@pytest.fixture
def root(tmp_path: Path) -> Path:
    course = make_course(tmp_path / "k")
    put(course, sheet(), ledger_bytes(sheet(), scores(3, 4)))
    return course


def _ends(raw: bytes) -> list[int]:
    """Where each entry of a ledger ends, that of its header first."""
    ends = [place + 1 for place, byte in enumerate(raw) if byte == 0x0A]
    return ends[2:]


def test_a_ledger_cut_after_any_entry_below_its_seal_is_found_and_above_it_is_not(root: Path) -> None:
    facts = [*scores(3, 4), Observation(text="outer ski light"), *scores(2), Undo(of=4)]
    (root / SHEET).write_bytes(ledger_bytes(sheet(), facts))
    seal(root)
    longer = ledger_bytes(sheet(), [*facts, *scores(5, 6)])
    for kept, end in enumerate(_ends(longer)):
        (root / SHEET).write_bytes(longer[:end])
        cut = [what for file, _, what, doubt in found(root) if file == SHEET and not doubt]
        missing = f"cut below a recorded head: entry 5 was sealed in {FIRST}:4 and is missing"
        assert cut == ([missing] if kept < 5 else [])


def test_a_ledger_cut_at_any_byte_reopens_with_its_whole_entries_and_its_seal_tells_of_the_rest(root: Path) -> None:
    facts = [*scores(3), Observation(text="äußerer Ski"), *scores(2)]
    raw = ledger_bytes(sheet(), facts)
    ends = _ends(raw)
    (root / SHEET).write_bytes(raw)
    seal(root)
    for size in range(len(raw)):
        (root / SHEET).write_bytes(raw[:size])
        # A last line without its newline is whole when its chain fits.
        whole = sum(end - 1 <= size for end in ends[1:])
        folder = load_course(root)
        sheets = [file for file in folder.ledgers if file.name == NAME]
        assert [len(file.ledger.entries) for file in sheets] == ([whole] if size >= ends[0] else [])
        told = [problem.what for problem in head_problems(folder) if problem.file == SHEET and not problem.doubt]
        if whole == len(facts):
            assert told == []
        else:
            [what] = told
            assert what.startswith("cut below a recorded head: entry 3" if sheets else "is sealed in ")


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_ledger_rewritten_with_a_fitting_chain_is_found_at_the_first_sealed_entry_below_the_change(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    levels = data.draw(st.lists(st.integers(1, 5), min_size=1, max_size=6))
    changed = data.draw(st.integers(0, len(levels) - 1))
    sealed = data.draw(st.integers(1, len(levels)))
    course = make_course(tmp_path_factory.mktemp("rewritten") / "k")
    put(course, sheet(), ledger_bytes(sheet(), scores(*levels[:sealed])))
    header = other("seal", date="2027-02-03")
    recorded = {NAME: heads(ledger_bytes(sheet(), scores(*levels[:sealed])))[-1]}
    put(course, header, ledger_bytes(header, [Seal(heads=recorded, seal=seal_of(recorded))]))
    rewritten = [level + (place == changed) for place, level in enumerate(levels)]
    put(course, sheet(), ledger_bytes(sheet(), scores(*rewritten)))
    folder = load_course(course)
    assert folder.problems == ()
    told = [(problem.file, problem.line) for problem in head_problems(folder) if not problem.doubt]
    assert told == ([(SHEET, sealed + 3)] if changed < sealed else [])
