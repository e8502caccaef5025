"""A small invented course for the tests of the store: two tasks, three candidates, three assessors."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from assess.records.facts import FREE_TEXT, Lock, Score, SomeFact
from assess.records.ledger import Header
from assess.records.times import instant, milliseconds
from assess.store.chain import CHAIN_DIGITS, chained, first_link, next_link
from assess.store.disk import Disk
from assess.store.lines import encode_head, encode_line

RUBRIC = b"""\
# assess rubric 1
id: r-1
title: "A small rubric"
activity: gliding
language: en
scale: {min: 1, max: 6, pass_line: "3.5", words: {1: a, 2: b, 3: c, 4: d, 5: e, 6: f}}
areas: {demo: {title: Demonstration}, teach: {title: Teaching}}
modules: {demo: {area: demo, tasks: [T1]}, teach: {area: teach, tasks: [T4]}}
tasks:
  T1: {area: demo, title: "Long turns", minutes: 6, criteria: [edging, line]}
  T4: {area: teach, title: "A lesson", minutes: 25, criteria: [plan], lesson: true}
criteria:
  edging: {area: demo, label: edging, text: "What do the edges do?", levels: {1: a, 6: f}}
  line: {area: demo, label: line, text: "Where does the track go?", levels: {1: a, 6: f}}
  plan: {area: teach, label: plan, text: "Does the plan fit?", levels: {1: a, 6: f}}
