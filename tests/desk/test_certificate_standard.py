"""A certificate and its status list against the published standards; where a value is from stands beside it.

The tables of Open Badges 3.0 and of the W3C's Bitstring Status List 1.0 are in `tests/data/standards/`.
"""

from __future__ import annotations

import base64
import copy
import gzip
import json
from collections.abc import Callable
from datetime import datetime
from fractions import Fraction
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from assess.desk.certificate import certificate_claims
from assess.desk.certificate_status import place_of, status_claims
from assess.desk.deciding import sign, standing_decision
from assess.desk.feedback import release
from assess.desk.rubric_give import give_rubric
from tests.sample.story import DAY_9, Story

TABLES = json.loads((Path(__file__).parent.parent / "data" / "standards" / "open_badges_3_0.json").read_text("utf-8"))
CREDENTIAL = jsonschema.Draft202012Validator(TABLES, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER)
STATUS_LIST = CREDENTIAL.evolve(schema={**TABLES["$defs"]["BitstringStatusListCredential"], "$defs": TABLES["$defs"]})
# RFC 7519 names them; Open Badges 3.0, "JWT Payload Format", says of which property each repeats the value.
REGISTERED = ("iss", "jti", "sub", "nbf", "exp")
KID = "0123456789abcdef"


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Story:
    story = Story(tmp_path_factory.mktemp("story"))
    story.reserve_morning()
    story.clock.ms = DAY_9
    story.sign_all()
    # Once more, at an instant that is no whole second.
    story.clock.ms = DAY_9 + 3_600_480
    with story.desk("D1") as desk:
        sign(desk, "C01", "teach", reason="signed anew", valid_to="2027-02-05")
        signed = standing_decision(desk, "C01", "teach")
        assert signed is not None and not signed.at.endswith(".000Z")
        release(desk, "candidates")
    return story


@pytest.fixture(scope="module")
def whole(story: Story) -> Any:
    with story.desk("D1") as desk:
        return certificate_claims(desk, "C01", "teach", KID)


def without_claims(said: Any) -> Any:
    return {key: value for key, value in said.items() if key not in REGISTERED}


def test_it_has_what_the_tables_of_the_standard_ask_for_and_nothing_they_do_not_know(story: Story, whole: Any) -> None:
    CREDENTIAL.validate(without_claims(whole))
    with story.desk("D1") as desk:
        brief = certificate_claims(desk, "C01", "teach", KID, brief=True)
        granted = [
            (who, module)
            for who in desk.course.candidates
            for module in ("demo", "teach", "safety")
            if (signed := standing_decision(desk, who, module)) and signed.fact.decision == "grant"
        ]
        for who, module in granted:
            CREDENTIAL.validate(without_claims(certificate_claims(desk, who, module, KID)))
    assert len(granted) > 10
    CREDENTIAL.validate(without_claims(brief))
    assert len(brief["credentialSubject"]["result"]) == 1 and "narrative" not in brief["credentialSubject"]
    assert brief["id"] != whole["id"] and brief["credentialStatus"] == whole["credentialStatus"]


def test_each_registered_claim_repeats_its_property(whole: Any) -> None:
    subject = whole["credentialSubject"]
    assert (whole["iss"], whole["jti"], whole["sub"]) == (whole["issuer"]["id"], whole["id"], subject["id"])
    # "The NumericDate value MUST be converted to a DateTime, and MUST equal the validFrom", also of an act at 7.480 s.
    assert (whole["nbf"], whole["exp"]) == tuple(moment(whole[key]) for key in ("validFrom", "validUntil"))
    assert moment(whole["validFrom"]) % 1 == 0


def moment(text: str) -> float:
    return datetime.fromisoformat(text).timestamp()


def _drop(*path: Any) -> Callable[[Any], None]:
    def change(said: Any) -> None:
        for key in path[:-1]:
            said = said[key]
        del said[path[-1]]

    return change


