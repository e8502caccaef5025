"""A person's own keys: made, shown, unlocked for today, locked. None of it needs a course."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assess.records.errors import Refusal

if TYPE_CHECKING:
    from assess.store.key_files import StoredKey

__all__ = ["DEFAULT_NAMES", "OwnKey", "choose_key", "lock_keys", "make_key", "own_keys", "unlock_key", "write_public"]

DEFAULT_NAMES = {"ed25519": "signing", "rsa-3072": "certificate"}


@dataclass(frozen=True)
class OwnKey:
    """A key of this device, without its secret. fingerprint: the 16 digits that name it in records."""

    name: str
    kind: str
    fingerprint: str
    public: str
    made: str
    file: str
    unlocked: bool = False


def make_key(name: str | None, passphrase: str, *, certificate: bool = False) -> OwnKey:
    """Make a key that signs entries, or with `certificate` one that signs certificates.

    Raises Refusal for a name that is taken or none and for a passphrase that is too short, StorageTrouble when it
    cannot be written; then there is no file.
    """
    from assess.store.key_files import make_key as made
    from assess.store.unlocked import local_day

    kind = "rsa-3072" if certificate else "ed25519"
    return _told(made(name or DEFAULT_NAMES[kind], kind, passphrase, local_day()), ())  # type: ignore[arg-type]


def own_keys() -> tuple[OwnKey, ...]:
    """The keys of this device, by name. Raises InputError for a file among them that is no key."""
    from assess.store.key_files import stored_keys
    from assess.store.unlocked import local_day, unlocked_keys

    keys = stored_keys()
    open_now = {key.short for key in unlocked_keys(local_day())} if keys else set()
    return tuple(_told(key, open_now) for key in keys)


def choose_key(name: str | None) -> OwnKey:
    """The key that will be unlocked: the one named, or the only one that signs entries. Raises Refusal without one."""
    from assess.store.key_files import stored_key

    return _told(stored_key(name, "ed25519"), ())


def unlock_key(name: str | None, passphrase: str) -> tuple[OwnKey, str]:
    """Unlock a key for today; the key, and the day at whose end it locks itself.

    Raises Refusal when there is no such key or the passphrase does not fit, StorageTrouble when it cannot be kept.
    """
    from assess.store.key_files import open_key, stored_key
    from assess.store.unlocked import keep_unlocked, local_day

    key, today = stored_key(name, "ed25519"), local_day()
    keep_unlocked(key, open_key(key, passphrase), today)
    return _told(key, {key.short}), today


def lock_keys() -> int:
    """Lock every key again; how many were unlocked."""
    from assess.store.unlocked import lock_keys as locked

    return locked()


def write_public(name: str | None, file: Path) -> OwnKey:
    """Write a key's public half into a new file, for the director. Raises Refusal when something stands there."""
    from assess.store.atomic import create_file
    from assess.store.key_files import stored_keys

    found = [key for key in stored_keys() if name in (None, key.name)]
    if len(found) != 1:
        todo = f"give --name: {', '.join(key.name for key in found)}" if found else "make one with `assess key new`"
        raise Refusal("there are several keys here" if found else "there is no such key on this device", todo=todo)
    key = _told(found[0], ())
    text = (
        "# assess public-key 1\n"
        f"name: {key.name}\nkind: {key.kind}\nmade: {key.made}\n"
        f'fingerprint: "{key.fingerprint}"\npublic: "{key.public}"\n'
    )
    try:
        create_file(file, text.encode("ascii"))
    except FileExistsError:
        raise Refusal("something stands there already", where=str(file), todo="name another file") from None
    return key


def _told(key: StoredKey, unlocked: set[str] | tuple[()]) -> OwnKey:
    return OwnKey(key.name, key.kind, key.short, key.public, key.made, str(key.path), key.short in unlocked)
