"""A merge, and versions to be settled, as lines and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from assess.cli.problem_lines import problem_json, problem_line

if TYPE_CHECKING:
    from assess.desk.merging import MergeTold
    from assess.desk.settling import Version

__all__ = ["merge_json", "merge_lines", "version_json", "version_lines"]


def merge_lines(told: MergeTold) -> Iterator[str]:
    """What to do now; then what came in from whom; then every single thing."""
    yield told.first_line
    yield from (f"  {number}. {need}" for number, need in enumerate(told.needs, start=1))
    yield from (f"came in from {who}: {_together(what)}" for who, what in told.came.items())
    if not told.taken:
        yield "nothing new"
    yield from (problem_line(problem) for problem in told.problems)


def _together(what: Sequence[str]) -> str:
    """`T1 C04 C05; T2 C04` for `T1 C04`, `T1 C05`, `T2 C04`."""
    groups: dict[str, list[str]] = {}
    for each in what:
        first, _, rest = each.partition(" ")
        groups.setdefault(first, []).append(rest)
    return "; ".join(" ".join([first, *rest]).strip() for first, rest in groups.items())


def merge_json(told: MergeTold) -> dict[str, Any]:
    """The same as one document."""
    return {
        "first_line": told.first_line,
        "needs": list(told.needs),
        "taken": list(told.taken),
        "came": {who: list(what) for who, what in told.came.items()},
        "missing": [
            {"assessor": each.assessor, "task": each.task, "candidates": list(each.candidates)} for each in told.missing
        ],
        "findings": [problem_json(problem) for problem in told.problems],
    }


def version_lines(versions: Sequence[Version]) -> Iterator[str]:
    """Each version by the name it is kept by, with what it says after the part all share."""
    shared = versions[0].shared
    yield f"the first {shared} entries are the same in all" if shared else "nothing is the same in all of them"
    for each in versions:
        state = "in use" if each.in_use else "kept aside"
        damaged = "" if each.usable else ", damaged: cannot be kept"
        yield f"{_called(each)} ({each.name}, {state}{damaged}{', settled' if each.settled else ''})"
        yield from (f"  {line}" for line in each.own)
        if not each.own:
            yield "  nothing more" if each.usable else "  what can be read of it is in the other, or nothing"
    yield "to settle it: --keep one of them, --reason why; what only the other says is entered again by hand"


def version_json(versions: Sequence[Version]) -> dict[str, Any]:
    """The same as one document."""
    return {
        "shared_entries": versions[0].shared,
        "versions": [
            {
                "keep": _called(each),
                "file": f"{each.name}.yaml",
                "in_use": each.in_use,
                "usable": each.usable,
                "settled": each.settled,
                "entries": list(each.own),
            }
            for each in versions
        ],
    }


def _called(version: Version) -> str:
    return "in-use" if version.in_use else version.name.partition("~")[2].removeprefix("bad-")
