"""Two hundred courses made from the sample course: other ids, other levels, chains and seals that fit."""

from __future__ import annotations

import hashlib
import random
import re
from pathlib import Path

from assess.store.chain import CHAIN_DIGITS, chained_bytes, first_link, next_link
from assess.store.lines import decode_line
from assess.store.seals import seal_of
from tests.courses import ROOT

__all__ = ["make_courses"]

SAMPLE = ROOT / "sample_sessions" / "course"
_LEVEL = re.compile(rb'"level": (\d)')
_HEADS = re.compile(rb'"heads": \{[^}]*\}, "seal": "sha256:[0-9a-f]{64}"')


def make_courses(into: Path, n: int, seed: int = 1) -> list[Path]:
    """`n` course folders; every level is the sample's, or one beside it on the scale, so that courses differ."""
    numbers = random.Random(seed)
    sheets = [(path.name, path.read_bytes()) for path in sorted((SAMPLE / "sheets").glob("*.yaml"))]
    rubrics = [(path.name, path.read_bytes()) for path in sorted((SAMPLE / "rubrics").glob("*.yaml"))]
    roots = []
    for number in range(1, n + 1):
        root = into / f"course-{number:03d}"
        (root / "sheets").mkdir(parents=True)
        (root / "rubrics").mkdir()
        (root / "course.yaml").write_text("never read by statistics\n")
        for name, raw in rubrics:
            (root / "rubrics" / name).write_bytes(raw)
        for name, raw in sheets:
            (root / "sheets" / name).write_bytes(_again(name, raw, f"K-{number:03d}", numbers))
        roots.append(root)
    return roots


def _again(name: str, raw: bytes, course: str, numbers: random.Random) -> bytes:
    """The ledger as if it had been written on another course with slightly other levels."""
    head, entries, rest = raw.replace(b'"course": "K-2026-01"', b'"course": "%b"' % course.encode(), 1).partition(
        b"entries:\n"
    )
    made = [head + entries]
    link = first_link(made[0])
    for n, line in enumerate(rest.split(b"\n")[:-1], start=1):
        if b'"kind": "score"' in line:
            line = _LEVEL.sub(lambda found: b'"level": %d' % _beside(int(found[1]), numbers), line)
        if b'"kind": "lock"' in line:
            heads = {name.removesuffix(".yaml"): f"{n - 1} {link[:CHAIN_DIGITS]}"}
            told = ", ".join(f'"{ledger}": "{head}"' for ledger, head in heads.items())
            line = _HEADS.sub(f'"heads": {{{told}}}, "seal": "{seal_of(heads)}"'.encode(), line)
        chained, _ = chained_bytes(line, decode_line(line))
        link = next_link(link, chained)
        made.append(line[: -CHAIN_DIGITS - 2] + link[:CHAIN_DIGITS].encode() + b'"}\n')
    return b"".join(made)


def _beside(level: int, numbers: random.Random) -> int:
    return min(6, max(1, level + numbers.choice((-1, 0, 0, 0, 1))))


def digest(roots: list[Path]) -> str:
    """One digest of all sheets, to say that two runs measured the same."""
    sha = hashlib.sha256()
    for root in roots:
        for path in sorted((root / "sheets").iterdir()):
            sha.update(path.read_bytes())
    return sha.hexdigest()[:12]
