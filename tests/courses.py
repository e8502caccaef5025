"""A small invented course on disk, for tests that need a real folder."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

__all__ = ["RUBRIC", "FixedClock", "build_course", "open_desk", "release"]

ROOT = Path(__file__).resolve().parent.parent
RUBRIC = ROOT / "rubrics" / "alpine-ski" / "r-2026.1.yaml"
TASKS = {"T1": "demo", "T2": "demo", "T3": "demo", "T4": "teach", "T5": "teach", "T6": "safety"}


class FixedClock:
    """A clock that tests move by hand: starts on day 1 at 09:45 UTC, one second a call."""

    def __init__(self, start_ms: int = 1_770_025_500_000, step_ms: int = 1000) -> None:
        self.ms, self.step_ms = start_ms, step_ms

    def now_ms(self) -> int:
        self.ms += self.step_ms
        return self.ms

    def monotonic_ms(self) -> int:
        return self.ms


def build_course(
    root: Path,
    *,
    candidates: int = 3,
    names: Sequence[str] = (),
    assessors: Sequence[str] = ("A1", "A2"),
    tasks: Sequence[str] = ("T1", "T4"),
    events: Sequence[str] = (),
    conflicts: Sequence[str] = (),
    more_people: Sequence[str] = (),
    rubric: Path = RUBRIC,
) -> Path:
    """A course of K candidates (C01.., bibs 20..) in which all `assessors` mark every slot of `tasks`.

    more_people: further lines of people.yaml, as they stand there.
    """
    raw = rubric.read_bytes()
    digest = hashlib.sha256(raw).hexdigest()
    who = [f"C{number:02d}" for number in range(1, candidates + 1)]
    labels = [*names, *(f"Person {number}" for number in range(len(names) + 1, candidates + 1))]
    allocation = [
        f"- {{task: {task}, order: {place}, candidate: {c}, assessors: [{', '.join(assessors)}]}}"
        for task in tasks
        for place, c in enumerate(who, 1)
    ]
    areas = sorted({TASKS[task] for task in tasks})
    course = [
        "# assess course 1",
        "id: K-TEST",
        "revision: 1",
        'title: "A small course"',
        "activity: alpine-ski",
        'days: ["2026-02-02", "2026-02-03"]',
        "rubrics:",
        *(f"- {{area: {area}, rubric: r-2026.1, sha256: {digest}, from_day: 1}}" for area in areas),
        "tasks:",
        *(f"- {{id: {task}, area: {TASKS[task]}, day: 1}}" for task in tasks),
        f"candidates: [{', '.join(who)}]",
        f"assessors: [{', '.join(assessors)}]",
        "directors: [D1, D2]",
        "allocation:",
        *allocation,
        *(["events:", *events] if events else []),
    ]
    people = [
        "# assess people 1",
        "revision: 1",
        "candidates:",
        *(
            f"- {{id: {c}, name: {json.dumps(label, ensure_ascii=False)}, bib: {19 + n}, mark: red jacket}}"
            for n, (c, label) in enumerate(zip(who, labels, strict=True), 1)
        ),
        "assessors:",
        *(f"- {{id: {a}, name: Marker {a}}}" for a in assessors),
        "directors:",
        "- {id: D1, name: Director One}",
        "- {id: D2, name: Director Two}",
        *(["conflicts:", *conflicts] if conflicts else []),
        *more_people,
    ]
    root.mkdir(parents=True)
    for folder in ("rubrics", "sheets", "days", "decisions", "seals"):
        (root / folder).mkdir()
    (root / "rubrics" / f"r-2026.1@{digest[:8]}.yaml").write_bytes(raw)
    (root / "course.yaml").write_text("\n".join(course) + "\n", encoding="utf-8")
    (root / "people.yaml").write_text("\n".join(people) + "\n", encoding="utf-8")
    return root


def release(root: Path) -> None:
    """The director's release of all modules to assessors, written into course.yaml."""
    course = root / "course.yaml"
    event = '- {day: 1, at: "15:00", kind: release, by: D1, to: assessors, modules: all}\n'
    course.write_text(course.read_text(encoding="utf-8") + "events:\n" + event, encoding="utf-8")


def open_desk(root: Path, who: str | None = "A1", device: str = "d7h2k", clock: FixedClock | None = None):
    """A desk with a fixed clock and numbered salts: the same acts give the same bytes.

    Its disk does not wait for the platter: what must survive a power cut is tested elsewhere.
    """
    from assess.desk.session import Desk

    numbers = iter(range(1_000_000))
    ticking: Any = clock or FixedClock()
    return Desk.open(root, who, clock=ticking, device=device, disk=_quick_disk(), salt=lambda: f"{next(numbers):032x}")


def _quick_disk():
    from assess.store.disk import Disk

    class QuickDisk(Disk):
        def fsync(self, descriptor: int) -> None:
            """Nothing."""

        def sync_folder(self, path: Path) -> None:
            """Nothing."""

    return QuickDisk()
