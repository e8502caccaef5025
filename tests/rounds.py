"""A small invented calibration round on disk, for tests that need a real folder."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path

from tests.courses import FixedClock, open_desk

__all__ = ["CRITERIA", "RUBRIC", "RULE", "build_round", "levels_of", "mark_all", "mark_lesson"]

ROOT = Path(__file__).resolve().parent.parent
RUBRIC = ROOT / "rubrics" / "alpine-ski" / "r-2026.2.yaml"
CRITERIA = ("diagnosis", "drill-choice", "build-up", "learner-change")
RULE = (
    'current: {exact_at_least: "0.4", within_one_at_least: "0.9", line_agreement_at_least: "0.6"}',
    'mark_again: {within_one_at_least: "0.75"}',
)
Levels = Mapping[str, Sequence[int]]


def build_round(
    root: Path,
    *,
    lessons: int = 3,
    repeats: Sequence[str] = ("L01",),
    assessors: Sequence[str] = ("A1", "A2"),
    panel: Sequence[str] = ("P1", "P2", "P3", "P4"),
    directors: Sequence[str] = ("D1",),
    rule: Sequence[str] = RULE,
    more: Sequence[str] = (),
    rubric: Path = RUBRIC,
) -> Path:
    """A round of K lessons (L01.., task T5) with nobody's sheets yet; `more` are further lines of round.yaml."""
    raw = rubric.read_bytes()
    digest = hashlib.sha256(raw).hexdigest()
    told = [
        "# assess round 1",
        "id: R-TEST",
        "revision: 1",
        'title: "A small round"',
        "activity: alpine-ski",
        'date: "2026-02-02"',
        "area: teach",
        f"rubric: {{id: r-2026.2, sha256: {digest}}}",
        f"directors: [{', '.join(directors)}]",
        f"panel: [{', '.join(panel)}]",
        f"assessors: [{', '.join(assessors)}]",
        "lessons:",
        *(f'- {{id: L{n:02d}, title: "Lesson {n}", task: T5, film: "film-{n}.mp4"}}' for n in range(1, lessons + 1)),
        *([f"repeats: [{', '.join(repeats)}]"] if repeats else []),
        *more,
        "rule:",
        *(f"  {line}" for line in rule),
    ]
    everybody = dict.fromkeys([*assessors, *panel])
    people = [
        "# assess people 1",
        "revision: 1",
        "candidates: []",
        "assessors:",
        *(f"- {{id: {who}, name: Marker {who}}}" for who in everybody),
        "directors:",
        *(f"- {{id: {who}, name: Director {who}}}" for who in directors),
    ]
    root.mkdir(parents=True)
    (root / "rubrics").mkdir()
    (root / "rubrics" / f"r-2026.2@{digest[:8]}.yaml").write_bytes(raw)
    (root / "round.yaml").write_text("\n".join(told) + "\n", encoding="utf-8")
    (root / "people.yaml").write_text("\n".join(people) + "\n", encoding="utf-8")
    return root


def levels_of(slots: Sequence[str], level: int) -> dict[str, tuple[int, ...]]:
    """The same level on every criterion of these lessons."""
    return {slot: (level,) * len(CRITERIA) for slot in slots}


def mark_lesson(root: Path, who: str, slot: str, levels: Sequence[int], *, lock: bool = True, text: str = "") -> None:
    """One person marks one lesson; every level gets an observation of its own."""
    mark_all(root, who, {slot: levels}, lock=lock, text=text)


def mark_all(root: Path, who: str, levels: Levels, *, lock: bool = True, text: str = "") -> None:
    """One person marks these lessons, in this order."""
    desk = open_desk(root, who, device=who.lower().replace("-", "").ljust(3, "x"), clock=_clock(root, who))
    for slot, given in levels.items():
        sheet = desk.slot("T5", slot)
        for criterion, level in zip(CRITERIA, given, strict=True):
            sheet.note(text or f"{who} saw {criterion} in {slot}", (criterion,))
            sheet.score(criterion, level)
        if lock:
            sheet.lock()
    assert desk.close()


def _clock(root: Path, who: str) -> FixedClock:
    """Later than whatever stands there, so that an order of marking is kept over several sittings."""
    written = sum(file.stat().st_size for file in (root / "sheets").glob(f"*.{who}.*")) if root.exists() else 0
    return FixedClock(start_ms=1_770_025_500_000 + 10 * written)
