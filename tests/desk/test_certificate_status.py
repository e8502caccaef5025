"""The status list: whose bits are set and why, the same bytes, and no list believed but the issuer's own."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jwt
import pytest
from cryptography.hazmat.primitives.serialization import load_der_public_key

from assess.desk.certificate import certificate_file
from assess.desk.certificate_check import CertificateVerdict, check_certificate
from assess.desk.certificate_status import SIZE, place_of, status_claims, status_file
from assess.desk.deciding import decisions, sign, standing_decision
from assess.desk.feedback import release
from assess.desk.keys import OwnKey, make_key
from assess.records.errors import Refusal
from assess.records.key_list import public_bytes
from assess.store.jwt_file import read_token, sign_token
from assess.store.key_files import open_key, stored_key
from assess.store.status_bits import FEWEST, bit_at
from tests.courses import FixedClock
from tests.desk.test_certificate import PASSPHRASE, THEN, key_list
from tests.sample.story import DAY_9, Story

HOUR = 3_600_000


@pytest.fixture(scope="module")
def decided(morning: Story, tmp_path_factory: pytest.TempPathFactory) -> Path:
    story = morning.again(tmp_path_factory.mktemp("story"))
    story.clock.ms = DAY_9
    story.sign_all()
    with story.desk("D1") as desk:
        release(desk, "candidates")
    return story.root


@pytest.fixture(scope="module")
def made_keys(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, OwnKey, OwnKey]:
    """The folder of two certificate keys, and the keys."""
    folder = tmp_path_factory.mktemp("data")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("ASSESS_DATA_DIR", str(folder))
        return (folder, *(make_key(name, PASSPHRASE, certificate=True) for name in ("one", "two")))  # type: ignore[return-value]


class Place:
    """A copy of the decided course, two certificate keys of D1, and what is made with the first."""

    def __init__(self, decided: Path, made_keys: tuple[Path, OwnKey, OwnKey], folder: Path) -> None:
        self.folder = folder
        shutil.copytree(decided, folder / "course")
        self.story = Story.__new__(Story)
        self.story.root = folder / "course"
        self.story.clock = FixedClock(DAY_9 + HOUR)
        data, self.key, self.other = made_keys
        shutil.copytree(data, os.environ["ASSESS_DATA_DIR"])
        self.keys = folder / "keys.yaml"
        line = f'- {{person: D1, kind: rsa-3072, public: "{self.other.public}", from: 2026-02-01}}\n'
        self.keys.write_text(key_list(self.key.public) + line, encoding="utf-8")

    def certificate(self, candidate: str = "C01") -> Path:
        with self.story.desk("D1") as desk:
            made = certificate_file(desk, candidate, "demo", "c.jwt", "one", lambda: PASSPHRASE)
        return self._written(f"{candidate}.jwt", made.content)

    def list(self, key: str = "one") -> Path:
        with self.story.desk("D1") as desk:
            self.out = status_file(desk, "s.jwt", key, lambda: PASSPHRASE)
        return self._written("s.jwt", self.out.content)

    def sign(self, kind: Any, candidate: str = "C01") -> None:
        self.story.clock.ms += HOUR
        with self.story.desk("D1") as desk:
            sign(desk, candidate, "demo", kind=kind, reason="looked at once more")

    def check(self, file: Path, status: Path | None, keys: Path | None = None) -> CertificateVerdict:
        return check_certificate(file, keys or self.keys, THEN, status)

    def forged(self, change: Callable[[dict[str, Any]], None], key: str = "one") -> Path:
        """A list changed and signed again with a key that is listed."""
        said = read_token(self.list().read_bytes()).payload
        change(said)
        stored = stored_key(key, "rsa-3072")
        token = sign_token(open_key(stored, PASSPHRASE), stored.short, said)
        return self._written("forged.jwt", f"{token}\n".encode())

    def _written(self, name: str, content: bytes) -> Path:
        path = self.folder / name
        path.write_bytes(content)
        return path


@pytest.fixture
def place(
    decided: Path, made_keys: tuple[Path, OwnKey, OwnKey], known_passphrases: None, own_folders: Path, tmp_path: Path
) -> Place:
    return Place(decided, made_keys, tmp_path)


def claims(place: Place, file: Path) -> Any:
    public = load_der_public_key(public_bytes(place.key.public))
    no_clock = {"verify_exp": False, "verify_nbf": False}
    token = file.read_text(encoding="ascii").strip()
    return jwt.decode(token, public, algorithms=["RS256"], options=no_clock)  # type: ignore[arg-type]


def test_another_library_accepts_the_list_and_reads_what_the_standard_asks_for(place: Place) -> None:
    certificate, listed = claims(place, place.certificate()), claims(place, place.list())
    entry, subject = certificate["credentialStatus"], listed["credentialSubject"]
    assert (entry["type"], entry["statusPurpose"]) == ("BitstringStatusListEntry", "revocation")
    assert entry["statusListCredential"] == listed["id"] == listed["jti"]
    assert listed["type"] == ["VerifiableCredential", "BitstringStatusListCredential"]
    assert (subject["type"], subject["statusPurpose"]) == ("BitstringStatusList", "revocation")
    assert listed["iss"] == listed["issuer"]["id"] == certificate["iss"]
    assert FEWEST <= SIZE and bit_at(subject["encodedList"], SIZE - 1) is False
    assert listed["validFrom"].startswith("2026-02-10T")
    assert (place.out.audience, place.out.private) == ("anyone", False)
    with place.story.desk("D1") as desk:
        names = [person.name for person in desk.people.candidates]
    assert names and not any(name in json.dumps(listed, ensure_ascii=False) for name in names)


def test_the_same_record_gives_the_same_bytes_and_the_date_is_that_of_the_newest_decision(place: Place) -> None:
    first = place.list().read_bytes()
    place.story.clock.ms += 100 * HOUR
    assert place.list().read_bytes() == first
    place.sign("suspend")
    assert place.list().read_bytes() != first
    with place.story.desk("D1") as desk:
        newest = standing_decision(desk, "C01", "demo")
    assert newest is not None and claims(place, place.folder / "s.jwt")["validFrom"] == f"{newest.at[:19]}Z"


@pytest.mark.parametrize("kind", ["suspend", "withdraw", "void"])
def test_a_grant_taken_back_is_withdrawn_and_no_other_is(place: Place, kind: str) -> None:
    mine, theirs = place.certificate("C01"), place.certificate("C05")
    before = place.check(mine, place.list())
    assert before.state == "valid" and f"not withdrawn as of {before.as_of}" in before.why and before.as_of
    place.sign(kind)
    listed = place.list()
    gone, stays = place.check(mine, listed), place.check(theirs, listed)
    assert gone.state == "withdrawn" and gone.as_of in gone.why and gone.whose
    assert (stays.state, stays.as_of) == ("valid", gone.as_of)
    assert "1 of " in place.out.what


def test_a_new_grant_withdraws_the_old_certificate_and_has_a_place_of_its_own(place: Place) -> None:
    old = place.certificate()
    place.sign("grant")
    kept = old.rename(place.folder / "old.jwt")
    new, listed = place.certificate(), place.list()
    assert (place.check(kept, listed).state, place.check(new, listed).state) == ("withdrawn", "valid")
    places = [claims(place, file)["credentialStatus"]["statusListIndex"] for file in (kept, new)]
    assert len(set(places)) == 2


def test_a_renewal_withdraws_nothing_until_what_it_renews_is_taken_back(place: Place) -> None:
    file = place.certificate()
    place.sign("renew")
    assert place.check(file, place.list()).state == "valid"
    place.sign("suspend")
    assert place.check(file, place.list()).state == "withdrawn"


def test_a_grant_by_somebody_who_is_no_director_any_more_is_withdrawn(place: Place) -> None:
    file = place.certificate()
    course = place.story.root / "course.yaml"
    text = course.read_text(encoding="utf-8")
    assert "directors: [D1, D2]" in text
    course.write_text(text.replace("directors: [D1, D2]", "directors: [D2]"), encoding="utf-8")
    with place.story.desk("D2") as desk:
        content = status_file(desk, "s.jwt", "one", lambda: PASSPHRASE).content
    listed = place.folder / "s.jwt"
    listed.write_bytes(content)
    assert place.check(file, listed).state == "withdrawn"


def test_without_a_list_it_says_that_only_the_issuers_list_can_tell(place: Place) -> None:
    file = place.certificate()
    place.sign("withdraw")
    found = place.check(file, None)
    assert found.state == "valid" and "only its issuer's status list can tell" in found.why and not found.as_of


def test_a_list_that_was_changed_in_any_part_is_refused(place: Place) -> None:
    file, whole = place.certificate(), place.list().read_bytes().strip()
    listed, seen = place.folder / "s.jwt", 0
    for at in range(0, len(whole), 23):
        letter = b"A" if whole[at : at + 1] != b"A" else b"B"
        listed.write_bytes(whole[:at] + letter + whole[at + 1 :])
        assert place.check(file, listed).state == "list refused", at
        seen += 1
    assert seen > 50


def test_a_list_of_another_key_course_or_purpose_and_what_is_no_list_are_refused(place: Place, tmp_path: Path) -> None:
    file = place.certificate()

    def other_list(said: dict[str, Any]) -> None:
        said["id"] = said["jti"] = "urn:uuid:00000000-0000-5000-8000-000000000000"

    def other_purpose(said: dict[str, Any]) -> None:
        said["credentialSubject"]["statusPurpose"] = "suspension"

    def contradicts(said: dict[str, Any]) -> None:
        said["nbf"] += 1

    def short(said: dict[str, Any]) -> None:
        said["credentialSubject"]["encodedList"] = "uAAAA"

    for status, why in (
        (lambda: place.list("two"), "another issuer"),
        (lambda: place.forged(lambda said: None, "two"), "another issuer"),
        (lambda: place.forged(other_list), "another than the certificate names"),
        (lambda: place.forged(other_purpose), "another than the certificate names"),
        (lambda: place.forged(contradicts), "contradict"),
        (lambda: place.forged(short), "lacks"),
        (lambda: file, "no status list"),
    ):
        found = place.check(file, status())
        assert found.state == "list refused" and why in found.why, why
    only_two = tmp_path / "two.yaml"
    only_two.write_text(key_list(place.other.public), encoding="utf-8")
    assert place.check(file, place.list(), only_two).state == "unknown key"


def test_a_list_older_than_the_certificate_tells_nothing(place: Place) -> None:
    old = place.list().read_bytes()
    place.sign("grant")
    new = place.certificate()
    listed = place.folder / "old.jwt"
    listed.write_bytes(old)
    found = place.check(new, listed)
    assert found.state == "list refused" and "older than the certificate" in found.why


def test_a_list_signed_after_its_key_was_revoked_is_refused(place: Place, tmp_path: Path) -> None:
    file = place.certificate()
    place.story.clock.ms += 24 * HOUR
    place.sign("suspend", "C05")
    keys = tmp_path / "revoked.yaml"
    keys.write_text(key_list(place.key.public, ", revoked: 2026-02-11"), encoding="utf-8")
    found = place.check(file, place.list(), keys)
    assert (found.state, found.why) == ("list refused", "the key of the status list is revoked from 2026-02-11 on")


def test_a_list_is_no_certificate(place: Place) -> None:
    assert place.check(place.list(), None).state == "altered"


def test_a_place_that_two_grants_share_is_the_earlier_ones_and_the_later_is_refused_and_told_of(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    with place.story.desk("D1") as desk:
        first, second = (decisions(desk, who, "demo")[0].name for who in ("C01", "C05"))

    def crowded(course: str, decision: str) -> int:
        return 7 if decision in (first, second) else place_of(course, decision)

    monkeypatch.setattr("assess.desk.certificate_status.place_of", crowded)
    file = place.certificate("C01")
    with pytest.raises(Refusal, match="has its place in the status list"):
        place.certificate("C05")
    place.sign("suspend", "C05")
    listed = place.list()
    assert [gap for gap in place.out.missing if second in gap]
    assert place.check(file, listed).state == "valid"
    place.sign("suspend", "C01")
    assert place.check(file, place.list()).state == "withdrawn"


def test_only_a_director_makes_the_list(place: Place) -> None:
    with place.story.desk("A1") as desk, pytest.raises(Refusal, match="director"):
        status_claims(desk, place.key.fingerprint)
