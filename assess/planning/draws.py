"""Numbers drawn from a seed: the same seed and the same names give the same numbers, on any machine and in any year.

`random.Random` of a text and its `random()` are promised to stay as they are; its shuffles are not, so none is used.
"""

from __future__ import annotations

import random
from collections.abc import Iterable

__all__ = ["drawn_order", "generator"]


def generator(seed: int, *about: str) -> random.Random:
    """A generator of its own for each purpose, so that one task more changes no other task's draw."""
    return random.Random("\n".join((str(seed), *about)))


def drawn_order(names: Iterable[str], numbers: random.Random) -> list[str]:
    """The names in an order that is drawn; every order is equally likely."""
    keys = {name: numbers.random() for name in names}
    return sorted(keys, key=lambda name: (keys[name], name))
