"""Ledger by ledger and entry by entry: is it as it was written, who vouches for it, and what would tell if it were not.

A chain tells damage. Who rewrites a ledger together with its chain is told by a head another file records, or by a
signature. An entry is *anchored* when one of the two would tell: recorded elsewhere, or at or before an entry with
a signature that counts. Beyond what reading asks, a line here has to be byte for byte as the program writes it: a
text is chained by what it says, and a space beside it would not be missed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from assess.records.facts import FREE_TEXT
from assess.records.times import local_date
from assess.store.heads import HeadsFound
from assess.store.lines import body, decode_line
from assess.store.signatures import signature_fits
from assess.store.versions import record_of

if TYPE_CHECKING:
    from assess.records.key_list import KeyList, ListedKey
    from assess.records.ledger import Entry
    from assess.store.ledger_file import LedgerFile

__all__ = ["EntryVerdict", "LedgerVerdict", "State", "judge_ledger", "line_troubles"]

State = Literal["intact", "altered", "missing", "unsigned", "unknown key", "not yet anchored"]
_SALT_DIGITS = 32


@dataclass(frozen=True)
class EntryVerdict:
    """One entry. n, line: 0 when it has none any more; kind: "" when it cannot be read.

    state: the gravest word that is true of it. why: what is wrong, as a clause; "" for `intact`.
    anchored: a change of it would be told. erased: a text in it was erased, of which the digest is left.
    key, by: the short fingerprint its signature names, and whose key it is; "" when unsigned or not listed.
    day: its date at the course's place. unsigned: somebody stands for it and it has no signature.
    """

    n: int
    line: int
    day: str
    kind: str
    state: State
    why: str = ""
    anchored: bool = False
    erased: bool = False
    key: str = ""
    by: str = ""
    unsigned: bool = False


@dataclass(frozen=True)
class LedgerVerdict:
    """A ledger: its file (`sheets/...`), who writes it, its entries in order.

    torn: a line cut short follows and is not read. newest: it holds the newest seal.
    """

    file: str
    author: str
    entries: tuple[EntryVerdict, ...]
    torn: bool = False
    newest: bool = False

    @property
    def counts(self) -> Counter[State]:
        """How many entries are in each state."""
        return Counter(entry.state for entry in self.entries)

    @property
    def anchored(self) -> bool:
        """True when a change of any entry would be told, or it is the newest seal, which nothing can record yet.

        What is altered or missing has been told already.
        """
        found = [entry for entry in self.entries if entry.state not in ("altered", "missing")]
        return self.newest or (not self.torn and all(entry.anchored for entry in found))


def judge_ledger(
    file: LedgerFile, heads: HeadsFound, keys: KeyList | None, utc_offset: str, erased: Mapping[str, frozenset[str]]
) -> LedgerVerdict:
    """What can be said of a ledger in use: from its bytes, from heads recorded of it, and from its signatures.

    erased: record -> the heads of entries whose text an erasure took out (`erasing.erased_heads`).
    """
    shown = f"{file.path.parent.name}/{file.path.name}"
    troubles = line_troubles(file, erased.get(record_of(shown), frozenset()))
    recorded, broken = heads.anchored.get(shown, 0), heads.broken.get(shown, 0)
    signed = _Signed(file, keys, utc_offset)
    sure = max([recorded, *(n for n, found in signed.found.items() if found.counts)])
    entries = [
        _judged(entry, local_date(entry.at, utc_offset), signed.found.get(entry.n), entry.n <= sure, why)
        for entry in file.ledger.entries
        for why in [troubles.get(entry.n, "") or (_REWRITTEN if recorded < entry.n <= broken else "")]
    ]
    return LedgerVerdict(
        shown, file.ledger.header.author, (*entries, *_lost(file, len(entries), heads.cut.get(shown, 0))), file.torn,
        shown in heads.newest,
    )  # fmt: skip


_REWRITTEN = "this entry, or one before it, is not the one that was recorded elsewhere"


def _judged(entry: Entry, day: str, signed: _Found | None, anchored: bool, why: str) -> EntryVerdict:
    state: State = "intact" if anchored else "not yet anchored"
    unsigned = entry.fact.signed and signed is None
    reason = why
    if why or (signed and signed.altered):
        state, reason = "altered", why or (signed.why if signed else "")
    elif signed and not signed.counts:
        state, reason = "unknown key", signed.why
    elif unsigned:
        state = "unsigned"
    return EntryVerdict(
        entry.n, entry.line, day, entry.fact.kind, state, reason, anchored and state != "altered",
        bool(entry.fact.erased), entry.sig.key if entry.sig else "", signed.by if signed else "", unsigned,
    )  # fmt: skip


def _lost(file: LedgerFile, stands: int, recorded: int) -> Iterator[EntryVerdict]:
    """The line at which reading stops, and entries that are recorded elsewhere and are not read any more."""
    if file.bad:
        problem = file.problems[0]
        yield EntryVerdict(stands + 1, problem.line, "", "", "altered", problem.what)
    for n in range(stands + (2 if file.bad else 1), recorded + 1):
        yield EntryVerdict(n, 0, "", "", "missing", "it is recorded elsewhere and is not here")


# --- bytes --------------------------------------------------------------------------------------------


def line_troubles(file: LedgerFile, erased: frozenset[str] = frozenset()) -> dict[int, str]:
    """Number -> why, for entries whose line is not byte for byte as the program writes it, though their chain fits.

    erased: the heads of entries whose text an erasure took out; a text that went without one was taken out by hand.
    """
    found: dict[int, str] = {
        entry.n: "a text was taken out of it, and no erasure names it"
        for entry in file.ledger.entries
        if entry.fact.erased and f"{entry.n} {entry.chain}" not in erased
    }
    whole = file.raw[file.head : file.whole]
    for n, line in enumerate(whole.removesuffix(b"\n").split(b"\n") if file.ledger.entries else (), start=1):
        payload = decode_line(line)
        salt = payload.get("salt")
        if f"- {body(payload)}".encode() != line:
            found[n] = "its line is not written as this program writes one: a space or a sign was put in or taken out"
        elif salt is not None and (len(salt) != _SALT_DIGITS or not FREE_TEXT.intersection(payload)):
            found[n] = "its salt is not as this program makes one"
    if file.ledger.entries and not whole.endswith(b"\n"):
        found.setdefault(len(file.ledger.entries), "its line end is missing")
    return found


# --- signatures ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Found:
    """What a signature says: it counts (for the author of the ledger), or why not; altered: it does not fit."""

    counts: bool
    by: str = ""
    why: str = ""
    altered: bool = False


class _Signed:
    """The signatures of one ledger held against the list of keys."""

    def __init__(self, file: LedgerFile, keys: KeyList | None, utc_offset: str) -> None:
        self._keys, self._author = keys, file.ledger.header.author
        self.found: Mapping[int, _Found] = {
            entry.n: self._judge(entry, file.signed[entry.n], local_date(entry.at, utc_offset))
            for entry in file.ledger.entries
            if entry.sig is not None
        }

    def _judge(self, entry: Entry, message: bytes, day: str) -> _Found:
        sig = entry.sig
        listed = self._keys.with_short(sig.key) if self._keys and sig else ()
        if sig is None or not listed:
            return _Found(False, why="its key is not listed" if self._keys else "the course has no list of keys")
        fitting = [key for key in listed if signature_fits(key.raw, sig, message)]
        if not fitting:
            why = "its signature does not fit: it, or an entry before it, is not as it was signed"
            return _Found(False, listed[0].person, why, altered=True)
        return self._of(fitting, day)

    def _of(self, keys: list[ListedKey], day: str) -> _Found:
        own = [key for key in keys if key.person == self._author]
        if not own:
            return _Found(False, keys[0].person, f"signed with the key of {keys[0].person}, not of {self._author}")
        reasons = [key.why_not(day) for key in own]
        if "" in reasons:
            return _Found(True, self._author)
        return _Found(False, self._author, f"signed on {day} with a key that is {reasons[0]}")
