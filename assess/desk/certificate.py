"""A certificate: an Open Badges 3.0 credential in a signed token.

It rests on one signed, released grant that stands, or on its renewal. Its times are those of the decision, never the
clock's; the same decision and key give the same bytes.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid5

from assess.desk.later_ledgers import need_director, need_outcomes
from assess.records.errors import Refusal, UsageError

if TYPE_CHECKING:
    from assess.desk.deciding import Signed
    from assess.desk.outgoing import Outgoing
    from assess.desk.rubric_give import RubricIds
    from assess.desk.session import Desk
    from assess.records.rubric import Rubric
    from assess.store.key_files import StoredKey

__all__ = [
    "CERTIFIED",
    "certificate_claims",
    "certificate_file",
    "issuer_of",
    "seconds",
    "to_the_second",
    "unlisted",
    "urn",
]

CONTEXTS = [
    "https://www.w3.org/ns/credentials/v2",
    "https://purl.imsglobal.org/spec/ob/v3p0/context-3.0.3.json",
]
CERTIFIED = ("grant", "renew")
"""Decisions of which there are certificates; each has a place of its own in the status list."""
_NAMESPACE = UUID("0c1e1a52-51f5-5f0b-8d5b-0d6d2d9c7e41")


def certificate_file(
    desk: Desk,
    candidate: str,
    module: str,
    file: str,
    key_name: str | None,
    passphrase: Callable[[], str],
    *,
    brief: bool = False,
) -> Outgoing:
    """The certificate as a file, signed with a certificate key of this device; its passphrase is asked for last.

    brief: without the values of the criteria.

    Raises what `certificate_claims` raises, and Refusal without such a key or when the passphrase does not fit.
    """
    from assess.desk.outgoing import Outgoing
    from assess.store.jwt_file import sign_token
    from assess.store.key_files import open_key, stored_key

    need_director(desk, "makes certificates")
    key = stored_key(key_name, "rsa-3072")
    claims = certificate_claims(desk, candidate, module, key.short, brief=brief)
    gaps = unlisted(desk, key, claims["validFrom"][:10])
    token = sign_token(open_key(key, passphrase()), key.short, claims)
    what = f"certificate of {candidate}, module {module}" + (", without the criteria" if brief else "")
    return Outgoing(file, "person", what, f"{token}\n".encode("ascii"), missing=gaps)


def certificate_claims(desk: Desk, candidate: str, module: str, kid: str, *, brief: bool = False) -> dict[str, Any]:
    """What the token says: the credential and the registered claims that repeat it. kid: the key that will sign.

    Raises Refusal to all but a director, where no released grant stands, and where what it rests on is not as it was
    signed; UsageError for somebody or a module the
    course does not have.
    """
    from assess.desk.deciding import standing_decision
    from assess.desk.outcomes import course_modules

    need_outcomes(desk)
    need_director(desk, "makes certificates")
    if candidate not in desk.course.candidates:
        raise UsageError(f"{candidate}: no candidate of this course", todo="see course.yaml")
    if module not in course_modules(desk):
        raise UsageError(f"{module}: no module of this course", todo=f"use one of {', '.join(course_modules(desk))}")
    signed = standing_decision(desk, candidate, module)
    if signed is None or signed.fact.decision not in CERTIFIED:
        stands = "nothing is signed" if signed is None else f"what stands is `{signed.fact.decision}`"
        raise Refusal(f"{candidate} {module}: {stands}; a certificate rests on a grant or its renewal")
    if not desk.sight.released(module, candidate, to="candidates"):
        raise Refusal(f"{candidate} {module} is not released to candidates", todo="`assess release` does that")
    credential = _credential(desk, signed, kid, brief=brief)
    claims = {
        "iss": credential["issuer"]["id"],
        "jti": credential["id"],
        "sub": credential["credentialSubject"]["id"],
        "nbf": seconds(credential["validFrom"]),
    }
    if "validUntil" in credential:
        claims["exp"] = seconds(credential["validUntil"])
    return {**credential, **claims}


def unlisted(desk: Desk, key: StoredKey, day: str) -> tuple[str, ...]:
    """A word for the preview when what this key signs on a day cannot be checked by the course's list of keys."""
    listed = [item for item in (desk.folder.keys.keys if desk.folder.keys else ()) if item.public == key.public]
    if any(not item.why_not(day) for item in listed):
        return ()
    return (f"its key {key.short} does not stand in keys.yaml on {day}, so nobody can check it: `assess key add`",)


