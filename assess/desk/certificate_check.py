"""Whether a certificate holds: signed by a listed key, unchanged, not expired, and not withdrawn by its issuer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from assess.records.key_list import KeyList, ListedKey
    from assess.store.jwt_file import Token

__all__ = ["CertificateState", "CertificateVerdict", "check_certificate"]

CertificateState = Literal[
    "valid", "altered", "expired", "unknown key", "key not in force", "not begun", "withdrawn", "list refused"
]
_NOT_SO = (KeyError, TypeError, ValueError, IndexError, AttributeError)


@dataclass(frozen=True)
class CertificateVerdict:
    """state: what was found. whose, what, issuer, begins, until: what it says, empty unless its signature holds.

    as_of: the date of the issuer's status list, empty unless one was asked and holds.
    """

    state: CertificateState
    why: str
    whose: str = ""
    what: str = ""
    issuer: str = ""
    begins: str = ""
    until: str = ""
    as_of: str = ""


@dataclass(frozen=True)
class _Vouched:
    """A token whose signature fits a listed key, and that key as often as it is listed."""

    token: Token
    keys: tuple[ListedKey, ...]


def check_certificate(path: Path, keys: Path, now: int, status: Path | None = None) -> CertificateVerdict:
    """Check a certificate against a list of keys from its issuer; a key that it brings itself is not believed.

    now: whole seconds since 1970. status: the issuer's list of what it withdrew, checked by the same keys; without it
    nothing is said of that. Raises InputError for a list of keys that cannot be read, or no file.
    """
    from assess.records.key_list import KeyList
    from assess.store.validate import as_model
    from assess.store.yaml_file import read_yaml

    listed: KeyList = as_model(read_yaml(keys, shown=str(keys), what="keys"), KeyList)
    read = _vouched(path, listed)
    if isinstance(read, CertificateVerdict):
        return read
    try:
        found = _told(read.token, _against(read), now, asked=status is not None)
    except _NOT_SO:
        return CertificateVerdict("altered", "it lacks what a certificate says")
    if status is None or found.state in ("altered", "key not in force"):
        return found
    return _by_list(found, read.token, _vouched(status, listed))


def _vouched(path: Path, listed: KeyList) -> _Vouched | CertificateVerdict:
    from assess.records.key_list import KEY_DIGITS, fingerprint
    from assess.store.jwt_file import key_brought, read_token, signature_fits
    from assess.store.reading import whole_file

    try:
        token = read_token(whole_file(path, str(path), 256 * 1024))
    except ValueError as trouble:
        return CertificateVerdict("altered", f"it {trouble}")
    try:
        brought = key_brought(token)
    except ValueError as trouble:
        return CertificateVerdict("altered", str(trouble))
    short = fingerprint(brought)[:KEY_DIGITS]
    if token.header["jwk"]["kid"] != short:
        return CertificateVerdict("altered", "the key in it is called otherwise than it is")
    known = tuple(key for key in listed.keys if key.kind == "rsa-3072" and key.raw == brought)
    if not known:
        return CertificateVerdict("unknown key", f"no key {short} for certificates is listed")
    if not signature_fits(token, known[0].raw):
        return CertificateVerdict("altered", "it is not what was signed")
    return _Vouched(token, known)


def _against(read: _Vouched) -> str:
    """Why its key does not count on the day it says; "" when it does."""
    against = [key.why_not(read.token.payload["validFrom"][:10]) for key in read.keys]
    return against[0] if all(against) else ""


def _consistent(said: dict[str, Any], until: str | None = None) -> bool:
    """True when the registered claims repeat the credential."""
    from assess.desk.certificate import seconds

    repeated: dict[str, Any] = {
        "iss": said["issuer"]["id"], "jti": said["id"], "sub": said["credentialSubject"]["id"],
        "nbf": seconds(said["validFrom"]), "exp": seconds(until) if until else None,
    }  # fmt: skip
    return all(said.get(claim) == value for claim, value in repeated.items())


def _told(token: Token, against: str, now: int, *, asked: bool) -> CertificateVerdict:
    said = token.payload
    subject = said["credentialSubject"]
    until = said.get("validUntil")
    if not _consistent(said, until):
        return CertificateVerdict("altered", "its claims contradict one another")
    state: CertificateState = "valid"
    why = "signed by a listed key, unchanged"
    if not asked:
        why += "; whether it was withdrawn since, only its issuer's status list can tell: --status LIST.jwt"
    if against:
        state, why = "key not in force", f"the key is {against}"
    elif until and now > said["exp"]:
        state, why = "expired", f"it held until {until}"
    elif now < said["nbf"]:
        state, why = "not begun", f"it begins on {said['validFrom']}"
    return CertificateVerdict(
        state, why, whose=str(subject["identifier"][0]["identityHash"]), what=str(subject["achievement"]["name"]),
        issuer=str(said["issuer"]["name"]), begins=str(said["validFrom"]), until=str(until or ""),
    )  # fmt: skip


def _by_list(found: CertificateVerdict, token: Token, read: _Vouched | CertificateVerdict) -> CertificateVerdict:
    from assess.store.status_bits import bit_at

    if isinstance(read, CertificateVerdict):
        return replace(found, state="list refused", why=f"the status list does not hold: {read.why}")
    entry, listed = token.payload.get("credentialStatus"), read.token.payload
    if not isinstance(entry, dict):
        return replace(found, state="list refused", why="the certificate names no status list")
    try:
        if against := _unfit(entry, token, read):
            return replace(found, state="list refused", why=against)
        place = str(entry["statusListIndex"])
        if not (place.isascii() and place.isdigit() and len(place) < 12):
            raise ValueError("a place is a number")
        gone = bit_at(listed["credentialSubject"]["encodedList"], int(place))
    except _NOT_SO:
        return replace(found, state="list refused", why="the status list lacks what such a list says")
    day = str(listed["validFrom"])
    if gone:
        return replace(found, state="withdrawn", why=f"its issuer's status list of {day} says so", as_of=day)
    return replace(found, why=f"{found.why}; not withdrawn as of {day}, the date of its issuer's list", as_of=day)


def _unfit(entry: dict[str, Any], token: Token, read: _Vouched) -> str:
    """Why a list that a listed key signed does not speak of this certificate; "" when it does."""
    from assess.desk.certificate import seconds

    listed, said = read.token.payload, token.payload
    subject = listed["credentialSubject"]
    if "BitstringStatusListCredential" not in listed["type"] or subject["type"] != "BitstringStatusList":
        return "what was given with --status is no status list"
    if not _consistent(listed):
        return "the status list's claims contradict one another"
    if read.token.header["jwk"] != token.header["jwk"] or listed["issuer"]["id"] != said["issuer"]["id"]:
        return "the status list is from another issuer than the certificate"
    if listed["id"] != entry["statusListCredential"] or not (
        subject["statusPurpose"] == entry["statusPurpose"] == "revocation"
    ):
        return "the status list is another than the certificate names"
    if against := _against(read):
        return f"the key of the status list is {against}"
    if seconds(listed["validFrom"]) < seconds(said["validFrom"]):
        return f"the status list of {listed['validFrom']} is older than the certificate: ask its issuer for a newer one"
    return ""
