"""The lines of the course board: pure, from the board the desk gives."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from assess.tui.shown import Content, cells_of, joined, shown, wrapped

if TYPE_CHECKING:
    from assess.desk.board import Board, CandidateLine, TaskLine

__all__ = ["candidate_lines", "programme_lines", "remark_lines"]

WITH_ALL = 32
MOST_URGENT_FIRST = ("not_passed", "third_look", "open", "void", "passed")


def programme_lines(board: Board, at: int, width: int) -> list[Content]:
    """Days with their tasks, numbered; how many sheets are locked, mine and all."""
    wide = width >= WITH_ALL
    room = max(12, width - 8 - (12 if wide else 6))
    drawn = []
    head = shown("locked:".rjust(room + 6) + "  mine" + ("   all" if wide else ""), "$soft", cells=width)
    number = 0
    for day in board.days:
        if not day.tasks:
            continue
        drawn.append(shown(f"Day {day.day} · {day.date}", "bold $mark", cells=width))
        for task in day.tasks:
            drawn.append(_task(task, number, number == at, room, wide))
            number += 1
    return [head, *drawn]


def _task(task: TaskLine, number: int, here: bool, room: int, wide: bool) -> Content:
    digit = str(number + 1) if number < 9 else " "
    mine = f"{task.mine_locked}/{task.mine}" if task.mine else "-"
    done = task.mine and task.mine_locked == task.mine
    return joined(
        [
            shown(f"{'>' if here else ' '}{digit} ", "bold $mark"),
            shown(f"{task.id} {task.title}", "bold" if here else "", cells=room + 3, fill=True),
            shown(f"{mine:>6}", "$good" if done else "bold" if task.mine else "$soft"),
            shown(f"{task.all_locked}/{task.slots}".rjust(6) if wide else "", "$soft"),
        ]
    )


def candidate_lines(board: Board, width: int) -> list[Content]:
    """Candidates: what of them is mine and open, what is locked, and module words once they may be seen."""
    bib = 1 + max([2, *(len(str(line.bib)) for line in board.candidates)])
    longest = max([8, *(cells_of(line.name) for line in board.candidates)])
    name = min(longest, max(8, min(18, width - 28)))
    aside = bib + 2 + name
    head = "outcomes" if any(line.words for line in board.candidates) else "mine"
    drawn = [joined([shown("", cells=aside, fill=True), shown(head, "$soft")])]
    return drawn + [_candidate(line, bib, name, width - aside) for line in board.candidates]


def _candidate(line: CandidateLine, bib: int, name: int, room: int) -> Content:
    parts = [shown(f"{line.bib:>{bib}} ", "$mark"), shown(line.name, cells=name, fill=True), shown(" ")]
    parts.append(_mine(line, room))
    return joined(parts)


def _mine(line: CandidateLine, room: int) -> Content:
    if line.words:
        counts = Counter(line.words.values())
        words = [f"{counts[word]} {word.replace('_', ' ')}" for word in MOST_URGENT_FIRST if counts[word]]
        return shown(", ".join(words), cells=room)
    if line.standing:
        return shown(line.standing, "bold $warn", cells=room)
    still = [task for task, state in line.states.items() if state == "open"]
    done = [task for task, state in line.states.items() if state == "locked"]
    if not line.states:
        return shown("not mine", "$soft", cells=room)
    told = f"open {' '.join(still)}" if still else ""
    locked = f"locked {' '.join(done)}" if done else ""
    both = " · ".join(part for part in (told, locked) if part)
    if len(both) > room and still and done:
        both = f"{told} · {len(done)} locked"
    return shown(both, "" if still else "$good", cells=room)


def _hanging(text: str, width: int) -> list[Content]:
    """A remark under its head; where it is longer than a line it goes on under itself."""
    rows = wrapped(text, max(20, width - 2))
    rows = rows if len(rows) == 1 else wrapped(text, max(20, width - 4))
    return [joined([shown("  " if number == 0 else "    "), row]) for number, row in enumerate(rows)]


def remark_lines(board: Board, width: int) -> list[Content]:
    """What is missing first, then whom I may not mark, learners used too often, and the morning."""
    drawn: list[Content] = []
    groups = (
        ("For the director", "bold $warn", board.duties),
        ("Mine to do", "bold $warn", board.holes),
        ("Not mine to mark", "bold $mark", board.barred),
        ("Agreed beforehand", "bold $mark", board.agreed),
        ("Learners", "bold $warn", board.learners),
        ("Set aside, not read", "bold $bad", board.set_aside),
        ("One copy only", "bold $warn", (board.one_copy,) if board.one_copy else ()),
    )
    for head, style, told in groups:
        if told:
            drawn.append(shown(head, style))
            drawn += [row for text in told for row in _hanging(text, width)]
    if board.morning:
        drawn.append(shown("Morning", "bold $mark"))
        drawn += [joined([shown(f"  {label}: ", "$soft"), shown(value)]) for label, value in board.morning]
    else:
        drawn.append(shown("Morning: nothing recorded today; m writes it", "$soft"))
    return drawn
