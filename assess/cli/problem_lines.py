"""Problems as text and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assess.records.errors import Problem

__all__ = ["count_line", "problem_json", "problem_line"]


def problem_line(problem: Problem) -> str:
    """`file:line: what; what to do`, with `look:` before what makes nothing unusable."""
    if not problem.doubt:
        return str(problem)
    from dataclasses import replace

    return str(replace(problem, what=f"look: {problem.what}"))


def problem_json(problem: Problem) -> dict[str, Any]:
    """A problem as other programs read it; `line` is null when it has none."""
    return {
        "file": problem.file,
        "line": problem.line or None,
        "what": problem.what,
        "todo": problem.todo,
        "doubt": problem.doubt,
    }


def count_line(problems: Sequence[Problem]) -> str:
    """`2 wrong, 1 to look at`."""
    wrong = sum(not problem.doubt for problem in problems)
    looks = len(problems) - wrong
    return f"{wrong or 'nothing'} wrong" + (f", {looks} to look at" if looks else "")
