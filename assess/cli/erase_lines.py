"""An erasure as lines and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from assess.cli.problem_lines import problem_json, problem_line

if TYPE_CHECKING:
    from assess.desk.person_erase import Erased

__all__ = ["erased_json", "erased_lines"]


def erased_lines(told: Erased) -> Iterator[str]:
    """First what happened or would happen, then what, then what is left to a person."""
    if told.nothing:
        yield f"nothing of {told.person} is left to erase"
    elif told.done:
        yield f"{told.person} ({told.role}) is erased; it is written down and cannot be taken back"
    else:
        yield f"{told.person} ({told.role}): a dry run, nothing is changed; --yes does it and cannot be taken back"
    goes = "gone" if told.done else "goes"
    if told.listed:
        yield f"{goes}: name, contact, bib and consents in people.yaml"
    yield from (f"{goes}: the text in {name}" for name in told.files)
    yield from (f"{goes}: {name}" for name in told.removed)
    for task, candidate in told.hidden:
        yield f"{goes}, and not told because not everybody has locked: the text about them in {task} {candidate}"
    yield from (f"{each.file}:{each.line}: names `{each.words}`: {each.goes}" for each in told.mentions)
    if told.mentions and not told.done:
        yield "where a word means somebody else, keep it with --keep FILE:LINE"
    if not told.nothing:
        yield f"stays, under {told.person}: marks, times, locks, outcomes, and the digests that records verify by"
    yield from (f"against it: {each.text}" for each in told.against)
    yield from (problem_line(problem) for problem in told.left)
    if not told.nothing:
        yield "not looked for: letters, pages, tables, copies and certificates written outside this folder; delete them"
    if told.done:
        yield "other copies of this course (devices, sticks, back-ups) still hold it: merge into them and erase there"


def erased_json(told: Erased) -> dict[str, Any]:
    """The same as one document."""
    return {
        "person": told.person,
        "role": told.role,
        "done": told.done,
        "nothing_left": told.nothing,
        "in_people": told.listed,
        "files": list(told.files),
        "removed": list(told.removed),
        "not_told": [{"task": task, "candidate": candidate} for task, candidate in told.hidden],
        "mentions": [
            {"file": each.file, "line": each.line, "words": each.words, "goes": each.goes} for each in told.mentions
        ],
        "against": [{"code": each.code, "text": each.text} for each in told.against],
        "left": [problem_json(problem) for problem in told.left],
    }
