"""Problems as text and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from assess.records.errors import Problem

__all__ = ["problem_json", "problem_line"]


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
