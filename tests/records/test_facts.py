from __future__ import annotations

import pytest
from pydantic import ValidationError

from assess.records.fact import Fact
from assess.records.facts import FREE_TEXT, FromCard, Observation, Score
from assess.records.ledger import Header, fact_from, kinds_allowed, why_invalid


def test_a_score_is_written_with_its_run_criterion_and_status() -> None:
    score = Score(criterion="edging", level=3)
    assert score.payload() == {"kind": "score", "pass": 1, "criterion": "edging", "status": "scored", "level": 3}
    assert fact_from(score.payload()) == score


@pytest.mark.parametrize("key", ["n", "at", "salt", "chain"])
def test_no_fact_has_a_key_of_the_entry_around_it(key: str) -> None:
    with pytest.raises(TypeError, match=f"Odd: {key} is a key of every entry"):
        type("Odd", (Fact,), {"__annotations__": {key: "int | None"}, key: None, "__module__": __name__})


def test_an_erased_text_leaves_its_digest_and_is_written_as_it_was_read() -> None:
    written = {"kind": "observation", "text_sha": "ab" * 32, "criteria": ["edging"]}
    fact = fact_from(dict(written))
    assert isinstance(fact, Observation) and fact.text is None and fact.erased == {"text": "ab" * 32}
    assert fact.payload() == {"kind": "observation", "criteria": ["edging"], "text_sha": "ab" * 32}


def test_an_unknown_key_is_refused_without_quoting_a_value() -> None:
    with pytest.raises(ValidationError) as caught:
        fact_from({"kind": "score", "criterion": "edging", "level": "secret-level", "mark": 5})
    said = " ".join(why_invalid(caught.value))
    assert "level" in said and "mark" in said and "secret" not in said


def test_a_day_ledger_holds_no_score_and_a_sheet_no_morning() -> None:
    assert "score" not in kinds_allowed("day") and "morning" not in kinds_allowed("sheet")
    assert {"undo", "clock"} <= kinds_allowed("sheet") & kinds_allowed("day") & kinds_allowed("decision")


def test_the_name_of_a_ledger_is_read_off_its_header() -> None:
    header = Header(
        kind="sheet", course="K", task="T1", candidate="C04", assessor="A2", rubric="sha256:" + "0" * 64,
        device="d7h2k", opened="2027-02-03T08:58:11.000Z",
    )  # fmt: skip
    assert header.name == "T1.C04.A2.d7h2k"
    assert header.author == "A2"


def test_a_sheet_header_without_its_assessor_is_refused() -> None:
    with pytest.raises(ValidationError, match="assessor"):
        Header(kind="sheet", course="K", task="T1", candidate="C04", device="d7h2k", opened="2027-02-03T08:58:11.000Z")


def test_every_free_text_key_is_a_field_of_some_fact() -> None:
    from assess.records import facts

    fields = {name for item in vars(facts).values() if isinstance(item, type) and issubclass(item, facts.Fact)
              for name in item.model_fields}  # fmt: skip
    assert sorted(FREE_TEXT - fields) == []


def test_where_a_sheet_was_copied_from_is_read_as_written() -> None:
    card = FromCard(card="52764", on_the_hill="09:46")
    assert card.payload() == {"kind": "from-card", "card": "52764", "on_the_hill": "09:46"}
    assert fact_from(card.payload()) == card and "from-card" in kinds_allowed("sheet")
    assert FromCard(card="52764").payload() == {"kind": "from-card", "card": "52764"}
    for wrong in ({"card": "5276"}, {"card": "52764", "on_the_hill": "24:00"}):
        with pytest.raises(ValueError, match=r"card|on_the_hill"):
            FromCard.model_validate(wrong)
