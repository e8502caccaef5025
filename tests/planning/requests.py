"""Requests for plans: small ones drawn at random, and the large one that has to be quick."""

from __future__ import annotations

import random
from typing import Any

from assess.planning.request import Bar, Condition, Request, TaskWish

__all__ = ["ASSESSORS", "large", "sample", "task", "whole", "wild"]

LIGHT = ((540, 720), (780, 930))


def ASSESSORS(n: int) -> tuple[str, ...]:
    return tuple(f"A{number}" for number in range(1, n + 1))


def people(n: int) -> tuple[str, ...]:
    return tuple(f"C{number:02d}" for number in range(1, n + 1))


def task(name: str = "T1", day: int = 1, candidates: int = 4, minutes: int = 6, **more: Any) -> TaskWish:
    told: dict[str, Any] = {"every": minutes, "at_once": 1, "modules": ("demo",)} | more
    return TaskWish(id=name, day=day, candidates=people(candidates), minutes=minutes, **told)


def whole(*tasks: TaskWish, assessors: int = 4, seed: int = 1, **more: Any) -> Request:
    days = {each.day for each in tasks}
    modules: dict[str, tuple[str, ...]] = {}
    for each in tasks:
        for module in each.modules:
            modules[module] = (*modules.get(module, ()), each.id)
    told: dict[str, Any] = {"light": dict.fromkeys(days, LIGHT), "modules": modules} | more
    return Request(tasks, ASSESSORS(assessors), seed=seed, **told)


def sample(seed: int = 1) -> Request:
    """What is asked for in the sample course: A1 trained C03 and C07."""
    modules = {"demo": ("demo",), "teach": ("teach",), "safety": ("safety",)}
    tasks = (
        task("T1", 1, 10, 6, modules=modules["demo"], not_before=585),
        task("T2", 1, 10, 6, modules=modules["demo"]),
        task("T3", 2, 10, 8, every=10, modules=modules["demo"], not_before=795),
        task("T4", 2, 10, 25, every=35, at_once=None, modules=modules["teach"]),
        task("T5", 3, 10, 25, every=35, at_once=None, modules=modules["teach"]),
        task("T6", 3, 10, 15, every=20, at_once=None, modules=modules["safety"]),
    )
    light = {1: ((585, 720), (780, 930)), 2: LIGHT, 3: LIGHT}
    bars = tuple(Bar("A1", "trained this candidate in the last 12 months", who) for who in ("C03", "C07"))
    return whole(*tasks, seed=seed, light=light, bars=bars)


def wild(pick: random.Random) -> Request:
    """Any request of up to five candidates, five assessors and three tasks; many of them cannot be planned."""
    n, many = pick.randint(2, 5), pick.randint(1, 5)
    tasks = tuple(
        task(
            f"T{number}",
            pick.choice((1, 1, 2)),
            many,
            minutes=(minutes := pick.choice((10, 30, 50))),
            every=minutes + pick.choice((0, 10)),
            at_once=pick.choice((None, 1, 2)),
            pairs=pick.choice((None, None, 1, 2)),
            not_before=pick.choice((None, None, 780)),
            modules=pick.choice((("demo",), ("teach",))),
        )
        for number in range(1, pick.randint(1, 3) + 1)
    )
    bars = [
        Bar(
            pick.choice(ASSESSORS(n)),
            "trained this candidate",
            pick.choice(people(many)),
            pick.choice(("", "", "T1")),
            waived=pick.random() < 0.2,
        )
        for _ in range(pick.choice((0, 0, 1, 3, 6)))
    ]
    if pick.random() < 0.2:
        bars.append(Bar(pick.choice(ASSESSORS(n)), "licence ends 2026-01-31", "", pick.choice(("", "T1", "T2"))))
    conditions = [
        Condition(pick.choice(ASSESSORS(n)), pick.choice(tasks).id, pick.choice(("only-second", "supervised")))
        for _ in range(pick.choice((0, 0, 1, 2)))
    ]
    kept_pairs: dict[str, tuple[tuple[str, str], ...]] = {}
    kept_seats: dict[tuple[str, str], tuple[str, str]] = {}
    for _ in range(pick.choice((0, 0, 0, 1, 2))):
        one, other = pick.sample(ASSESSORS(n), 2)
        if pick.random() < 0.5:
            kept_seats[pick.choice(tasks).id, pick.choice(people(many))] = (one, other)
        else:
            name = pick.choice(tasks).id
            kept_pairs[name] = (*kept_pairs.get(name, ()), (one, other))
    return whole(
        *tasks, assessors=n, seed=pick.randrange(1000), bars=tuple(bars), conditions=tuple(conditions),
        fresh=pick.choice((0, 0, 1)), between=pick.choice((0, 15)), most_minutes=pick.choice((300, 300, 120)),
        kept_pairs=kept_pairs, kept_seats=kept_seats,
    )  # fmt: skip


def large(seed: int = 1) -> Request:
    """40 candidates, 12 assessors, 8 tasks on five days, with conflicts and a licence that ends after day 3."""
    demo = [task(f"T{n}", day, 40, at_once=2, modules=("demo",)) for n, day in ((1, 1), (2, 1), (3, 2), (4, 4), (5, 4))]
    lessons = [task(f"T{n}", day, 40, 25, every=35, at_once=None, modules=("teach",)) for n, day in ((6, 3), (7, 5))]
    safety = task("T8", 2, 40, 15, every=20, at_once=None, modules=("safety",))
    pick = random.Random(7)
    bars = [Bar(pick.choice(ASSESSORS(12)), "trained this candidate", c) for c in pick.sample(people(40), 20)]
    bars += [Bar("A5", "licence ends on day 3", "", name) for name in ("T4", "T5", "T7")]
    return whole(*demo, *lessons, safety, assessors=12, seed=seed, bars=tuple(bars))
