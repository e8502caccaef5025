"""A checker of allocations that shares nothing with the program: course.yaml, people.yaml and the rubric are read as
plain YAML, and every rule is looked at in the plainest way there is."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date
from itertools import combinations
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

__all__ = ["check_allocation"]


def check_allocation(root: Path, *, spread: int = 1, pair_twice_a_day: bool = False) -> list[str]:
    """What is wrong with the allocation of a course folder. spread: the most by which loads may differ.

    pair_twice_a_day: whether two assessors may sit together in two tasks of one day.
    """
    look = Course(root)
    return [
        *look.slots(), *look.markers(), *look.pairs(pair_twice_a_day), *look.times(), *look.learners(),
        *look.network(), *look.loads(spread),
    ]  # fmt: skip


def minutes(clock: str) -> int:
    hours, _, rest = clock.partition(":")
    return 60 * int(hours) + int(rest)


class Course:
    """A course as its files say it."""

    def __init__(self, root: Path) -> None:
        yaml = YAML(typ="safe", pure=True)
        yaml.version = "1.2"
        self.course: Any = yaml.load((root / "course.yaml").read_text(encoding="utf-8"))
        self.people: Any = yaml.load((root / "people.yaml").read_text(encoding="utf-8"))
        rubrics: dict[str, Any] = {}
        for file in sorted((root / "rubrics").glob("*.yaml")):
            made = yaml.load(file.read_text(encoding="utf-8"))
            rubrics.setdefault(made["id"], made)
        self.tasks: dict[str, Any] = {}
        for task in self.course["tasks"]:
            pins = [
                p for p in self.course["rubrics"] if p["area"] == task["area"] and p.get("from_day", 1) <= task["day"]
            ]
            pin = max(pins, key=lambda each: each.get("from_day", 1))
            self.tasks[task["id"]] = {**rubrics[pin["rubric"]]["tasks"][task["id"]], "day": task["day"]}
        self.plan: Any = self.course.get("plan") or {}
        self.rows: list[Any] = self.course["allocation"]
        self.wishes = {wish["task"]: wish for wish in self.plan.get("tasks", ())}

    def day_of(self, task: str) -> date:
        return date.fromisoformat(str(self.course["days"][self.tasks[task]["day"] - 1]))

    def slots(self) -> Iterator[str]:
        seen = Counter((row["task"], row["candidate"]) for row in self.rows)
        for task in self.tasks:
            who = self.wishes.get(task, {}).get("candidates") or self.course["candidates"]
            for candidate in who:
                if seen[task, candidate] != 1:
                    yield f"{task}.{candidate} stands {seen[task, candidate]} times"
            places = sorted(row["order"] for row in self.rows if row["task"] == task)
            if places != list(range(1, len(who) + 1)):
                yield f"the places of {task} are {places}"

    def may(self, who: str, task: str, candidate: str) -> bool:
        """No conflict, no training within two years, and a licence where the course keeps licences."""
        day = self.day_of(task)
        for each in self.people.get("conflicts") or ():
            if (each["assessor"], each["candidate"]) == (who, candidate):
                return False
        for each in self.people.get("trained") or ():
            if (each["assessor"], each["candidate"]) == (who, candidate):
                ended = each.get("ended")
                if ended is None or (day - date.fromisoformat(str(ended))).days <= 730:
                    return False
        return self.licence(who, task) is not None

    def licence(self, who: str, task: str) -> Any:
        """The licence an assessor marks a task under; {} where the course keeps none, None where theirs does not do."""
        licences = self.people.get("licences")
        if not licences:
            return {}
        day, area = self.day_of(task), self.tasks[task]["area"]
        standing = [
            each
            for each in licences
            if each["assessor"] == who
            and each["activity"] == self.course["activity"]
            and (not each.get("areas") or area in each["areas"])
            and date.fromisoformat(str(each["valid_from"])) <= day <= date.fromisoformat(str(each["valid_to"]))
        ]
        return standing[-1] if standing and not standing[-1].get("suspended") else None

    def markers(self) -> Iterator[str]:
        for row in self.rows:
            slot, pair = f"{row['task']}.{row['candidate']}", row["assessors"]
            if len(pair) != 2 or len(set(pair)) != 2 or not set(pair) <= set(self.course["assessors"]):
                yield f"{slot} is marked by {pair}"
                continue
            for who in pair:
                if not self.may(who, row["task"], row["candidate"]):
                    yield f"{who} may not mark {slot}"
            everybody = [who for who in self.course["assessors"] if self.may(who, row["task"], row["candidate"])]
            if len(set(everybody) - set(pair)) < self.plan.get("fresh", 1):
                yield f"nobody is left for a third look at {slot}"
            under = [(self.licence(who, row["task"]) or {}).get("conditions") or [] for who in pair]
            if "only-second" in under[0] or all(under):
                yield f"{pair} cannot sit together in {slot}"
        for kept in self.plan.get("keep", ()):
            for row in self.rows:
                meant = (row["task"], row["candidate"]) == (kept["task"], kept.get("candidate"))
                if meant and set(row["assessors"]) != set(kept["assessors"]):
                    yield f"{row['task']}.{row['candidate']} is not seated as the director wants"

    def pairs(self, twice: bool) -> Iterator[str]:
        together: dict[tuple[int, frozenset[str]], set[str]] = defaultdict(set)
        for task in self.tasks:
            pairs = {frozenset(row["assessors"]) for row in self.rows if row["task"] == task}
            for one, other in combinations(pairs, 2):
                if one & other:
                    yield f"{task}: {sorted(one & other)} sit in two pairs"
            asked = self.wishes.get(task, {}).get("pairs") or self.plan.get("pairs")
            if asked and len(pairs) > asked:
                yield f"{task} has {len(pairs)} pairs, {asked} asked for"
            for pair in pairs:
                together[self.tasks[task]["day"], pair].add(task)
        for (day, pair), tasks in together.items():
            if len(tasks) > 1 and not twice:
                yield f"{sorted(pair)} sit together in {sorted(tasks)} on day {day}"

    def light(self, day: int) -> list[tuple[int, int]]:
        texts = next((each["light"] for each in self.plan.get("days", ()) if each["day"] == day), None)
        texts = texts or self.plan.get("light") or ["09:00-12:00", "13:00-15:30"]
        return [(minutes(text.split("-")[0]), minutes(text.split("-")[1])) for text in texts]

    def times(self) -> Iterator[str]:
        """Every turn in the light; nobody in two turns at once; tasks of a day one after the other."""
        spans: dict[str, tuple[int, int]] = {}
        turns: dict[tuple[int, str], list[tuple[int, int, str]]] = defaultdict(list)
        for row in self.rows:
            task, day, slot = row["task"], self.tasks[row["task"]]["day"], f"{row['task']}.{row['candidate']}"
            start, end = minutes(row["at"]), minutes(row["at"]) + self.tasks[row["task"]]["minutes"]
            if not any(low <= start and end <= high for low, high in self.light(day)):
                yield f"{slot} at {row['at']} is out of the light"
            if "starts" in self.wishes.get(task, {}) and start < minutes(self.wishes[task]["starts"]):
                yield f"{slot} is too early"
            spans[task] = (min(spans.get(task, (start, end))[0], start), max(spans.get(task, (start, end))[1], end))
            for who in (row["candidate"], *row["assessors"], *row.get("shadows", ()), *row.get("learners", ())):
                turns[day, who].append((start, end, slot))
        for (_, who), theirs in turns.items():
            for one, other in combinations(sorted(theirs), 2):
                if other[0] < one[1]:
                    yield f"{who} is in {one[2]} and {other[2]} at the same time"
        for task, next_task in combinations(spans, 2):
            if self.tasks[task]["day"] == self.tasks[next_task]["day"]:
                first, second = sorted((spans[task], spans[next_task]))
                if second[0] < first[1] + self.plan.get("between", 15):
                    yield f"{task} and {next_task} lie too close together"
        for task in self.tasks:
            rows = sorted((row for row in self.rows if row["task"] == task), key=lambda row: row["order"])
            if [row["at"] for row in rows] != sorted(row["at"] for row in rows):
                yield f"{task}: the order is not that of the times"

    def learners(self) -> Iterator[str]:
        for row in self.rows:
            pool = self.wishes.get(row["task"], {}).get("learners")
            for who in row.get("learners", ()):
                if pool and who not in pool:
                    yield f"{who} is no learner of {row['task']}"
            if len(row.get("learners", ())) > self.tasks[row["task"]].get("learners", 0):
                yield f"{row['task']}.{row['candidate']} has too many learners"

    def network(self) -> Iterator[str]:
        """All assessors are joined by candidates they share."""
        left = {who for row in self.rows for who in row["assessors"]}
        reached = {min(left)} if left else set()
        for _ in range(len(self.rows)):
            candidates = {row["candidate"] for row in self.rows if reached & set(row["assessors"])}
            reached |= {who for row in self.rows if row["candidate"] in candidates for who in row["assessors"]}
        if reached != left:
            yield f"{sorted(left - reached)} have no candidate in common with {sorted(reached)}"

    def loads(self, spread: int) -> Iterator[str]:
        sheets = Counter(dict.fromkeys(self.course["assessors"], 0))
        sheets.update(who for row in self.rows for who in row["assessors"])
        if max(sheets.values()) - min(sheets.values()) > spread:
            yield f"loads are not equal: {dict(sheets)}"
