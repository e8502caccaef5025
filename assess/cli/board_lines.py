"""The course board as plain lines and as JSON: what a person sees on the way in, without a screen."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from assess.desk.board import Board, CandidateLine, TaskLine

__all__ = ["board_json", "board_lines"]


def board_json(board: Board) -> dict[str, Any]:
    """The board as one document; keys are the names of its parts."""
    from dataclasses import asdict

    return asdict(board)


def board_lines(board: Board) -> Iterator[str]:
    """What is missing first, then the programme, then the candidates."""
    yield f"{board.title}, as {board.who} ({board.role})" if board.who else f"{board.title}, nobody named"
    yield from _part("For the director", board.duties)
    yield from _part("Still to do", board.holes)
    yield from _part("Not for you to mark", board.barred)
    yield from _part("Agreed beforehand", board.agreed)
    yield from _part("Learners", board.learners)
    yield from _part("Kept aside, to be compared", board.set_aside)
    yield from _part("One copy only", [board.one_copy] if board.one_copy else [])
    for day in board.days:
        yield from _part(f"Day {day.day}, {day.date}" + (f": {day.text}" if day.text else ""), map(_task, day.tasks))
    yield from _part("Candidates", map(_candidate, board.candidates))
    yield from _part("This morning", (f"{label}: {value}" for label, value in board.morning))


def _part(title: str, lines: Any) -> Iterator[str]:
    told = list(lines)
    if told:
        yield ""
        yield title
        yield from (f"  {line}" for line in told)


def _task(task: TaskLine) -> str:
    mine = f"mine locked {task.mine_locked} of {task.mine}" if task.mine else "not mine"
    starts = f"{task.starts} " if task.starts else ""
    return f"{starts}{task.id} {task.title}: {mine}, locked by all {task.all_locked} of {task.slots}"


def _candidate(line: CandidateLine) -> str:
    who = f"{line.bib} {line.name} ({line.id})" + (f", {line.mark}" if line.mark else "")
    states = " ".join(f"{task} {state}" for task, state in line.states.items() if state)
    words = " ".join(f"{module} {word.replace('_', ' ')}" for module, word in line.words.items())
    return ": ".join(part for part in (who, ", ".join(filter(None, (line.standing, states, words)))) if part)
