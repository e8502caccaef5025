"""A copy of the sample course to try things on."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from assess.records.errors import Refusal, StorageTrouble

__all__ = ["SAMPLE_PERSON", "sample_copy", "sample_course"]

SAMPLE_PERSON = "A1"
"""Who sits at the sample course unless somebody else is named."""


def sample_course() -> Path:
    """The folder of the sample course as shipped: never opened for writing, only copied."""
    from assess.store.shipped import shipped

    root = shipped("sample_sessions")
    found = sorted(file.parent for file in root.glob("*/course.yaml"))
    if not found:
        raise Refusal("the sample course is not part of this installation", todo="install the program again")
    return found[0]


def sample_copy(target: Path, *, unmarked: bool = False) -> Path:
    """A copy of the sample course at `target`, which is returned; unmarked: as it was before its first mark.

    A copy that is there already stays as it is; an empty folder is filled. Raises Refusal for a folder
    that holds anything else, StorageTrouble when the copy cannot be written; nothing is left half done.
    """
    sample = sample_course()
    if target.is_symlink() or (target.exists() and not target.is_dir()):
        raise Refusal(f"{target} is there already and is no folder", todo="name another with --dir")
    if target.is_dir() and any(target.iterdir()):
        if _course_id(target) == _course_id(sample):
            return target
        raise Refusal(f"{target} holds something else than the sample course", todo="name another folder with --dir")
    _copy(sample, target, unmarked=unmarked)
    return target


def _course_id(folder: Path) -> str | None:
    from assess.store.yaml_file import read_yaml

    file = folder / "course.yaml"
    if not file.is_file():
        return None
    said = read_yaml(file, what="course").data
    found = said.get("id")
    return found if isinstance(found, str) else None


def _copy(sample: Path, target: Path, *, unmarked: bool) -> None:
    from assess.store.disk import why
    from assess.store.yaml_edit import edit_yaml

    beside = target.with_name(f".{target.name}-copying")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.rmtree(beside, ignore_errors=True)
        # copyfile: the shipped files may be read-only, the copies are for writing in.
        shutil.copytree(sample, beside, copy_function=shutil.copyfile, ignore=_records if unmarked else None)
        if unmarked:
            edit_yaml(beside / "course.yaml", "course", _nothing_happened)
        beside.rename(target)
    except OSError as trouble:
        shutil.rmtree(beside, ignore_errors=True)
        raise StorageTrouble(
            f"cannot be copied: {why(trouble)}", where=str(target), todo="look at the folder"
        ) from trouble


def _records(folder: str, names: list[str]) -> set[str]:
    """All that a course has only once it is under way."""
    return {name for name in names if name in ("sheets", "days", "decisions", "seals", "quality.yaml")}


def _nothing_happened(course: Any) -> None:
    course["events"] = []