coverage: "0.75"
two_markers: {sheet_apart: "0.75", criterion_apart: 2}
must_nots:
- {id: beyond-a-closure, text: "goes past a closed line", closes: [teach]}
safety_list:
- {id: count, text: "the group is counted"}
questions:
- {id: why, text: "Why this drill?"}
"""
RUBRIC_SHA = hashlib.sha256(RUBRIC).hexdigest()
REFERENCE = f"sha256:{RUBRIC_SHA}"
RUBRIC_NAME = f"r-1@{RUBRIC_SHA[:8]}.yaml"

COURSE = f"""\
# assess course 1
id: K-1
revision: 1
title: "A small course"
activity: gliding
utc_offset: "+01:00"
days: [2027-02-03, 2027-02-04]
rubrics:
- {{area: demo, rubric: r-1, sha256: {RUBRIC_SHA}}}
- {{area: teach, rubric: r-1, sha256: {RUBRIC_SHA}}}
tasks:
- {{id: T1, area: demo, day: 1}}
- {{id: T4, area: teach, day: 2}}
candidates: [C01, C02, C03]
assessors: [A1, A2, A3]
directors: [D1]
allocation:
- {{task: T1, order: 1, at: "09:00", candidate: C01, assessors: [A1, A2]}}
- {{task: T1, order: 2, at: "09:06", candidate: C02, assessors: [A1, A2], shadows: [A3]}}
- {{task: T1, order: 3, at: "09:12", candidate: C03, assessors: [A1, A2]}}
- {{task: T4, order: 1, at: "09:00", candidate: C01, assessors: [A1, A3], learners: [L1]}}
- {{task: T4, order: 2, at: "09:30", candidate: C02, assessors: [A1, A3]}}
events:
- {{day: 2, at: "15:20", kind: release, by: D1, to: assessors, modules: [demo]}}
"""
PEOPLE = """\
# assess people 1
revision: 1
candidates:
- {id: C01, name: "Odo Birk", bib: 20}
- {id: C02, name: "Pia Lund", bib: 21}
- {id: C03, name: "Quin Aster", bib: 22}
assessors:
- {id: A1, name: "Rhea Moss"}
- {id: A2, name: "Sol Tarn"}
- {id: A3, name: "Tove Kell"}
directors:
- {id: D1, name: "Una Ferro"}
learners:
- {id: L1, alias: "red hat"}
conflicts:
- {assessor: A3, candidate: C03, why: "trained this candidate", declared_at: 2027-01-10}
"""
OPENED = "2027-02-03T08:00:00.000Z"


def make_course(root: Path, *, course: str = COURSE, people: str = PEOPLE, rubric: bytes = RUBRIC) -> Path:
    """The course at `root`, without a ledger."""
    (root / "rubrics").mkdir(parents=True)
    (root / "course.yaml").write_text(course, encoding="utf-8", newline="\n")
    (root / "people.yaml").write_text(people, encoding="utf-8", newline="\n")
    (root / "rubrics" / RUBRIC_NAME).write_bytes(rubric)
    return root


def sheet(task: str = "T1", candidate: str = "C01", assessor: str = "A1", device: str = "d7h2k", **more: Any) -> Header:
    """The header of a sheet."""
    told = {"kind": "sheet", "course": "K-1", "rubric": REFERENCE, "opened": OPENED, "task": task,
            "candidate": candidate, "assessor": assessor, "device": device}  # fmt: skip
    return Header.model_validate(told | more)


def other(kind: str, *, by: str = "D1", device: str = "d31kq", **more: Any) -> Header:
    """The header of a day, decision or seal ledger."""
    return Header.model_validate({"kind": kind, "course": "K-1", "by": by, "device": device, "opened": OPENED} | more)


def ledger_bytes(header: Header, facts: Iterable[SomeFact], *, start_ms: int | None = None) -> bytes:
    """A whole ledger, one entry a second; equal input gives equal bytes."""
    raw = encode_head(header.payload())
    link, at_ms = first_link(raw), start_ms if start_ms is not None else milliseconds(header.opened)
    for n, fact in enumerate(facts, start=1):
        payload = fact.payload()
        salted = {"salt": f"{n:032x}"} if FREE_TEXT.intersection(payload) else {}
        whole = {"n": n, "at": instant(at_ms + n * 1000), "kind": payload["kind"], **salted, **payload}
        link = next_link(link, chained(whole))
        raw += encode_line({**whole, "chain": link[:CHAIN_DIGITS]})
    return raw


def scores(*levels: int, criterion: str = "edging") -> list[SomeFact]:
    """Scores on one criterion, one after the other."""
    return [Score(criterion=criterion, level=level) for level in levels]


def heads(raw: bytes) -> list[str]:
    """`n chain` of every entry of a ledger."""
    lines = [line for line in raw.split(b"\n") if line.startswith(b"- ")]
    return [f"{n} {line[-18:-2].decode()}" for n, line in enumerate(lines, start=1)]


def seal_of(recorded: dict[str, str]) -> str:
    """SHA-256 over the lines `name n chain`, sorted by name."""
    lines = "".join(f"{name} {recorded[name]}\n" for name in sorted(recorded))
    return f"sha256:{hashlib.sha256(lines.encode()).hexdigest()}"


def lock(**recorded: str) -> Lock:
    """A lock that records these heads."""
    return Lock(heads=recorded, seal=seal_of(recorded))


def put(root: Path, header: Header, raw: bytes, *, suffix: str = "") -> Path:
    """A ledger in its place in a course."""
    folder = root / {"sheet": "sheets", "day": "days", "decision": "decisions", "seal": "seals"}[header.kind]
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{header.name}{suffix}.yaml"
    path.write_bytes(raw)
    return path


class QuickDisk(Disk):
    """Does not wait for the platters: for tests of what is written, not of when."""

    def fsync(self, fd: int) -> None:
        return None

    def sync_folder(self, path: Path) -> None:
        return None


QUICK = QuickDisk()


def hash8(raw: bytes) -> str:
    """What a version kept aside is named by."""
    return hashlib.sha256(raw).hexdigest()[:8]


def by_digest(*bodies: bytes) -> list[bytes]:
    """Bodies ordered as the merge orders them: the one that keeps the name first."""
    return sorted(bodies, key=lambda raw: hashlib.sha256(raw).hexdigest())


def tree(root: Path) -> dict[str, bytes]:
    """Every file below a folder and its bytes, hidden ones included."""
    return {str(path.relative_to(root)): path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()}


def names(root: Path) -> Sequence[str]:
    """The names of every file below a folder."""
    return list(tree(root))
