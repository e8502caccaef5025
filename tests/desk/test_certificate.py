"""A certificate: only of a released grant, the same bytes each time, accepted elsewhere, refused when changed."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import jwt
import pytest
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat, load_der_public_key

from assess.desk.certificate_check import check_certificate
from assess.desk.feedback import release
from assess.records.errors import Refusal
from assess.records.key_list import public_bytes
from tests.cli.commands import assess
from tests.sample.story import DAY_9, Story

PASSPHRASE = "four words of snow"
THEN = DAY_9 // 1000 + 86_400


@pytest.fixture(scope="module")
def made(morning: Story, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """A course decided and released but for C02, a certificate key of D1, C01's certificate and the list of keys."""
    from assess.desk.certificate import certificate_file
    from assess.desk.keys import make_key

    story = morning.again(tmp_path_factory.mktemp("story"))
    story.clock.ms = DAY_9
    story.sign_all()
    folder = tmp_path_factory.mktemp("made")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("ASSESS_DATA_DIR", str(folder / "data"))
        key = make_key(None, PASSPHRASE, certificate=True)
        with story.desk("D1") as desk:
            release(desk, "candidates", candidates=["C01", "C08"])
            first, again = (certificate_file(desk, "C01", "demo", "c.jwt", None, lambda: PASSPHRASE) for _ in range(2))
            refused = {}
            for who in ("C02", "C08"):
                with pytest.raises(Refusal) as why:
                    certificate_file(desk, who, "demo", "c.jwt", None, lambda: PASSPHRASE)
                refused[who] = str(why.value)
        with story.desk("A1") as desk, pytest.raises(Refusal) as why:
            certificate_file(desk, "C01", "demo", "c.jwt", None, lambda: PASSPHRASE)
        refused["A1"] = str(why.value)
    assert first.content == again.content
    file, keys = folder / "c.jwt", folder / "keys.yaml"
    file.write_bytes(first.content)
    keys.write_text(key_list(key.public), encoding="utf-8")
    return {"file": file, "keys": keys, "key": key, "out": first, "refused": refused, "story": story}


def key_list(public: str, more: str = "") -> str:
    line = f'- {{person: D1, kind: rsa-3072, public: "{public}", from: 2026-02-01{more}}}'
    return f"# assess keys 1\nrevision: 1\nkeys:\n{line}\n"


def claims_by_another_library(made: Any, token: bytes) -> Any:
    public = load_der_public_key(public_bytes(made["key"].public))
    no_clock = {"verify_exp": False, "verify_nbf": False}
    return jwt.decode(token.decode("ascii"), public, algorithms=["RS256"], options=no_clock)  # type: ignore[arg-type]


def test_another_library_accepts_it_and_reads_what_a_credential_needs(made: Any) -> None:
    token = made["file"].read_bytes().strip()
    said = claims_by_another_library(made, token)
    header = jwt.get_unverified_header(token.decode())
    # 1EdTech, Open Badges 3.0, "Create the JOSE Header": alg RS256, the public key in `jwk` where `kid` is no address
    # it can be looked up at, `typ` JWT if it is there; nothing else, and of the key nothing that is secret.
    assert set(header) == {"alg", "jwk", "typ"} and (header["alg"], header["typ"]) == ("RS256", "JWT")
    assert set(header["jwk"]) == {"kty", "n", "e", "kid"} and header["jwk"]["kid"] == made["key"].fingerprint
    brought = jwt.PyJWK(header["jwk"], "RS256").key
    assert jwt.decode(token, brought, ["RS256"], options={"verify_exp": False, "verify_nbf": False}) == said
    assert said["@context"][0] == "https://www.w3.org/ns/credentials/v2" and len(said["@context"]) == 2
    assert {"VerifiableCredential", "OpenBadgeCredential"} <= set(said["type"])
    subject = said["credentialSubject"]
    assert (said["iss"], said["jti"], said["sub"]) == (said["issuer"]["id"], said["id"], subject["id"])
    assert subject["id"].startswith("urn:uuid:") and subject["type"] == ["AchievementSubject"]
    achievement = subject["achievement"]
    assert achievement["achievementType"] == "Certification" and achievement["criteria"]["narrative"]
    assert {"id", "type", "name", "description", "criteria"} <= set(achievement)
    assert said["validFrom"].startswith("2026-02-10T") and said["validUntil"] == "2027-02-05T23:59:59Z"
    assert subject["result"][0]["resultDescription"] == achievement["resultDescription"][0]["id"]


