"""A small course in which everybody signs: four sheets, days, a moderation, an account, two seals, and more after."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from assess.records.facts import BreachAccount, Interruption, Lock, Moderated, Morning, Observation, SomeFact
from assess.records.key_list import fingerprint
from assess.records.ledger import Header, Signature
from assess.records.times import milliseconds
from assess.store.clock import Clock
from assess.store.course_files import folder_of
from assess.store.course_folder import load_course
from assess.store.live import LiveLedger
from assess.store.seals import seal_course, seal_of
from assess.store.signatures import sign, to_base64url
from assess.store.writer import Writer
from tests.store.course_maker import QUICK, make_course, other, scores, sheet

SECRETS = {who: bytes([number]) * 32 for number, who in enumerate(("A1", "A2", "A3", "D1"), start=1)}
"""The private halves of everybody's keys: invented, and the same in every run."""


def public_of(secret: bytes) -> bytes:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    return Ed25519PrivateKey.from_private_bytes(secret).public_key().public_bytes_raw()


def short_of(who: str) -> str:
    return fingerprint(public_of(SECRETS[who]))[:16]


def key_line(who: str, secret: bytes | None = None, days: Mapping[str, str] | None = None) -> str:
    days = {"from": "2027-02-01", **(days or {})}
    told = ", ".join(f"{key}: {day}" for key, day in days.items())
    return f'- {{person: {who}, public: "{to_base64url(public_of(secret or SECRETS[who]))}", {told}}}\n'


def key_list(*lines: str, revision: int = 1, required_from: str = "") -> str:
    asked = f"required_from: {required_from}\n" if required_from else ""
    return f"# assess keys 1\nrevision: {revision}\n{asked}keys:{'' if lines else ' []'}\n" + "".join(lines)


ALL_KEYS = [key_line(who) for who in SECRETS]


class Slow(Clock):
    """Stands at a time and goes on a second each time it is read."""

    def __init__(self, at: str) -> None:
        self.ms = milliseconds(at)

    def now_ms(self) -> int:
        self.ms += 1000
        return self.ms


def signer(header: Header, message: bytes) -> Signature | None:
    """Everybody signs what is theirs."""
    return sign(SECRETS[header.author], message)


def _writer(at: str, signed: bool) -> Writer:
    numbers = iter(range(1_000_000))
    first = milliseconds(at)
    return Writer(
        disk=QUICK,
        clock=Slow(at),
        signer=signer if signed else None,
        salt=lambda: f"{first + next(numbers):032x}",
    )


def write(root: Path, at: str, *records: tuple[Header, Sequence[SomeFact]], signed: bool = True) -> None:
    """Ledgers as the program writes them, continued or new."""
    writer = _writer(at, signed)
    for header, facts in records:
        live = writer.open(root / folder_of(header.kind), header)
        for fact in facts:
            live.add(fact)
    assert writer.close()


def locked(root: Path, at: str, header: Header, facts: Sequence[SomeFact], *, signed: bool = True) -> Lock:
    """A sheet with its lock."""
    writer = _writer(at, signed)
    live: LiveLedger = writer.open(root / "sheets", header)
    for fact in facts:
        live.add(fact)
    heads = {live.name: live.head}
    lock = Lock(heads=heads, seal=seal_of(heads))
    live.add(lock)
    assert writer.close()
    return lock


def sealed(root: Path, at: str, *, signed: bool = True) -> Path:
    """The director's seal of everything."""
    writer = Writer(disk=QUICK, clock=Slow(at), signer=signer if signed else None)
    path = seal_course(load_course(root), "D1", "d31kq", writer, Slow(at))
    assert writer.close()
    return path


def signed_course(root: Path, *, keys: str | None = None, signed: bool = True) -> Path:
    """The course. Its newest heads are in the seal of the second day; two ledgers go on after it."""
    make_course(root)
    (root / "keys.yaml").write_text(key_list(*ALL_KEYS) if keys is None else keys)
    day = other("day", date="2027-02-03", by="A1", device="d7h2k")
    morning: list[SomeFact] = [Morning(weather="clear, -7", snow="hard"), Interruption(cause="wind")]
    write(root, "2027-02-03T07:30:00.000Z", (day, morning), signed=signed)
    seals: dict[str, str] = {}
    for who, level in (("A1", 4), ("A2", 2)):
        seen = Observation(text=f"outer ski light, {who}", criteria=("edging",))
        facts: list[SomeFact] = [seen, *scores(level), *scores(level, criterion="line")]
        header = sheet(assessor=who, device=f"dev{who.lower()}")
        seals[who] = locked(root, "2027-02-03T09:00:00.000Z", header, facts, signed=signed).seal
    sealed(root, "2027-02-03T16:00:00.000Z", signed=signed)
    for who, text in (("A1", "the plan fits"), ("A3", "a plan „im Nebel“")):
        header = sheet(task="T4", assessor=who, device=f"dev{who.lower()}")
        facts = [Observation(text=text), *scores(3, 5, criterion="plan")]
        locked(root, "2027-02-04T09:00:00.000Z", header, facts, signed=signed)
    moderated = Moderated(outcome="keep-both", present=("A1", "A2"), reason="both saw another turn", seals=seals)
    account = BreachAccount(must_not="beyond-a-closure", account="I did not see the rope")
    at, moderation = "2027-02-04T11:00:00.000Z", other("moderation", task="T1", candidate="C01")
    write(root, at, (moderation, [moderated]), (other("decision", candidate="C01"), [account]), signed=signed)
    sealed(root, "2027-02-04T16:00:00.000Z", signed=signed)
    evening = other("day", date="2027-02-04", by="A3", device="deva3")
    fog: list[SomeFact] = [Interruption(cause="fog")]
    write(root, "2027-02-04T17:00:00.000Z", (evening, [*fog, *fog]), (day, fog), signed=signed)
    return root


NEWEST = "seals/2027-02-04.D1.d31kq.yaml"
BEFORE = {"days/2027-02-03.A1.d7h2k.yaml": 2, "days/2027-02-04.A3.deva3.yaml": 0}
"""The ledgers with entries after the newest heads, and how many of each stand before them."""
AFTER = tuple(BEFORE)