def _put(value: Any, *path: Any) -> Callable[[Any], None]:
    def change(said: Any) -> None:
        for key in path[:-1]:
            said = said[key]
        said[path[-1]] = value

    return change


ACHIEVEMENT = ("credentialSubject", "achievement")


@pytest.mark.parametrize(
    "change",
    [
        _drop("name"), _drop("issuer"), _drop("credentialSubject", "id"), _drop(*ACHIEVEMENT, "criteria"),
        _put("Marks", *ACHIEVEMENT, "resultDescription", 1, "resultType"),
        _put("Name", "credentialSubject", "identifier", 0, "identityType"),
        _put(4, "credentialSubject", "result", 1, "value"), _put("2026-02-10", "validFrom"),
        _put(17, "credentialStatus", "statusListIndex"), _put("Result", "credentialSubject", "result", 0, "type"),
        _put("our own", "credentialSubject", "assessors"), _drop("@context", 1),
    ],
)  # fmt: skip
def test_the_tables_find_what_is_not_as_they_say(whole: Any, change: Callable[[Any], None]) -> None:
    said = copy.deepcopy(without_claims(whole))
    change(said)
    assert not CREDENTIAL.is_valid(said)


# --- the criteria --------------------------------------------------------------------------------


def test_every_result_belongs_to_a_description_and_every_level_to_it_and_to_the_rubric_as_given_out(
    story: Story, whole: Any
) -> None:
    with story.desk("D1") as desk:
        rubric = give_rubric(desk.rubric_for("T4")).package.CFRubrics
    assert rubric
    given = {item.uri: item for item in rubric[0].CFRubricCriteria or ()}
    described = {item["id"]: item for item in whole["credentialSubject"]["achievement"]["resultDescription"]}
    mean, *criteria = whole["credentialSubject"]["result"]
    assert described[mean["resultDescription"]]["resultType"] == "Result" and len(criteria) >= 6
    for result in criteria:
        about = described[result["resultDescription"]]
        (alignment,) = about["alignment"]
        # "An alignment to a CASE Framework Rubric Criterion": AlignmentTargetType of the data model.
        assert (about["resultType"], alignment["targetType"]) == ("RubricCriterion", "CFRubricCriterion")
        levels = {level["id"]: level for level in about["rubricCriterionLevel"]}
        ours = given[alignment["targetUrl"]].CFRubricCriterionLevels or ()
        assert [level.uri for level in ours] == list(levels)
        # "Ordered from low to high", and a value "within the range of valueMin to valueMax".
        steps = [int(level["level"]) for level in levels.values()]
        assert steps == sorted(steps)
        assert float(about["valueMin"]) <= float(result["value"]) <= float(about["valueMax"])
        if "achievedLevel" in result:
            assert float(levels[result["achievedLevel"]]["level"]) == float(result["value"])


def test_a_value_is_the_mean_of_all_markers_over_the_tasks_worked_out_from_the_sheets(story: Story, whole: Any) -> None:
    with story.desk("D1") as desk:
        rubric = desk.rubric_for("T4")
        tasks = [slot for slot in desk.course.allocation if slot.candidate == "C01" and slot.task in ("T4", "T5")]
        held: dict[str, list[list[Fraction]]] = {}
        for slot in tasks:
            sheets = [desk.folded(slot.task, "C01", who) for who in slot.assessors]
            for name in desk.task(slot.task).criteria:
                marks = [sheet.mark(name).value for sheet in sheets]
                held.setdefault(rubric.criteria[name].label, []).append([mark for mark in marks if mark is not None])
    said = whole["credentialSubject"]
    names = {item["id"]: item["name"] for item in said["achievement"]["resultDescription"]}
    told = {names[item["resultDescription"]]: item for item in said["result"][1:]}
    assert set(told) == set(held)
    for label, by_task in held.items():
        mean = sum((sum(marks) / Fraction(len(marks)) for marks in by_task), Fraction(0)) / len(by_task)
        assert abs(Fraction(told[label]["value"]) - mean) <= Fraction(1, 100)
        assert ("achievedLevel" in told[label]) == (mean.denominator == 1)
        assert f"{label} {sum(map(len, by_task))}" in said["narrative"]


