"""A rubric version takes force in a course, for an area that has no sheet yet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.records.errors import InputError, Refusal

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["pin_rubric"]


def pin_rubric(desk: Desk, file: Path, area: str, from_day: int, reason: str, told_before: str | None = None) -> str:
    """Put a rubric file in force for an area from a day on; the copy's name in the course's `rubrics/`.

    The file is copied byte for byte. Refused to anybody but a director, for an area that has a
    sheet, without a reason, and for a rubric that does not know the area's tasks. Raises InputError
    with every problem `assess rubric check` finds in the file.
    """
    from assess.desk.rubric_check import check_rubric
    from assess.records.rubric import Rubric
    from assess.store.atomic import create_file
    from assess.store.validate import as_model
    from assess.store.yaml_edit import edit_yaml
    from assess.store.yaml_file import read_yaml

    _may_pin(desk, area, reason)
    doc = read_yaml(file, shown=str(file), what="rubric")
    rubric = as_model(doc, Rubric)
    wrong = [problem for problem in check_rubric(rubric, doc.lines, doc.shown) if not problem.doubt]
    if wrong:
        raise InputError(wrong)
    unknown = [task.id for task in desk.course.tasks if task.area == area and task.id not in rubric.tasks]
    if unknown:
        raise Refusal(f"{rubric.id} does not know {', '.join(unknown)}", todo="add the task to the rubric")
    name = f"{rubric.id}@{doc.sha256[:8]}.yaml"
    copy = desk.folder.root / "rubrics" / name
    if not copy.exists():
        create_file(copy, doc.raw)
    pin = _pin(desk, rubric.id, doc.sha256, area, from_day, reason)
    if told_before:
        pin["told_before"] = told_before

    def change(course: Any) -> None:
        # A pin of the same day was never marked on: this one stands instead of it.
        for item in [item for item in course["rubrics"] if (item["area"], item.get("from_day", 1)) == (area, from_day)]:
            course["rubrics"].remove(item)
        course["rubrics"].append(dict(pin))
        course["revision"] += 1

    edit_yaml(desk.folder.root / "course.yaml", "course", change)
    return name


def _pin(desk: Desk, rubric: str, sha256: str, area: str, from_day: int, reason: str) -> dict[str, Any]:
    at = desk.clock_text(desk.now())[:5]
    pin = {"area": area, "rubric": rubric, "sha256": sha256, "from_day": from_day}
    return {**pin, "by": desk.who, "at": at, "reason": reason}


def _may_pin(desk: Desk, area: str, reason: str) -> None:
    desk.need_course("a round or a season names its rubric in its own file")
    if desk.role != "director":
        raise Refusal("only a director puts a rubric in force", todo="say who you are with --as ID")
    if not reason.strip():
        raise Refusal("a change of rubric needs a reason", todo="give it with --reason")
    if area not in {task.area for task in desk.course.tasks}:
        raise Refusal(f"this course has no area {area}", todo="see the tasks in course.yaml")
    for task, _, _ in desk.shelf.sheet_keys():
        found = desk.course.task(task)
        if found is not None and found.area == area:
            raise Refusal(
                f"area {area} has sheets already: its scores are judged by the version they were given in",
                todo="use the new version for the next course",
            )
