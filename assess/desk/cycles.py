"""Ways in a graph that come back to where they began."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

__all__ = ["cycles"]


def cycles(graph: Mapping[str, Sequence[str]]) -> list[tuple[str, ...]]:
    """One way for every step that leads back: (a, b, c, a). Empty exactly when there is no way back.

    graph: id -> ids it points to; ids that are no key of it lead nowhere. Taking out the last step of every way found
    leaves a graph without cycles.
    """
    found: list[tuple[str, ...]] = []
    done: set[str] = set()
    for start in graph:
        if start not in done:
            _follow(start, graph, done, found)
    return found


def _follow(start: str, graph: Mapping[str, Sequence[str]], done: set[str], found: list[tuple[str, ...]]) -> None:
    """Depth first from `start`; the way down to the id at hand is `way`, what is left of each id's steps is `left`."""
    way, left = [start], [iter(graph[start])]
    while way:
        step = next(left[-1], None)
        if step is None:
            done.add(way.pop())
            left.pop()
        elif step in way:
            found.append((*way[way.index(step) :], step))
        elif step in graph and step not in done:
            way.append(step)
            left.append(iter(graph[step]))
