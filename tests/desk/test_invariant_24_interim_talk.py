"""An interim talk holds no level and no outcome; the same minutes are offered to every candidate."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.feedback import interim_talk, observations_of, talks
from assess.records.decision_facts import Talk
from assess.records.errors import Refusal
from tests.sample.story import Story


@pytest.fixture
def story(tmp_path: Path) -> Story:
    return Story(tmp_path)


def test_it_names_observations_and_has_no_place_for_anything_else(story: Story) -> None:
    with story.desk("D1") as desk:
        known = list(observations_of(desk, "C04"))[:2]
        interim_talk(desk, "C04", 10, known, present=("A1",), words="I felt the left ski go")
        (talk,) = talks(desk, "C04")
    assert talk.said == tuple(known)
    # What is said is a list of entries; the only words are the candidate's own, and one unused line of text.
    assert set(Talk.model_fields) == {
        "kind", "erased", "talk", "minutes", "present", "said", "copied", "text", "words",
    }  # fmt: skip
    assert talk.text is None


def test_a_score_or_another_candidates_observation_cannot_be_told(story: Story) -> None:
    with story.desk("D1") as desk:
        ledgers = [
            (led, e) for led in desk.shelf.of_kind("sheet") for e in led.entries if led.header.candidate == "C04"
        ]
        score = next(f"{led.name} {entry.n}" for led, entry in ledgers if entry.fact.kind == "score")
        other = next(iter(observations_of(desk, "C05")))
        for said in ([score], [other], ["T1.C04.A1.d7h2k 999"], []):
            with pytest.raises(Refusal, match=r"no observation|nothing is said"):
                interim_talk(desk, "C04", 10, said)


def test_other_minutes_than_the_talks_before_are_refused(story: Story) -> None:
    with story.desk("D1") as desk:
        for who in ("C01", "C02"):
            interim_talk(desk, who, 10, [next(iter(observations_of(desk, who)))])
        with pytest.raises(Refusal, match="have 10 minutes"):
            interim_talk(desk, "C03", 20, [next(iter(observations_of(desk, "C03")))])
