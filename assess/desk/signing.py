"""Which key signs what one person stands for at a course, and the word when none does."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from assess.records.errors import InputError

if TYPE_CHECKING:
    from assess.desk.session import Desk
    from assess.records.key_list import KeyList
    from assess.records.ledger import Header, Signature
    from assess.store.unlocked import UnlockedKey

__all__ = ["EntrySigner", "signing_word"]


class EntrySigner:
    """Signs what this person writes in their own ledgers, with their key, while one is unlocked; asks for nothing.

    A key listed in the course for this person and this day is taken; without one, a key that is listed for nobody,
    if it is the only one on this device: whose it is is then told by the list later. Never the key of somebody else.
    What is looked up is looked up anew each time: a key unlocked or locked meanwhile counts from there on.
    """

    def __init__(self, who: str | None, keys: KeyList | None, today: Callable[[], str] | None = None) -> None:
        self._who, self._keys, self._today = who, keys, today

    def __call__(self, header: Header, message: bytes) -> Signature | None:
        """The signature of what `to_sign` gave, or None."""
        from assess.store.signatures import sign

        key = self.key() if header.author == self._who else None
        return sign(key.private, message) if key is not None else None

    def key(self) -> UnlockedKey | None:
        """The key that signs now, or None."""
        from assess.store.unlocked import local_day, unlocked_keys

        if self._who is None:
            return None
        today = self._today() if self._today else local_day()
        unlocked = {key.public: key for key in unlocked_keys(today)}
        if not unlocked:
            return None
        listed = self._keys.keys if self._keys else ()
        for key in listed:
            if key.person == self._who and key.public in unlocked and not key.why_not(today):
                return unlocked[key.public]
        known = {key.public for key in listed}
        return next((key for public, key in unlocked.items() if public not in known and _is_alone(public)), None)


def _is_alone(public: str) -> bool:
    """True when this is the only key that signs entries on this device."""
    from assess.store.key_files import stored_keys

    try:
        return [key.public for key in stored_keys() if key.kind == "ed25519"] == [public]
    except InputError:
        return False  # a file among the keys is none: nobody can tell whose key this is


def signing_word(desk: Desk) -> str:
    """That locks are not signed today, once a day, for somebody who has a key or is expected to sign; else ""."""
    from assess.store.identity import first_today
    from assess.store.unlocked import local_day

    if desk.who is None or desk.signer.key() is not None or not _should_sign(desk, desk.who):
        return ""
    if not first_today(f"unsigned {desk.course.id} {desk.who}", local_day()):
        return ""
    return "your locks today are not signed: run `assess key unlock`"


def _should_sign(desk: Desk, who: str) -> bool:
    """True when this person has a key here, or the course lists one for them or wants everybody's."""
    from assess.store.folders import data_folder

    keys = desk.folder.keys
    listed = keys is not None and bool(keys.of(who) or keys.required_from)
    return listed or any((data_folder() / "keys").glob("[!.]*.key"))
