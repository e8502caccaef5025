"""A ledger being written: entries are made in memory at once, the disk follows."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from pydantic import ValidationError

from assess.records.errors import Refusal
from assess.records.facts import FREE_TEXT, Clock, Lock, SomeFact
from assess.records.ledger import Entry, Header, fact_from, kinds_allowed, why_invalid
from assess.records.times import instant, milliseconds
from assess.store.chain import CHAIN_DIGITS, chained, next_link
from assess.store.clock import BEHIND_MS, DeviceTime
from assess.store.lines import LONGEST_LINE, encode_line, typed_throughout
from assess.store.signatures import Signer, to_sign

__all__ = ["LiveLedger"]

_FIRST_LINE = 4
# Room for number, time, salt, signature and chain, which are added when it is too late to refuse.
_ENVELOPE = 384


class LiveLedger:
    """A ledger that grows. `Writer.open` makes one.

    header: of the file, when there was one; name: the file's without `.yaml`.
    entries: all, those still on their way to the disk included; acknowledged: the number of the last
    that is saved, raised by the writer's thread. closed: nobody writes it any more.
    """

    def __init__(
        self,
        header: Header,
        *,
        link: str,
        entries: Iterable[Entry] = (),
        time: DeviceTime,
        salt: Callable[[], str],
        send: Callable[[LiveLedger, int, bytes], None],
        signer: Signer | None = None,
    ) -> None:
        self.header, self.name = header, header.name
        self.entries: list[Entry] = list(entries)
        self.acknowledged = len(self.entries)
        self.closed = False
        self._link = link
        self._last_ms = milliseconds(self.entries[-1].at) if self.entries else 0
        self._time, self._salt, self._send, self._signer = time, salt, send, signer
        self._behind_told_ms = 0

    @property
    def locked(self) -> bool:
        """True once a lock is its last entry, saved or not."""
        return bool(self.entries) and isinstance(self.entries[-1].fact, Lock)

    @property
    def head(self) -> str:
        """`n chain` of the last entry, as seals record it; `0` and 16 zeros when there is none."""
        return f"{self.entries[-1].n} {self.entries[-1].chain}" if self.entries else "0 " + "0" * CHAIN_DIGITS

    def add(self, fact: SomeFact, *, at_ms: int | None = None) -> Entry:
        """Record a fact; the entry is there at once and goes to the disk behind the caller's back.

        at_ms: the time of a fact that comes with its own (an import); it is moved to one millisecond
        after the last entry when it is not later, and does not touch the device's own time.
        Without it the device's clock counts; when that is found more than 2 s behind, a `clock` entry
        goes first. Raises Refusal after a lock or when closed, for a kind this ledger does not hold, and for text
        that is too long; then nothing is recorded.
        """
        if self.closed:
            raise Refusal("the records are closed; nothing is added", where=self.name)
        if self.locked:
            raise Refusal("this record is locked; nothing is added to it", where=self.name)
        if fact.kind not in kinds_allowed(self.header.kind):
            raise Refusal(f"a {self.header.kind} ledger holds no {fact.kind}", where=self.name)
        payload, clean = self._checked(fact)
        if at_ms is not None:
            return self._record(payload, clean, max(at_ms, self._last_ms + 1))
        if self._last_ms > self._time.last_ms:
            self._time.seen(self._last_ms)
        behind = self._time.behind_ms()
        if behind - self._behind_told_ms > BEHIND_MS:
            self._behind_told_ms = behind
            late = Clock(behind_ms=behind)
            self._record(late.payload(), late, self._time.take())
        elif behind <= 0:
            self._behind_told_ms = 0
        return self._record(payload, clean, self._time.take())

    def _checked(self, fact: SomeFact) -> tuple[dict[str, Any], SomeFact]:
        """The fact as it will be written, and as it will be read. Raises Refusal when no reader would take it."""
        payload: dict[str, Any] = typed_throughout(fact.payload())
        try:
            clean = fact_from(payload)
            too_long = len(encode_line(payload)) > LONGEST_LINE - _ENVELOPE
        except ValidationError as error:
            raise Refusal("; ".join(why_invalid(error)), where=self.name) from None
        except ValueError:
            too_long = True
        if too_long:
            raise Refusal("this is more than fits into one entry", where=self.name, todo="write it as two")
        return payload, clean

    def _record(self, payload: dict[str, Any], fact: SomeFact, at_ms: int) -> Entry:
        n, at = len(self.entries) + 1, instant(at_ms)
        kind = payload["kind"]
        salted = {"salt": self._salt()} if FREE_TEXT.intersection(payload) else {}
        whole = {"n": n, "at": at, "kind": kind, **salted, **payload}
        sig = self._signer(self.header, to_sign(self._link, chained(whole))) if self._signer and fact.signed else None
        if sig is not None:
            whole["sig"] = {"key": sig.key, "value": sig.value}
        link = next_link(self._link, chained(whole))
        chain = link[:CHAIN_DIGITS]
        line = encode_line({**whole, "chain": chain})
        entry = Entry(n, at, fact, chain, n + _FIRST_LINE - 1, sig)
        self.entries.append(entry)
        self._link, self._last_ms = link, at_ms
        self._send(self, n, line)
        return entry
