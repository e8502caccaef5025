"""A small invented season on disk, for tests that need a real folder."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.courses import FixedClock, open_desk

__all__ = ["CRITERIA", "RUBRIC", "build_season", "film_desk", "mark_film"]

ROOT = Path(__file__).resolve().parent.parent
RUBRIC = ROOT / "rubrics" / "alpine-ski" / "r-2026.2.yaml"
CRITERIA = ("diagnosis", "drill-choice", "build-up", "learner-change")
DEVICES = {"TR": "ttt", "M1": "m1m", "M2": "m2m"}


def build_season(
    root: Path, *, films: int = 2, mentors: Sequence[str] = ("M1",), more: Sequence[str] = (), film: str = ""
) -> Path:
    """A season of K films (F1.., task T5, a week apart) with nobody's sheets yet; `more`: further lines."""
    raw = RUBRIC.read_bytes()
    digest = hashlib.sha256(raw).hexdigest()
    told = [
        "# assess season 1",
        "id: S-TEST",
        "revision: 1",
        'title: "A small season"',
        "activity: alpine-ski",
        "area: teach",
        f"rubric: {{id: r-2026.2, sha256: {digest}}}",
        "trainee: TR",
        f"mentors: [{', '.join(mentors)}]",
        "films:",
        *(
            f'- {{id: F{n}, date: "2026-01-{7 * n:02d}", title: "Lesson {n}", task: T5, '
            f'film: {{path: "{film or f"film-{n}.mp4"}"}}}}'
            for n in range(1, films + 1)
        ),
        *more,
    ]
    people = [
        "# assess people 1",
        "revision: 1",
        "candidates: []",
        "assessors:",
        *(f"- {{id: {who}, name: Person {who}}}" for who in ("TR", *mentors)),
        "directors: []",
    ]
    (root / "rubrics").mkdir(parents=True)
    (root / "rubrics" / f"r-2026.2@{digest[:8]}.yaml").write_bytes(raw)
    (root / "season.yaml").write_text("\n".join(told) + "\n", encoding="utf-8")
    (root / "people.yaml").write_text("\n".join(people) + "\n", encoding="utf-8")
    return root


def film_desk(root: Path, who: str | None) -> Any:
    """A desk at a season, on a device of this person's own, later than whatever stands there."""
    written = sum(file.stat().st_size for file in root.rglob("*.yaml"))
    return open_desk(root, who, device=DEVICES.get(who or "", "xxx"), clock=FixedClock(1_770_025_500_000 + 9 * written))


def mark_film(
    root: Path, who: str, film: str, levels: Sequence[int], *, lock: bool = True, text: str = "", at_ms: int = 60_000
) -> None:
    """One person marks one film: fault, plan, an observation with a film time for each score."""
    desk = film_desk(root, who)
    sheet = desk.film("T5", film)
    sheet.name_fault(text or "late pressure", "root", whose="assessor")
    sheet.plan(goal="earlier on the new ski", steps="traverse, one turn, linked")
    for number, (criterion, level) in enumerate(zip(CRITERIA, levels, strict=False)):
        sheet.at_ms = at_ms * (number + 1)
        sheet.note(text or f"{who} saw {criterion}", (criterion,))
        sheet.score(criterion, level)
    if lock:
        sheet.lock()
    assert desk.close()
