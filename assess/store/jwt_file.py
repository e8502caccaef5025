"""A JSON Web Token signed RS256 (RFC 7515, 7518 and 7519): made, and read so that one text alone says one thing."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from assess.records.key_list import public_bytes
from assess.store.lines import decode_object
from assess.store.signatures import to_base64url

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicNumbers

__all__ = ["Token", "key_brought", "read_token", "sign_token", "signature_fits"]


@dataclass(frozen=True)
class Token:
    """What a token says, what of it is signed, and the signature."""

    header: dict[str, Any]
    payload: dict[str, Any]
    signed: bytes
    signature: bytes


def sign_token(private: bytes, kid: str, payload: dict[str, Any]) -> str:
    """The token; the same payload and key give the same text. private: the PKCS #8 DER of an RSA key.

    Its first part carries the public half of the key (RFC 7517), as Open Badges 3.0 asks of an issuer that has no
    address to look the key up at. Whoever reads it still asks whose key that is.
    """
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric.padding import PKCS1v15
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey

    key = serialization.load_der_private_key(private, None)
    if not isinstance(key, RSAPrivateKey):
        raise TypeError("a certificate is signed by an RSA key")
    header = {"alg": "RS256", "jwk": _jwk(key.public_key().public_numbers(), kid), "typ": "JWT"}
    signed = f"{_part(header)}.{_part(payload)}"
    signature = key.sign(signed.encode("ascii"), PKCS1v15(), hashes.SHA256())
    return f"{signed}.{to_base64url(signature)}"


def read_token(raw: bytes) -> Token:
    """The parts of a token, nothing checked yet. Raises ValueError with a clause for anything that is none."""
    try:
        text = raw.removesuffix(b"\n").decode("ascii")
        head, payload, signature = text.split(".")
        header, told = decode_object(public_bytes(head)), decode_object(public_bytes(payload))
        return Token(header, told, f"{head}.{payload}".encode("ascii"), public_bytes(signature))
    except ValueError as trouble:
        raise ValueError("is no signed certificate, or was changed") from trouble


def key_brought(token: Token) -> bytes:
    """The public key (DER) in the first part of a token. Raises ValueError for a first part that is not as ours."""
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicNumbers

    header = token.header
    if set(header) != {"alg", "jwk", "typ"} or (header["alg"], header["typ"]) != ("RS256", "JWT"):
        raise ValueError("its first part is not as certificates have it")
    jwk = header["jwk"]
    if not isinstance(jwk, dict) or not all(isinstance(value, str) for value in jwk.values()):
        raise ValueError("the key in it is none")
    try:
        numbers = RSAPublicNumbers(*(int.from_bytes(public_bytes(jwk[part]), "big") for part in ("e", "n")))
        if jwk != _jwk(numbers, jwk["kid"]):
            raise ValueError("written in another way")
        key = numbers.public_key()
    except (KeyError, ValueError) as trouble:
        raise ValueError("the key in it is none") from trouble
    return key.public_bytes(serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo)


def signature_fits(token: Token, public: bytes) -> bool:
    """True when the token was signed with the private half of this RSA key (DER)."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric.padding import PKCS1v15
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicKey

    key = serialization.load_der_public_key(public)
    if not isinstance(key, RSAPublicKey):
        return False
    try:
        key.verify(token.signature, token.signed, PKCS1v15(), hashes.SHA256())
    except InvalidSignature:
        return False
    return True


def _jwk(numbers: RSAPublicNumbers, kid: str) -> dict[str, str]:
    parts = {"e": numbers.e, "n": numbers.n}
    told = {name: to_base64url(one.to_bytes((one.bit_length() + 7) // 8, "big")) for name, one in parts.items()}
    return {**told, "kid": kid, "kty": "RSA"}


def _part(value: dict[str, Any]) -> str:
    return to_base64url(json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode("utf-8"))
