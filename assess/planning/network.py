"""The network of assessors and the candidates they mark: in one piece, severities can be compared."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from assess.planning.assigning import Seating, join, seats_before
from assess.planning.request import Pair, Request, TaskWish
from assess.planning.room import Room

__all__ = ["linked", "pieces"]

_Piece = tuple[set[str], set[str]]


def pieces(seats: Iterable[tuple[str, Sequence[str]]]) -> list[_Piece]:
    """Assessors and candidates that are joined, piece by piece, from (candidate, markers) of every slot."""
    found: list[_Piece] = []
    for candidate, markers in seats:
        if not markers:
            continue
        touched = [piece for piece in found if candidate in piece[1] or not piece[0].isdisjoint(markers)]
        joined = (set(markers).union(*(piece[0] for piece in touched)), {candidate}.union(*(p[1] for p in touched)))
        found = [piece for piece in found if piece not in touched] + [joined]
    return found


def linked(
    request: Request, room: Room, tasks: Sequence[TaskWish], pairs: Mapping[str, Sequence[Pair]], seating: Seating
) -> Seating:
    """The seating with its network in as few pieces as one task assigned anew, again and again, can make of it."""
    while len(parts := _pieces_of(request, seating)) > 1:
        ways = (join(request, room, task, pairs, seating, part) for part in parts for task in tasks)
        better = (found for found in ways if found is not None and len(_pieces_of(request, found)) < len(parts))
        found = next(better, None)
        if found is None:
            break
        seating = found
    return seating


def _pieces_of(request: Request, seating: Seating) -> list[_Piece]:
    return pieces((candidate, markers) for _, candidate, markers in seats_before(request, seating))
