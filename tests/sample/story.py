"""The sample course played on from day 3, 15:30, through the desk: moderation, reserve morning, decisions.

Everything here is invented; the marks of the third looks, of the repeat and of the completions are those of
tests/data/marking/course.yaml's last lists.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.courses import FixedClock, open_desk

SAMPLE = Path(__file__).resolve().parent.parent.parent / "sample_sessions" / "course"
DAY_3, DAY_4, DAY_9 = 1_770_219_000_000, 1_770_282_000_000, 1_770_724_800_000
"""2026-02-04 15:30, 2026-02-05 09:00 and 2026-02-10 12:00, UTC."""
DEVICES = {"A1": "d7h2k", "A2": "m4qzt", "A3": "p3wzc", "A4": "x8rgv", "D1": "b5nqf", "D2": "t6hjd"}

LOOKS: tuple[tuple[str, str, str, dict[str, Sequence[int]], tuple[str, ...], str], ...] = (
    (
        "C02",
        "demo",
        "A3",
        {"T1": (4, 4, 4, 4), "T3": (4, 4, 3, 4)},
        ("T1.C01",),
        "no film of T2: lens fogged",
    ),
    ("C02", "teach", "A4", {"T4": (3, 3, 4, 3), "T5": (3, 3, 4, 3)}, ("T4.C01",), "in the band"),
    ("C04", "safety", "A1", {"T6": (4, 4, 4, 4)}, ("T6.C08",), "in the band"),
    ("C06", "teach", "A4", {"T4": (4, 4, 4, 4), "T5": (5, 4, 5, 5)}, ("T4.C05",), "one value under the minimum"),
    ("C10", "teach", "A3", {"T5": (5, 4, 4, 4)}, ("T5.C04",), "film of T5 only, lens iced in T4"),
)
COMPLETIONS: tuple[tuple[str, dict[str, Sequence[int]]], ...] = (
    ("C08", {"A1": (2, 3, 2, 2), "A4": (3, 2, 3, 2)}),
    ("C09", {"A2": (5, 5, 5, 5), "A3": (4, 4, 4, 5)}),
    ("C10", {"A1": (4, 4, 4, 4), "A4": (4, 4, 4, 3)}),
)
REPEAT = {"A1": (4, 4, 4, 4), "A3": (3, 4, 4, 4)}


def fact_of(entry: Any) -> Any:
    """What an act wrote, whatever kind of fact it is."""
    return entry.fact


class Story:
    """A copy of the sample course and a clock that runs on; `desk` opens it as one person."""

    def __init__(self, root: Path) -> None:
        self.root = root / "course"
        shutil.copytree(SAMPLE, self.root)
        self.clock = FixedClock(DAY_3)

    def again(self, folder: Path) -> Story:
        """Its own copy of this course, and a clock that goes on from now: whatever happens there stays there."""
        copy = Story.__new__(Story)
        copy.root, copy.clock = folder / "course", FixedClock(self.clock.ms)
        shutil.copytree(self.root, copy.root)
        return copy

    @contextmanager
    def desk(self, who: str) -> Iterator[Any]:
        """The course open as one person on their own device; closed and saved afterwards."""
        desk = open_desk(self.root, who, device=DEVICES[who], clock=self.clock)
        try:
            yield desk
        finally:
            assert desk.close()

    def mark(self, who: str, task: str, candidate: str, levels: Sequence[int]) -> None:
        """Mark a whole sheet, give the evidence it needs, lock it."""
        with self.desk(who) as desk:
            sheet = desk.slot(task, candidate)
            for criterion, level in zip(sheet.criteria, levels, strict=True):
                sheet.score(criterion, level)
            if sheet.needing_evidence():
                sheet.note("seen in the whole run")
            sheet.view("film")
            sheet.lock()

    # --- day 3, 15:30 ---------------------------------------------------------------------------

    def keep_all(self) -> None:
        """Every difference that is due is talked over and kept, with its reason."""
        from assess.desk.moderating import differences, moderate

        with self.desk("D1") as desk:
            due = [item for item in differences(desk) if item.found.due]
            for item in due:
                markers = desk.markers(item.found.task, item.candidate)
                moderate(desk, item.slot, "keep-both", present=markers, reason="seen from two sides; both stand")

    # --- day 4 ----------------------------------------------------------------------------------

    def look(self, number: int) -> None:
        """One of the third looks: ordered, marked with the clear slot mixed in, closed."""
        from assess.desk.third_looks import close_look, order_look

        candidate, module, who, sheets, mixed, why = LOOKS[number]
        with self.desk("D1") as desk:
            order_look(desk, candidate, module, marker=who, slots=tuple(sheets), source="film", mixed=mixed, reason=why)
        for task, levels in sheets.items():
            self.mark(who, task, candidate, levels)
        for name in mixed:
            task, _, other = name.partition(".")
            self.mark(who, task, other, (4, 4, 4, 4))
        with self.desk("D1") as desk:
            close_look(desk, candidate, module)

    def complete_t3(self) -> None:
        """T3 for those the wind stopped, before two markers each."""
        from assess.desk.further import add_slot

        for candidate, sheets in COMPLETIONS:
            with self.desk("D1") as desk:
                add_slot(desk, "T3", candidate, why="completion", assessors=tuple(sheets), reason="wind on day 2")
            for who, levels in sheets.items():
                self.mark(who, "T3-2", candidate, levels)

    def offer_t2(self) -> None:
        """T2 once more is offered to everybody in the band of the demonstrations, before anything new is known."""
        from assess.desk.further import offer_repeat

        with self.desk("D1") as desk:
            offer_repeat(desk, "T2", "demo", "no film of T2: the lens fogged")

    def repeat_t2(self) -> None:
        """C02, alone in the band, takes it."""
        from assess.desk.further import add_slot

        with self.desk("D1") as desk:
            add_slot(desk, "T2", "C02", why="repeat", assessors=tuple(REPEAT), reason="offered and taken")
        for who, levels in REPEAT.items():
            self.mark(who, "T2-2", "C02", levels)

    def moderate_the_new(self) -> None:
        """What the further sheets brought apart is kept too."""
        self.keep_all()

    def reserve_morning(self) -> None:
        """Everything up to the table of day 4."""
        self.keep_all()
        self.clock.ms = DAY_4
        self.offer_t2()
        for number in range(len(LOOKS)):
            self.look(number)
        self.repeat_t2()
        self.complete_t3()
        self.moderate_the_new()

    def sign_all(self) -> None:
        """D1 signs what the rules propose, module by module."""
        from assess.desk.deciding import proposals, sign

        with self.desk("D1") as desk:
            for item in proposals(desk):
                sign(desk, item.candidate, item.module, valid_to="2027-02-05" if item.follows == "grant" else None)
