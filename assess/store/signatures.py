"""What is signed of an entry, and whether a signature fits (Ed25519, RFC 8032).

Signed are: a line that says what this is, the chain value before the entry in full (64 hex digits), and the entry's
line as it is chained, without its signature. So a signature vouches for the whole ledger up to and including the
entry, in this ledger and in this place alone; and a text that is erased later breaks none, since its digest is signed.

The chain in turn covers the signature: whoever takes one off, or puts another in its place, changes every chain
value from there on, and a head recorded elsewhere tells of it.
"""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Callable
from typing import Any

from assess.records.key_list import KEY_DIGITS, fingerprint
from assess.records.ledger import Header, Signature

__all__ = [
    "DOMAIN", "Signer", "from_base64url", "sign", "signature_fits", "split_signature", "to_base64url", "to_sign",
]  # fmt: skip

DOMAIN = b"assess ledger entry 1\n"
"""Begins everything that is signed, so that no signature made for something else can stand here, nor this one there."""

Signer = Callable[[Header, bytes], Signature | None]
"""Signs what `to_sign` gives for an entry of the ledger with this header; None when no key is unlocked for it."""

_SIG = re.compile(rb', "sig": \{"key": "([0-9a-f]{16})", "value": "([A-Za-z0-9_-]{86})"\}')
_SIG_BYTES = len(b', "sig": {"key": "", "value": ""}') + KEY_DIGITS + 86


def to_sign(previous: str, line: bytes) -> bytes:
    """The bytes that are signed: previous is the chain value before the entry (64 hex digits), line as `chained`."""
    return DOMAIN + previous.encode("ascii") + b"\n" + line


def split_signature(line: bytes, payload: dict[str, Any]) -> tuple[bytes, Signature | None]:
    """A line as it is chained, without its signature, and the signature.

    Raises ValueError with a clause when there is one that has another form or stands in another place.
    """
    if "sig" not in payload:
        return line, None
    found = _SIG.fullmatch(line, max(0, len(line) - _SIG_BYTES))
    if found is None:
        raise ValueError("has a signature that is none, or not right before its chain value")
    return line[: found.start()], Signature(found[1].decode("ascii"), found[2].decode("ascii"))


def sign(private: bytes, message: bytes) -> Signature:
    """The signature of a message. private: the 32 bytes of an Ed25519 private key."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    key = Ed25519PrivateKey.from_private_bytes(private)
    name = fingerprint(key.public_key().public_bytes_raw())[:KEY_DIGITS]
    return Signature(name, to_base64url(key.sign(message)))


def signature_fits(public: bytes, signature: Signature, message: bytes) -> bool:
    """True when the holder of this Ed25519 key (32 bytes) signed this message; False for what is no key or value."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    value = from_base64url(signature.value)
    if value is None:
        return False
    try:
        Ed25519PublicKey.from_public_bytes(public).verify(value, message)
    except (InvalidSignature, ValueError):
        return False
    return True


def to_base64url(raw: bytes) -> str:
    """base64url without padding (RFC 4648, section 5)."""
    return base64.urlsafe_b64encode(raw).rstrip(b"=").decode("ascii")


def from_base64url(text: str) -> bytes | None:
    """The bytes; None for what is no base64url, or another spelling of the same bytes."""
    try:
        raw = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
    except (ValueError, binascii.Error):
        return None
    return raw if to_base64url(raw) == text else None
