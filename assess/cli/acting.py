"""A course open for an act given on the command line: saved before anything is said of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.cli.options import ask_who

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["acting", "looking", "names", "said"]


@contextmanager
def acting(course: Path, as_id: str | None) -> Iterator[Desk]:
    """The course as the person who acts; StorageTrouble when what they did is not on the disk."""
    from assess.desk.marks_given import wait_until_saved
    from assess.desk.opening import need_rubrics, open_course

    desk = open_course(course, as_id, ask=ask_who, act=True)
    try:
        need_rubrics(desk)
        yield desk
        wait_until_saved(desk)
    finally:
        desk.close()


@contextmanager
def looking(course: Path, as_id: str | None) -> Iterator[Desk]:
    """The course as the person who looks; nothing is written."""
    from assess.desk.opening import need_rubrics, open_course

    desk = open_course(course, as_id, ask=ask_who)
    try:
        need_rubrics(desk)
        yield desk
    finally:
        desk.close()


def names(words: str | None) -> tuple[str, ...]:
    """The words of a list written `A1,A4`; nothing for nothing."""
    return tuple(word.strip() for word in (words or "").split(",") if word.strip())


def said(document: dict[str, Any], lines: list[str], as_json: bool) -> int:
    """Print what was done, as lines or as one document; the exit code."""
    from assess.cli.say import show_json, show_lines

    if as_json:
        show_json(document)
    else:
        show_lines(lines)
    return 0
