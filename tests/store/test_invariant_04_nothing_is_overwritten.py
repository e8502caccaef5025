"""Invariant 4: nothing recorded is ever overwritten or deleted; what was once in a file stays its beginning."""

from __future__ import annotations

import contextlib
import shutil
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from assess.records.errors import Refusal
from assess.store.merge import merge
from tests.courses import build_course, open_desk

ACTS = st.lists(st.tuples(st.integers(0, 8), st.integers(0, 3), st.integers(1, 6)), max_size=25)


def act(desk, what: int, who: int, level: int) -> None:
    sheet = desk.run_sheet("T1")
    candidate = f"C0{who % 3 + 1}"
    slot = sheet.slot(candidate)
    criterion = slot.criteria[who % 4]
    acts = (
        lambda: slot.score(criterion, level),
        lambda: slot.not_observed(criterion, "fog"),
        lambda: slot.note("tails wash", (criterion,)),
        sheet.undo,
        lambda: sheet.give_to(candidate, 20 + level % 3),
        lambda: sheet.order(candidate, "late"),
        lambda: slot.breach(),
        slot.lock,
        lambda: desk.day_book.record_morning(weather="clear"),
    )
    acts[what]()


def files(root: Path) -> dict[str, bytes]:
    folders = ("sheets", "days", "decisions", "seals")
    return {f"{f}/{p.name}": p.read_bytes() for f in folders for p in sorted((root / f).iterdir()) if p.is_file()}


@given(ACTS)
@settings(max_examples=40, deadline=None)
def test_invariant_4_after_every_act_each_file_begins_with_what_it_was(acts: list[tuple[int, int, int]]) -> None:
    with tempfile.TemporaryDirectory() as place:
        root = build_course(Path(place) / "course")
        desk = open_desk(root)
        before: dict[str, bytes] = {}
        for what, who, level in acts:
            with contextlib.suppress(Refusal):
                act(desk, what, who, level)
            assert desk.drain()
            now = files(root)
            for name, was in before.items():
                assert now[name].startswith(was), name
            before = now
        desk.close()


def test_invariant_4_a_merge_keeps_every_version_that_is_no_beginning_of_another(tmp_path: Path) -> None:
    base = build_course(tmp_path / "base")
    copies = []
    for number, level in enumerate((3, 4, 5)):
        copy = tmp_path / f"copy{number}"
        shutil.copytree(base, copy)
        desk = open_desk(copy)
        desk.slot("T1", "C01").score("edging", level)
        desk.close()
        copies.append(copy)
    kept = {raw for copy in copies for raw in files(copy).values()}
    merge(base, copies)
    assert kept <= set(files(base).values())
