"""From a request to the plan, or to what stands in the way of it."""

from __future__ import annotations

from assess.planning.assigning import assign
from assess.planning.gathered import gathered
from assess.planning.learners import with_learners
from assess.planning.network import linked
from assess.planning.order import turns_of
from assess.planning.pairing import choose_pairs, in_time_order
from assess.planning.request import Request
from assess.planning.results import Plan
from assess.planning.room import room_of

__all__ = ["plan"]


def plan(request: Request) -> Plan:
    """The plan for a request. Where there can be none, `obstacles` says why; equal requests give equal plans."""
    room = room_of(request)
    if room.obstacles:
        return Plan(request.seed, obstacles=tuple(room.obstacles))
    tasks = in_time_order(request, room)
    pairs = choose_pairs(request, room)
    seating = linked(request, room, tasks, pairs, assign(request, room, tasks, pairs))
    turns = with_learners(request, turns_of(request, room, tasks, pairs, seating))
    return gathered(request, (*request.stays, *turns))
