"""Invented courses of any size, without an allocation, to be planned."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path

__all__ = ["LARGE", "large_course", "planned_course", "task_line"]

AREAS = ("demo", "teach", "safety")


def task_line(area: str, day: int, minutes: int, *, learners: int = 0) -> tuple[str, int, int, int]:
    """A task: its area, its day, its minutes, how many learners."""
    return area, day, minutes, learners


LARGE = {
    "T1": task_line("demo", 1, 6), "T2": task_line("demo", 1, 6), "T3": task_line("demo", 2, 6),
    "T8": task_line("safety", 2, 15), "T6": task_line("teach", 3, 25, learners=2), "T4": task_line("demo", 4, 6),
    "T5": task_line("demo", 4, 6), "T7": task_line("teach", 5, 25, learners=2),
}  # fmt: skip


def planned_course(
    root: Path,
    tasks: Mapping[str, tuple[str, int, int, int]],
    *,
    candidates: int,
    assessors: int,
    plan: str = "",
    people: Sequence[str] = (),
    learners: int = 0,
) -> Path:
    """A course folder at `root`. plan: lines of the section `plan`; people: further lines of people.yaml."""
    rubric = _rubric(tasks).encode()
    digest = hashlib.sha256(rubric).hexdigest()
    used = [area for area in AREAS if any(area == task[0] for task in tasks.values())]
    who, markers = [f"C{n:02d}" for n in range(1, candidates + 1)], [f"A{n}" for n in range(1, assessors + 1)]
    days = [f"2027-02-{n:02d}" for n in range(1, max(task[1] for task in tasks.values()) + 1)]
    course = [
        "# assess course 1", "# A comment that stays.", "id: K-PLAN", "revision: 3", 'title: "To be planned"',
        "activity: gliding", f"days: [{', '.join(days)}]", "rubrics:",
        *(f"- {{area: {area}, rubric: r-1, sha256: {digest}}}" for area in used), "# The tasks.", "tasks:",
        *(f"- {{id: {name}, area: {task[0]}, day: {task[1]}}}  # {name} is here" for name, task in tasks.items()),
        f"candidates: [{', '.join(who)}]", f"assessors: [{', '.join(markers)}]", "directors: [D1]",
    ]  # fmt: skip
    if plan:
        course += ["# How to plan it.", "plan:", plan.rstrip("\n")]
    listed = [
        "# assess people 1", "revision: 1", "candidates:",
        *(f'- {{id: {name}, name: "Person {n}", bib: {n}}}' for n, name in enumerate(who, 1)), "assessors:",
        *(f'- {{id: {name}, name: "Marker {chr(64 + n)}"}}' for n, name in enumerate(markers, 1)),
        "directors:", '- {id: D1, name: "Director"}',
        *(["learners:"] if learners else []),
        *(f'- {{id: L{n}, alias: "learner {n}"}}' for n in range(1, learners + 1)),
        *people,
    ]  # fmt: skip
    (root / "rubrics").mkdir(parents=True)
    (root / "rubrics" / f"r-1@{digest[:8]}.yaml").write_bytes(rubric)
    (root / "course.yaml").write_text("\n".join(course) + "\n", encoding="utf-8")
    (root / "people.yaml").write_text("\n".join(listed) + "\n", encoding="utf-8")
    return root


def large_course(root: Path) -> Path:
    """40 candidates, 12 assessors, 8 tasks; ten conflicts, training, and a licence that ends after day 3."""
    people = ["conflicts:"]
    people += [f'- {{assessor: A{n % 12 + 1}, candidate: C{4 * n:02d}, why: "is a relative"}}' for n in range(1, 11)]
    people += ["trained:"]
    people += [f"- {{assessor: A{n}, candidate: C{3 * n + 1:02d}, ended: 2026-05-01}}" for n in range(1, 9)]
    people += ["licences:"]
    ends = {5: "2027-02-03"}
    people += [
        f"- {{assessor: A{n}, activity: gliding, valid_from: 2026-01-01, valid_to: {ends.get(n, '2027-12-31')}}}"
        for n in range(1, 13)
    ]
    plan = "  tasks:\n" + "".join(f"  - {{task: {name}, at_once: 2}}\n" for name in ("T1", "T2", "T3", "T4", "T5"))
    return planned_course(root, LARGE, candidates=40, assessors=12, plan=plan, people=people, learners=60)


def _rubric(tasks: Mapping[str, tuple[str, int, int, int]]) -> str:
    by_area = {area: [name for name, task in tasks.items() if task[0] == area] for area in AREAS}
    used = {area: names for area, names in by_area.items() if names}
    lines = [
        "# assess rubric 1", "id: r-1", 'title: "A small rubric"', "activity: gliding", "language: en",
        'scale: {min: 1, max: 4, pass_line: "2.5", words: {1: a, 2: b, 3: c, 4: d}}', "areas:",
        *(f"  {area}: {{title: Area}}" for area in used), "modules:",
        *(f"  {area}: {{area: {area}, tasks: [{', '.join(names)}]}}" for area, names in used.items()), "tasks:",
    ]  # fmt: skip
    for name, (area, _, minutes, learners) in tasks.items():
        lesson = f", lesson: true, learners: {learners}" if area == "teach" else ""
        lines.append(f"  {name}: {{area: {area}, title: Task, minutes: {minutes}, criteria: [c-{area}]{lesson}}}")
    lines.append("criteria:")
    lines += [f"  c-{area}: {{area: {area}, label: one, text: How?, levels: {{1: a, 4: d}}}}" for area in used]
    lines += ['coverage: "0.75"', 'two_markers: {sheet_apart: "0.75", criterion_apart: 2}']
    return "\n".join(lines) + "\n"
