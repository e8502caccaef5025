"""A ledger: one header, then entries that are only ever appended."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError, model_validator

from assess.records.fact import FREE_TEXT, Hash64
from assess.records.facts import (
    CaseFact,
    DayFact,
    DecisionFact,
    LicenceFact,
    Lock,
    ModerationFact,
    Seal,
    Settled,
    SheetFact,
    SomeFact,
)
from assess.records.ids import Device, ShortId
from assess.records.times import Instant

__all__ = [
    "KINDS",
    "LEDGER_FORMAT",
    "NEEDS",
    "Entry",
    "Header",
    "HeaderKind",
    "Ledger",
    "Signature",
    "fact_from",
    "kinds_allowed",
    "live_entries",
    "why_invalid",
]

LEDGER_FORMAT = 1
HeaderKind = Literal["sheet", "day", "moderation", "decision", "case", "licence", "seal"]
KINDS: tuple[str, ...] = ("sheet", "day", "moderation", "decision", "case", "licence", "seal")
NEEDS: dict[str, tuple[str, ...]] = {
    "sheet": ("task", "candidate", "assessor", "rubric"),
    "day": ("date", "by"),
    "moderation": ("task", "candidate", "by"),
    "decision": ("candidate", "by"),
    "case": ("case", "by"),
    "licence": ("assessor", "by"),
    "seal": ("date", "by"),
}


class Header(BaseModel):
    """What a ledger is about. A sheet names task, candidate, assessor and rubric; others name who writes (`by`)."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    kind: HeaderKind
    course: ShortId
    task: ShortId | None = None
    candidate: ShortId | None = None
    case: ShortId | None = None
    assessor: ShortId | None = None
    by: ShortId | None = None
    date: str | None = Field(default=None, pattern=r"^\d{4}-\d{2}-\d{2}$")
    rubric: Hash64 | None = None
    device: Device
    opened: Instant

    @model_validator(mode="after")
    def _complete(self) -> Header:
        missing = [key for key in NEEDS[self.kind] if getattr(self, key) is None]
        if missing:
            raise ValueError(f"a {self.kind} ledger needs {', '.join(missing)}")
        return self

    @property
    def author(self) -> str:
        """Who writes this ledger."""
        return self.by or self.assessor or ""

    @property
    def name(self) -> str:
        """The file's name without `.yaml`: `T1.C04.A2.d7h2k`, `2027-02-03.A1.d7h2k`."""
        parts = {
            "sheet": (self.task, self.candidate, self.assessor),
            "day": (self.date, self.by),
            "moderation": (self.task, self.candidate, self.by),
            "decision": (self.candidate, self.by),
            "case": (self.case, self.by),
            "licence": (self.assessor, self.by),
            "seal": (self.date, self.by),
        }[self.kind]
        return ".".join([*(part or "" for part in parts), self.device])

    def payload(self) -> dict[str, Any]:
        """The header as written, without empty values."""
        return self.model_dump(mode="json", exclude_none=True)


@dataclass(frozen=True, slots=True)
class Signature:
    """As an entry carries it: the first 16 hex digits of a key's fingerprint, and 64 bytes in base64url."""

    key: str
    value: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a ledger: its number, time, fact and chain value (16 hex digits), signed or not."""

    n: int
    at: str
    fact: SomeFact
    chain: str
    line: int = 0
    sig: Signature | None = None


@dataclass(frozen=True, slots=True)
class Ledger:
    """A ledger as read: entries in file order, all of them whole and chained."""

    name: str
    header: Header
    entries: tuple[Entry, ...]

    @property
    def head(self) -> str:
        """`n chain` of the last entry, as seals record it; `0` and 16 zeros when there is none."""
        return f"{self.entries[-1].n} {self.entries[-1].chain}" if self.entries else "0 " + "0" * 16

    @property
    def locked(self) -> bool:
        """True once the author has locked it; a lock is always the last entry."""
        return bool(self.entries) and isinstance(self.entries[-1].fact, Lock)


def live_entries(ledger: Ledger) -> list[Entry]:
    """The entries of one ledger that no undo took back, undo entries themselves left out."""
    gone: set[int] = set()
    for entry in reversed(ledger.entries):
        if entry.fact.kind == "undo" and entry.n not in gone:
            gone.add(entry.fact.of)
    return [entry for entry in ledger.entries if entry.n not in gone and entry.fact.kind != "undo"]


_FACT: TypeAdapter[SomeFact] = TypeAdapter(SomeFact)
_ALLOWED: dict[str, frozenset[str]] = {}


def kinds_allowed(header_kind: str) -> frozenset[str]:
    """The kinds of fact a ledger of this kind may hold."""
    if not _ALLOWED:
        groups: dict[str, Any] = {
            "sheet": SheetFact,
            "day": DayFact,
            "moderation": ModerationFact,
            "decision": DecisionFact,
            "case": CaseFact,
            "licence": LicenceFact,
            "seal": Seal,
        }
        for kind, union in groups.items():
            members = getattr(union, "__args__", (union,))
            names = {member.model_fields["kind"].default for member in members}
            _ALLOWED[kind] = frozenset(names | {"undo", "clock", Settled.model_fields["kind"].default})
    return _ALLOWED[header_kind]


def fact_from(payload: dict[str, Any]) -> SomeFact:
    """The fact of a parsed entry without its envelope; `<key>_sha` of erased text is taken into `erased`.

    Raises pydantic.ValidationError; `why_invalid` words it.
    """
    erased = {key[:-4]: payload[key] for key in payload if key.endswith("_sha") and key[:-4] in FREE_TEXT}
    if erased:
        payload = {key: value for key, value in payload.items() if not (key.endswith("_sha") and key[:-4] in erased)}
        payload["erased"] = erased
    return _FACT.validate_python(payload)


def why_invalid(error: ValidationError) -> list[str]:
    """One plain clause per field that is wrong, without the values (they may be another's marks)."""
    clauses = []
    for item in error.errors(include_url=False, include_input=False):
        place = ".".join(str(part) for part in item["loc"] if not str(part).startswith("function-"))
        words = _PLAIN.get(item["type"], "").format(**item.get("ctx", {})) or item["msg"]
        clauses.append(f"{place}: {words}" if place else words)
    return clauses


_PLAIN = {
    "int_parsing": "a whole number is wanted",
    "int_type": "a whole number is wanted",
    "int_from_float": "a whole number is wanted",
    "float_parsing": "a number is wanted",
    "float_type": "a number is wanted",
    "greater_than_equal": "{ge} or more is wanted",
    "less_than_equal": "{le} or less is wanted",
    "literal_error": "one of {expected} is wanted",
    "string_type": "text is wanted",
    "string_too_long": "at most {max_length} characters are wanted",
    "missing": "this must be there",
    "extra_forbidden": "nothing of this name is known",
}