def issuer_of(desk: Desk, kid: str) -> dict[str, Any]:
    """Who issues what this key signs: the course, known by the key."""
    return {"id": urn("issuer", kid), "type": ["Profile"], "name": _nfc(desk.course.title)}


def seconds(moment: str) -> int:
    """A date and time with its offset as whole seconds since 1970. Raises ValueError for anything else."""
    at = datetime.fromisoformat(moment)
    if at.tzinfo is None:
        raise ValueError("a time without its offset")
    return int(at.timestamp())


def to_the_second(instant: str) -> str:
    """An instant of the record without its milliseconds: the claim that repeats it counts whole seconds."""
    return f"{instant[:19]}Z"


def _credential(desk: Desk, signed: Signed, kid: str, *, brief: bool) -> dict[str, Any]:
    from assess.desk.certificate_results import achieved
    from assess.desk.certificate_status import status_entry
    from assess.desk.rubric_give import RubricIds

    course, candidate, module = desk.course.id, signed.candidate, signed.fact.module
    name = next(person.name for person in desk.people.candidates if person.id == candidate)
    rubric = _rubric(desk, module)
    ids = RubricIds(rubric)
    descriptions, results, sentence = achieved(desk, signed, rubric, ids, brief=brief)
    achievement = _achievement(rubric, ids, module, descriptions)
    told = {
        "@context": CONTEXTS,
        "id": urn("decision", course, signed.name, kid, *(("brief",) if brief else ())),
        "type": ["VerifiableCredential", "OpenBadgeCredential"],
        "name": achievement["name"],
        "issuer": issuer_of(desk, kid),
        "validFrom": to_the_second(signed.at),
        "awardedDate": to_the_second(signed.at),
        "credentialStatus": status_entry(desk, signed, kid),
        "credentialSubject": {
            "id": urn("subject", course, candidate),
            "type": ["AchievementSubject"],
            "identifier": [
                {"type": "IdentityObject", "hashed": False, "identityHash": _nfc(name), "identityType": "name"}
            ],
            "achievement": achievement,
            "result": results,
            **({"narrative": sentence} if sentence else {}),
        },
    }
    if signed.fact.valid_to:
        last = datetime.fromisoformat(signed.fact.valid_to) + timedelta(hours=23, minutes=59, seconds=59)
        told["validUntil"] = f"{last.isoformat()}Z"
    return told


def _rubric(desk: Desk, module: str) -> Rubric:
    task = next(
        slot.task for slot in desk.course.allocation if module in desk.rubric_for(slot.task).modules_of(slot.task)
    )
    return desk.rubric_for(task)


def _achievement(rubric: Rubric, ids: RubricIds, module: str, descriptions: list[dict[str, Any]]) -> dict[str, Any]:
    from assess.desk.rubric_give import one_line

    title = _nfc(one_line(rubric.title))
    part = _nfc(rubric.modules[module].title or module)
    return {
        "id": f"urn:uuid:{ids.of('module', module)}",
        "type": ["Achievement"],
        "achievementType": "Certification",
        "name": f"{title}: {part}",
        "description": f"{part}, one module of the award {title}",
        "criteria": {
            "narrative": f"Judged by the rubric {rubric.id}, by the rules written in it, and signed by a person."
        },
        "alignment": [
            {
                "type": ["Alignment"],
                "targetName": title,
                "targetType": "CFRubric",
                "targetUrl": f"urn:uuid:{ids.of('rubric')}",
            }
        ],
        "resultDescription": descriptions,
    }


def urn(*said: str) -> str:
    """A name that is the same for the same words and says nothing of them."""
    return f"urn:uuid:{uuid5(_NAMESPACE, '/'.join(said))}"


def _nfc(text: str) -> str:
    return unicodedata.normalize("NFC", text)
