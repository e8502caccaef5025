"""`keys.yaml` of a course: who signs with which key, and from when to when; and a public key as it is handed over."""

from __future__ import annotations

import base64
import binascii
import hashlib
from datetime import date
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from assess.records.fact import IsoDate, Line
from assess.records.ids import LongId, ShortId

__all__ = ["KEY_DIGITS", "KeyKind", "KeyList", "ListedKey", "PublicKey", "fingerprint", "public_bytes"]

KeyKind = Literal["ed25519", "rsa-3072"]
"""`ed25519` signs entries, `rsa-3072` certificates."""
KEY_DIGITS = 16
"""So many hex digits of a fingerprint name a key in an entry and on a screen."""
_ED25519_BYTES = 32


def fingerprint(public: bytes) -> str:
    """64 hex digits that name a public key: SHA-256 of its bytes (32 of an Ed25519 key, the DER of an RSA one)."""
    return hashlib.sha256(public).hexdigest()


def public_bytes(text: str) -> bytes:
    """The bytes of a public key in base64url without padding. Raises ValueError for anything else."""
    try:
        raw = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
    except binascii.Error:
        raw = b""
    if not raw or base64.urlsafe_b64encode(raw).rstrip(b"=").decode("ascii") != text:
        raise ValueError("this is no key in base64url without padding")
    return raw


def _a_day(text: str) -> str:
    date.fromisoformat(text)
    return text


Day = Annotated[IsoDate, AfterValidator(_a_day), Field(json_schema_extra={"format": "date"})]


class _Key(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)

    kind: KeyKind = "ed25519"
    public: Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]{43,800}$")]
    fingerprint: Annotated[str, Field(pattern=r"^[0-9a-f]{16}$")] | None = None

    @model_validator(mode="after")
    def _one_key(self) -> _Key:
        if (self.kind == "ed25519") != (len(self.raw) == _ED25519_BYTES):
            raise ValueError(f"this is no public key of kind {self.kind}")
        if self.fingerprint is not None and self.fingerprint != self.short:
            raise ValueError(f"its fingerprint is {self.short}, not {self.fingerprint}")
        return self

    @property
    def raw(self) -> bytes:
        """The key's bytes: 32 of an Ed25519 key, the DER of an RSA one."""
        return public_bytes(self.public)

    @property
    def short(self) -> str:
        """The digits that name it in entries and on screens."""
        return fingerprint(self.raw)[:KEY_DIGITS]


class PublicKey(_Key):
    """The half of a key that is handed to the director: a file of its own, which holds no secret."""

    name: LongId
    made: Day


class ListedKey(_Key):
    """A key of the course: whose it is, and the days on which what it signs counts.

    from, until: the first and the last day. revoked: from this day on it counts no more, whatever `until` says.
    """

    person: ShortId
    from_: Day = Field(alias="from")
    until: Day | None = None
    revoked: Day | None = None
    note: Line = ""

    @model_validator(mode="after")
    def _days_in_order(self) -> ListedKey:
        if self.until is not None and self.until < self.from_:
            raise ValueError("it ends before it begins")
        return self

    def why_not(self, day: str) -> str:
        """Why what it signed on a day of the course (`2027-02-03`) does not count, as a clause; "" when it does."""
        if self.revoked is not None and day >= self.revoked:
            return f"revoked from {self.revoked} on"
        if day < self.from_:
            return f"listed from {self.from_} on"
        return f"listed until {self.until}" if self.until is not None and day > self.until else ""


class KeyList(BaseModel):
    """`keys.yaml`. required_from: from this day on whatever somebody stands for must be signed."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    revision: Annotated[int, Field(ge=1)]
    required_from: Day | None = None
    keys: tuple[ListedKey, ...] = ()

    @model_validator(mode="after")
    def _one_person_each(self) -> KeyList:
        owners: dict[str, str] = {}
        for key in self.keys:
            if owners.setdefault(key.public, key.person) != key.person:
                raise ValueError(f"one key is listed for {owners[key.public]} and for {key.person}")
        return self

    def with_short(self, short: str) -> tuple[ListedKey, ...]:
        """The keys that sign entries and whose fingerprint begins so; more than one when one is listed twice."""
        return tuple(key for key in self.keys if key.kind == "ed25519" and key.short == short)

    def of(self, person: str) -> tuple[ListedKey, ...]:
        """The keys with which a person signs entries."""
        return tuple(key for key in self.keys if key.kind == "ed25519" and key.person == person)