def test_it_names_its_holder_and_nobody_else(story: Story, whole: Any) -> None:
    told = json.dumps(whole, ensure_ascii=False)
    with story.desk("D1") as desk:
        people = desk.people
        others = [*people.assessors, *people.directors, *(one for one in people.candidates if one.id != "C01")]
        assert len(others) > 10 and next(one.name for one in people.candidates if one.id == "C01") in told
        assert [one.name for one in others if one.name in told] == []


# --- the status list -----------------------------------------------------------------------------


def bits_of(encoded: str) -> bytes:
    """By the words of the standard alone: Multibase base64url without padding (`u`), then GZIP (RFC 1952)."""
    assert encoded[0] == "u" and "=" not in encoded
    return gzip.decompress(base64.urlsafe_b64decode(encoded[1:] + "=" * (-(len(encoded) - 1) % 4)))


def bit(bits: bytes, index: int) -> str:
    """ "The first index, with a value of zero, is located at the left-most bit": as a text of 0 and 1, read by eye."""
    return format(bits[index // 8], "08b")[index % 8]


def test_the_decoder_reads_the_example_of_the_standard() -> None:
    # W3C, Bitstring Status List v1.0, "Example BitstringStatusListCredential": nothing is set, 16 kB.
    example = "uH4sIAAAAAAAAA-3BMQEAAADCoPVPbQwfoAAAAAAAAAAAAAAAAAAAAIC3AYbSVKsAQAAA"
    assert bits_of(example) == bytes(16 * 1024)
    from assess.store.status_bits import bit_at

    assert not bit_at(example, 0) and not bit_at(example, 131_071)
    with pytest.raises(ValueError, match="not in the list"):
        bit_at(example, 131_072)


def test_a_list_is_as_the_standard_says_and_an_independent_decoder_finds_who_was_withdrawn(story: Story) -> None:
    with story.desk("D1") as desk:
        grants = {who: standing_decision(desk, who, "demo") for who in ("C01", "C05")}
        listed, gone = status_claims(desk, KID)
        places = {who: place_of(desk.course.id, signed.name) for who, signed in grants.items() if signed}
        # The grant that was signed anew in its place is the one that is gone.
        assert len(places) == 2 and gone == 1
        STATUS_LIST.validate(without_claims(listed))
        bits = bits_of(listed["credentialSubject"]["encodedList"])
        # "The uncompressed bitstring MUST be at least 16KB in size."
        assert len(bits) >= 16 * 1024 and [bit(bits, place) for place in places.values()] == ["0", "0"]
        assert sum(byte.bit_count() for byte in bits) == 1
        entry = certificate_claims(desk, "C05", "demo", KID)["credentialStatus"]
        assert (entry["statusListIndex"], entry["statusListCredential"]) == (str(places["C05"]), listed["id"])
        # "It MUST NOT be the URL for the status list."
        assert entry["id"] != listed["id"]
    story.clock.ms += 3_600_000
    with story.desk("D1") as desk:
        sign(desk, "C05", "demo", kind="withdraw", reason="a complaint was upheld")
        bits = bits_of(status_claims(desk, KID)[0]["credentialSubject"]["encodedList"])
    assert (bit(bits, places["C05"]), bit(bits, places["C01"])) == ("1", "0")
    assert sum(byte.bit_count() for byte in bits) == 2
    story.clock.ms += 3_600_000
    with story.desk("D1") as desk:
        sign(desk, "C01", "demo", kind="renew", reason="two days of training", valid_to="2030-12-31")
        renewed = certificate_claims(desk, "C01", "demo", KID)
    CREDENTIAL.validate(without_claims(renewed))
    (result,) = renewed["credentialSubject"]["result"]
    # A renewal rests on no numbers; "Required if resultType of the linked ResultDescription is Status".
    assert result["status"] == "Completed" and "value" not in result
