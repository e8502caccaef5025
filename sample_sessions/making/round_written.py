"""The folder of the round: its hand-edited files, the rubric byte for byte, and everybody's sheets."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from assess.records.facts import Lock, Observation, Score, SomeFact, View
from assess.records.ledger import Header
from assess.records.times import instant, local_instant, milliseconds
from assess.store.course_files import RUBRIC_FOLDER, rubric_file_name
from assess.store.live import LiveLedger
from assess.store.seals import seal_of
from assess.store.writer import Writer
from making.round_marks import LEVELS, levels, markers, order
from making.round_source import CRITERIA, RUBRIC, TASK, chance, round_bytes, rubric_copy, texts, words
from making.written import PATIENCE_S, KnownClock, NoWaiting, Salts

__all__ = ["write_round"]

OFTEN = 0.55
"""How often a level that asks for no words gets some all the same."""
MINUTE, SECOND = 60_000, 1000


def write_round(root: Path) -> None:
    """Make the round at `root`, where nothing stands yet."""
    (root / RUBRIC_FOLDER).mkdir(parents=True)
    digest, raw = rubric_copy()
    (root / RUBRIC_FOLDER / rubric_file_name(RUBRIC, digest)).write_bytes(raw)
    (root / "round.yaml").write_bytes(_round(digest).encode())
    (root / "people.yaml").write_bytes(round_bytes("people"))
    (root / "reference.yaml").write_bytes(_reasons().encode())
    for who in markers():
        _sheets(root, who, digest)


def _round(digest: str) -> str:
    lessons = [
        f'- {{id: {item["id"]}, title: "{item["title"]}", task: {TASK}, film: "{item["film"]}", sha256: {_film(item)}}}'
        for item in texts("lessons")["lessons"]
    ]
    orders = [f"  {who}: [{', '.join(order(who))}]" for who in markers() if who.startswith("A")]
    text = round_bytes("round").decode().replace(f'"@{RUBRIC}"', digest)
    return text.replace("#@lessons\n", "\n".join(lessons) + "\n").replace("#@orders\n", "\n".join(orders) + "\n")


def _film(item: dict[str, str]) -> str:
    # There is no film: the digest is that of its name.
    return hashlib.sha256(item["film"].encode()).hexdigest()


def _reasons() -> str:
    lines = [
        "# assess reference 1",
        "#",
        "# Why the panel's levels are what they are, agreed after its markings were locked. The levels themselves are",
        "# the middle of the panel's blind sheets and stand nowhere else. Kept back until the assessors have locked.",
        "round: R-2026-11",
        "revision: 1",
        "reasons:",
    ]
    for item in texts("lessons")["lessons"]:
        head = f"- {{lesson: {item['id']}, criterion: "
        lines += [f'{head}{key}, reason: "{reason}"}}' for key, reason in item["reason"].items()]
    return "\n".join(lines) + "\n"


def _sheets(root: Path, who: str, digest: str) -> None:
    told = markers()[who]
    day, clock_text = told["starts"].split("T")
    offset = texts("round")["utc_offset"]
    clock = KnownClock()
    clock.ms = milliseconds(local_instant(date.fromisoformat(day), clock_text, offset))
    writer = Writer(disk=NoWaiting(), clock=clock, salt=Salts(f"{texts('round')['id']}|{who}"))
    for slot in order(who):
        header = Header(
            kind="sheet", course=texts("round")["id"], task=TASK, candidate=slot, assessor=who,
            rubric=f"sha256:{digest}", device=told["device"], opened=instant(clock.ms),
        )  # fmt: skip
        live = writer.open(root / "sheets", header)
        for after_ms, fact in _acts(who, slot, live):
            clock.ms += after_ms
            live.add(fact)
        clock.ms += int((1.5 + 2 * chance("pause", who, slot)) * MINUTE)
    if not writer.close(PATIENCE_S):
        raise OSError(f"not saved: {', '.join(writer.unsaved())}")


def _acts(who: str, slot: str, live: LiveLedger) -> Iterator[tuple[int, SomeFact]]:
    """What one marker does on one sheet: the milliseconds since the act before, and the act."""
    film_ms = 0
    given = levels(who, slot)
    yield 4 * SECOND, View(viewpoint="film")
    for number, (key, level) in enumerate(zip(CRITERIA, given, strict=True)):
        if level <= 3 or level == LEVELS[1] or chance("words", who, slot, key) < OFTEN:
            step = int((1.6 + 1.1 * chance("minute", who, slot, key)) * MINUTE)
            film_ms += step
            yield step, _seen(who, slot, number, level, film_ms)
    for key, level in zip(CRITERIA, given, strict=True):
        yield (
            int((4 + 9 * chance("digit", who, slot, key)) * SECOND),
            Score(criterion=key, level=level, viewpoint="film"),
        )
    yield 20 * SECOND, _lock(live)


def _seen(who: str, slot: str, number: int, level: int, film_ms: int) -> Observation:
    key = CRITERIA[number]
    # A second marking is written in other words; so are the words of most others.
    reader = list(markers()).index(who) + number + slot.endswith("-2")
    return Observation(
        text=words(slot.removesuffix("-2"), key, level, reader), criteria=(key,), viewpoint="film", film_ms=film_ms,
        direction="against" if level <= 3 else "for",
    )  # fmt: skip


def _lock(live: LiveLedger) -> Lock:
    heads = {live.name: live.head}
    return Lock(heads=heads, seal=seal_of(heads))
