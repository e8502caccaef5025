"""A film is used for what was agreed to, as long as it was, and no longer once it is taken back."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from assess.records.consents import why_not_shown
from assess.records.course import People

DAY = date(2027, 2, 3)


def people(*consents: dict[str, Any]) -> People:
    return People.model_validate(
        {
            "revision": 1, "candidates": [{"id": "C01", "name": "x", "bib": 1}], "assessors": [], "directors": [],
            "learners": [{"id": "L1", "alias": "Wren", "kind": "child"}], "consents": list(consents),
        }
    )  # fmt: skip


C01 = {"who": "C01", "film": True, "at": "2027-02-01"}


@pytest.mark.parametrize(
    ("consents", "use", "clip", "why"),
    [
        ([], "assess", "", "C01 has not agreed to films"),
        ([{"who": "C01", "lesson": True}], "assess", "", "C01 has not agreed to films"),
        ([C01], "assess", "", ""),
        ([C01], "assess", "t1-c01.mp4", ""),
        ([C01], "train", "", "C01 has not agreed to films for training assessors"),
        ([{**C01, "scope": ["train", "publish"]}], "publish", "", ""),
        ([{**C01, "scope": ["train"]}], "assess", "", "C01 has not agreed to films for assessing"),
        ([{**C01, "until": "2027-02-03"}], "assess", "", ""),
        ([{**C01, "until": "2027-02-02"}], "assess", "", "C01 had agreed until 2027-02-02"),
        ([{**C01, "withdrawn": "2027-02-03"}], "assess", "", "C01 has withdrawn on 2027-02-03"),
        ([C01, {**C01, "withdrawn": "2027-02-02"}], "assess", "", "C01 has withdrawn on 2027-02-02"),
        ([{**C01, "withdrawn": "2027-02-02"}, {**C01, "at": "2027-02-03"}], "assess", "", ""),
        ([{**C01, "withdrawn": "2027-02-04"}], "assess", "", ""),
        ([{**C01, "clip": "a.mp4"}], "assess", "b.mp4", "C01 has not agreed to films"),
        ([C01, {**C01, "clip": "b.mp4", "withdrawn": "2027-02-02"}], "assess", "a.mp4", ""),
        ([{**C01, "clip": "b.mp4", "withdrawn": "2027-02-02"}], "assess", "b.mp4", "C01 has withdrawn on 2027-02-02"),
    ],
)  # fmt: skip
def test_a_film_may_be_used_as_far_as_was_agreed(consents: list[Any], use: Any, clip: str, why: str) -> None:
    assert why_not_shown(people(*consents), "C01", use, DAY, clip) == why


def test_for_a_child_a_guardian_agrees() -> None:
    child = {"who": "L1", "film": True}
    assert why_not_shown(people(child), "L1", "assess", DAY) == "L1 is a child, and no guardian has agreed"
    assert why_not_shown(people({**child, "by": "guardian"}), "L1", "assess", DAY) == ""
    assert why_not_shown(people({**child, "guardian": "mother"}), "L1", "assess", DAY) == ""
