"""Whether a certificate holds: signed by a listed key, unchanged, and not expired."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from assess.records.key_list import KeyList
    from assess.store.jwt_file import Token

__all__ = ["CertificateState", "CertificateVerdict", "check_certificate"]

CertificateState = Literal["valid", "altered", "expired", "unknown key", "key not in force", "not begun"]


@dataclass(frozen=True)
class CertificateVerdict:
    """state: what was found. whose, what, issuer, begins, until: what it says, empty unless its signature holds."""

    state: CertificateState
    why: str
    whose: str = ""
    what: str = ""
    issuer: str = ""
    begins: str = ""
    until: str = ""


def check_certificate(path: Path, keys: Path, now: int) -> CertificateVerdict:
    """Check a certificate against a list of keys from its issuer; a key that it brings itself is not believed.

    now: whole seconds since 1970. Raises InputError for a list of keys that cannot be read, or no file.
    """
    from assess.records.key_list import KeyList
    from assess.store.jwt_file import read_token, signature_fits
    from assess.store.reading import whole_file
    from assess.store.validate import as_model
    from assess.store.yaml_file import read_yaml

    listed: KeyList = as_model(read_yaml(keys, shown=str(keys), what="keys"), KeyList)
    try:
        token = read_token(whole_file(path, str(path), 256 * 1024))
    except ValueError as trouble:
        return CertificateVerdict("altered", str(trouble))
    if set(token.header) != {"alg", "kid", "typ"} or (token.header["alg"], token.header["typ"]) != ("RS256", "JWT"):
        return CertificateVerdict("altered", "its first part is not as certificates have it")
    known = [key for key in listed.keys if key.kind == "rsa-3072" and key.short == token.header["kid"]]
    if not known:
        return CertificateVerdict("unknown key", f"no key {str(token.header['kid'])[:64]} for certificates is listed")
    if not signature_fits(token, known[0].raw):
        return CertificateVerdict("altered", "it is not what was signed")
    try:
        return _told(token, [key.why_not(token.payload["validFrom"][:10]) for key in known], now)
    except (KeyError, TypeError, ValueError, IndexError, AttributeError):
        return CertificateVerdict("altered", "it lacks what a certificate says")


def _told(token: Token, against: list[str], now: int) -> CertificateVerdict:
    from assess.desk.certificate import seconds

    said = token.payload
    subject = said["credentialSubject"]
    until = said.get("validUntil")
    repeated: dict[str, Any] = {
        "iss": said["issuer"]["id"], "jti": said["id"], "sub": subject["id"], "nbf": seconds(said["validFrom"]),
        "exp": seconds(until) if until else None,
    }  # fmt: skip
    if any(said.get(claim) != value for claim, value in repeated.items()):
        return CertificateVerdict("altered", "its claims contradict one another")
    state: CertificateState = "valid"
    why = "signed by a listed key, unchanged; whether it was withdrawn since, only its issuer can say"
    if all(against):
        state, why = "key not in force", f"the key is {against[0]}"
    elif until and now > repeated["exp"]:
        state, why = "expired", f"it held until {until}"
    elif now < repeated["nbf"]:
        state, why = "not begun", f"it begins on {said['validFrom']}"
    return CertificateVerdict(
        state, why, whose=str(subject["identifier"][0]["identityHash"]), what=str(subject["achievement"]["name"]),
        issuer=str(said["issuer"]["name"]), begins=str(said["validFrom"]), until=str(until or ""),
    )  # fmt: skip
