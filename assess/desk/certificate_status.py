"""The list by which certificates are withdrawn: a W3C Bitstring Status List 1.0, signed by the key of the certificates.

Every grant and renewal ever signed in the course has a place in it, whether a certificate was made or not, so nobody
keeps a register of certificates. The list is dated by the newest decision, never by the clock.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from assess.desk.later_ledgers import entry_name, need_director, need_outcomes
from assess.records.errors import Refusal
from assess.records.facts import Decision

if TYPE_CHECKING:
    from assess.desk.deciding import Signed
    from assess.desk.outgoing import Outgoing
    from assess.desk.session import Desk

__all__ = ["SIZE", "place_of", "status_claims", "status_entry", "status_file"]

SIZE = 1 << 23
"""Bits of a list: so many that two of 150 grants share a place in about one course of 750."""


def place_of(course: str, decision: str) -> int:
    """The place of a decision in the list, from its own name alone, so that it never moves."""
    return int.from_bytes(hashlib.sha256(f"{course}/{decision}".encode()).digest()) % SIZE


def status_entry(desk: Desk, signed: Signed, kid: str) -> dict[str, str]:
    """What a certificate says of its place in the list. Raises Refusal when an earlier grant has that place."""
    place = place_of(desk.course.id, signed.name)
    owner = _owners(_grants(desk), desk.course.id)[place]
    if owner.name != signed.name:
        raise Refusal(
            f"{signed.candidate} {signed.fact.module}: {owner.name} has its place in the status list",
            todo="sign the decision once more: the new one has a place of its own",
        )
    listed = _list_id(desk, kid)
    return {
        "id": f"{listed}#{place}",
        "type": "BitstringStatusListEntry",
        "statusPurpose": "revocation",
        "statusListIndex": str(place),
        "statusListCredential": listed,
    }


def status_file(desk: Desk, file: str, key_name: str | None, passphrase: Callable[[], str]) -> Outgoing:
    """The list as a file, signed with a certificate key of this device; its passphrase is asked for last.

    Raises what `status_claims` raises, and Refusal without such a key or when the passphrase does not fit.
    """
    from assess.desk.certificate import unlisted
    from assess.desk.outgoing import Outgoing
    from assess.store.jwt_file import sign_token
    from assess.store.key_files import open_key, stored_key

    need_director(desk, "makes certificates")
    key = stored_key(key_name, "rsa-3072")
    claims, gone = status_claims(desk, key.short)
    grants = _grants(desk)
    owners = {item.name for item in _owners(grants, desk.course.id).values()}
    shared = tuple(
        f"{item.name}: an earlier grant has its place, so no certificate can rest on it; sign it once more"
        for item in grants
        if item.name not in owners
    )
    token = sign_token(open_key(key, passphrase()), key.short, claims)
    what = f"status list of certificates, as of {claims['validFrom'][:10]}: {gone} of {len(owners)} grants withdrawn"
    gaps = (*unlisted(desk, key, claims["validFrom"][:10]), *shared)
    return Outgoing(file, "anyone", what, f"{token}\n".encode("ascii"), missing=gaps, private=False)


def status_claims(desk: Desk, kid: str) -> tuple[dict[str, Any], int]:
    """What the list says, and how many of its bits are set. kid: the key that will sign.

    Raises Refusal to all but a director, where nothing is decided, and where a module was decided in two ways.
    """
    from assess.desk.certificate import issuer_of, seconds, to_the_second
    from assess.store.status_bits import packed

    need_outcomes(desk)
    need_director(desk, "makes certificates")
    owners = _owners(_grants(desk), desk.course.id)
    if not owners:
        raise Refusal("no grant is signed in this course; there is nothing that could be withdrawn")
    gone = {place for place, signed in owners.items() if not _stands(desk, signed)}
    newest = to_the_second(max((item.at for item in _signed(desk)), key=seconds))
    listed, issuer = _list_id(desk, kid), issuer_of(desk, kid)
    subject = {
        "id": f"{listed}#list",
        "type": "BitstringStatusList",
        "statusPurpose": "revocation",
        "encodedList": packed(gone, SIZE),
    }
    claims = {
        "@context": ["https://www.w3.org/ns/credentials/v2"],
        "id": listed,
        "type": ["VerifiableCredential", "BitstringStatusListCredential"],
        "issuer": issuer,
        "validFrom": newest,
        "credentialSubject": subject,
        "iss": issuer["id"],
        "jti": listed,
        "sub": subject["id"],
        "nbf": seconds(newest),
    }
    return claims, len(gone)


def _stands(desk: Desk, grant: Signed) -> bool:
    """True while nothing stands in for a grant but renewals of it. Raises Refusal where two decisions contradict."""
    from assess.desk.deciding import decisions, standing_decision

    standing_decision(desk, grant.candidate, grant.fact.module)
    found = decisions(desk, grant.candidate, grant.fact.module)
    if grant.name not in {item.name for item in found}:
        return False
    reached, open_ends = {grant.name}, [grant.name]
    while open_ends:
        name = open_ends.pop()
        after = [item for item in found if item.fact.supersedes == name and item.name not in reached]
        if any(item.fact.decision != "renew" for item in after):
            return False
        reached |= {item.name for item in after}
        open_ends += [item.name for item in after]
    return True


def _signed(desk: Desk) -> list[Signed]:
    """Every decision in the record, by whomever: a grant by somebody who is no director any more keeps its place."""
    from assess.desk.deciding import Signed

    return [
        Signed(entry_name(ledger, entry), entry.at, ledger.header.author, ledger.header.candidate, entry.fact)
        for ledger, entry in desk.shelf.entries("decision")
        if isinstance(entry.fact, Decision) and ledger.header.candidate is not None
    ]


def _grants(desk: Desk) -> list[Signed]:
    """And their renewals, by time."""
    from assess.desk.certificate import CERTIFIED, seconds

    return sorted(
        (item for item in _signed(desk) if item.fact.decision in CERTIFIED),
        key=lambda item: (seconds(item.at), item.name),
    )


def _owners(grants: list[Signed], course: str) -> dict[int, Signed]:
    """Place -> the earliest grant that has it."""
    owners: dict[int, Signed] = {}
    for item in grants:
        owners.setdefault(place_of(course, item.name), item)
    return owners


def _list_id(desk: Desk, kid: str) -> str:
    from assess.desk.certificate import urn

    return urn("status", desk.course.id, kid)