def test_its_alignment_is_the_rubric_as_it_is_given_out(made: Any) -> None:
    from assess.desk.rubric_give import give_rubric

    with made["story"].desk("D1") as desk:
        given = give_rubric(desk.rubric_for("T1"))
    said = claims_by_another_library(made, made["file"].read_bytes().strip())
    assert given.package.CFRubrics
    assert said["credentialSubject"]["achievement"]["alignment"][0]["targetUrl"] == given.package.CFRubrics[0].uri


def test_only_a_released_grant_has_one_and_only_a_director_makes_it(made: Any) -> None:
    assert "not released" in made["refused"]["C02"] or "stands" in made["refused"]["C02"]
    assert "rests on a grant" in made["refused"]["C08"]
    assert "director" in made["refused"]["A1"]


def test_it_is_valid_expires_and_is_of_a_listed_key_or_of_none(made: Any, tmp_path: Path) -> None:
    good = check_certificate(made["file"], made["keys"], THEN)
    assert good.state == "valid" and good.whose and good.what.endswith("Demonstration")
    assert check_certificate(made["file"], made["keys"], THEN + 400 * 86_400).state == "expired"
    assert check_certificate(made["file"], made["keys"], THEN - 400 * 86_400).state == "not begun"
    other = tmp_path / "keys.yaml"
    other.write_text("# assess keys 1\nrevision: 1\nkeys: []\n", encoding="utf-8")
    assert check_certificate(made["file"], other, THEN).state == "unknown key"
    other.write_text(key_list(made["key"].public, ", revoked: 2026-02-05"), encoding="utf-8")
    assert check_certificate(made["file"], other, THEN).state == "key not in force"


def test_a_change_of_any_one_byte_is_found(made: Any, tmp_path: Path) -> None:
    token = made["file"].read_bytes().strip()
    file, pick = tmp_path / "changed.jwt", random.Random(7)
    states = []
    ends = [place for place, byte in enumerate(token) if byte == ord(".")]
    # The first and last part whole, of the long middle every seventeenth byte.
    places = [*range(ends[0] + 1), *range(ends[0] + 1, ends[1], 17), *range(ends[1], len(token))]
    for place in places:
        byte = pick.choice([other for other in b"Aa0_-.Zz9" if other != token[place]])
        file.write_bytes(token[:place] + bytes([byte]) + token[place + 1 :])
        states.append(check_certificate(file, made["keys"], THEN).state)
    assert len(states) == len(places) > 1000
    assert set(states) <= {"altered", "unknown key"}


def test_a_key_it_brings_itself_or_no_signature_is_not_believed(made: Any, tmp_path: Path) -> None:
    from cryptography.hazmat.primitives.asymmetric.rsa import generate_private_key

    said = claims_by_another_library(made, made["file"].read_bytes().strip())
    strange = generate_private_key(65537, 2048)
    file, short = tmp_path / "own.jwt", made["key"].fingerprint
    own = json.loads(jwt.algorithms.RSAAlgorithm.to_jwk(strange.public_key()))
    header = jwt.get_unverified_header(made["file"].read_text(encoding="ascii").strip())
    for token in (
        jwt.encode(said, strange, "RS256", headers={"kid": short}),
        jwt.encode(said, strange, "RS256", headers={"jwk": header["jwk"]}),
        jwt.encode(said, strange, "RS256", headers={"jwk": own}),
        jwt.encode(said, "", "none", headers={"kid": short}),
        jwt.encode(said, made["key"].public, "HS256", headers={"kid": short}),
        jwt.encode(said, made["key"].public, "HS256", headers={"jwk": header["jwk"]}),
    ):
        file.write_text(token, encoding="ascii")
        assert check_certificate(file, made["keys"], THEN).state == "altered"
    # Whole in itself, and signed by the key it brings: that key is nobody's here.
    token = jwt.encode(
        said, strange, "RS256", headers={"jwk": {**header["jwk"], "n": own["n"], "kid": kid_of(strange)}}
    )
    file.write_text(token, encoding="ascii")
    assert check_certificate(file, made["keys"], THEN).state == "unknown key"


def kid_of(key: Any) -> str:
    from assess.records.key_list import fingerprint

    return fingerprint(key.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo))[:16]


def test_the_command_says_whose_and_wants_a_list_of_keys(made: Any) -> None:
    assert assess("verify", made["file"]).code == 2
    ran = assess("verify", made["file"], "--keys", made["keys"], "--json")
    assert (
        ran.json["state"] in ("valid", "expired") and ran.json["whose"] and ran.code == (ran.json["state"] != "valid")
    )
