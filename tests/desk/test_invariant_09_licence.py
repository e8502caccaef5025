"""Invariant 9: whose licence does not cover the slot on its day marks as a shadow: kept, shown as such, not used."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assess.desk.eligible import Separation
from assess.desk.outcomes import module_case
from assess.marking.outcome import module_result
from assess.records.licence import Licence
from tests.courses import open_desk, release
from tests.desk.test_waiving import EXPIRED, course, director, mark, safety

DAY = date(2026, 2, 2)
days = st.integers(-40, 40).map(lambda n: (DAY + timedelta(days=n)).isoformat())
entries = st.builds(
    lambda who, one, two, areas, off: Licence(
        assessor=who, activity="alpine-ski", areas=areas, valid_from=one, valid_to=two, suspended=off
    ),
    st.sampled_from(["A2", "A2", "A3"]), days, days, st.sampled_from([(), ("safety",), ("demo",)]), st.booleans(),
)  # fmt: skip


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """C01 marked 5 by A1, 2 by A2: the outcome is another with A2's sheet than without it."""
    root = course(tmp_path_factory.mktemp("licence"))
    mark(root, "A1", 5)
    mark(root, "A2", 2)
    return root


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(held=st.lists(entries, max_size=4))
def test_a_locked_sheet_counts_when_the_licence_covers_area_and_day_and_not_otherwise(
    marked: Path, held: list[Licence]
) -> None:  # fmt: skip
    """Whatever stands on record of A2; the entry that speaks last of the area and the day decides."""
    desk = director(marked)
    always = Licence(assessor="A1", activity="alpine-ski", valid_from="2025-01-01", valid_to="2027-01-01")
    desk.people = desk.people.model_copy(update={"licences": (always, *held)})
    desk.separation = Separation(desk)
    spoken = [one for one in held if one.assessor == "A2" and one.speaks_of("alpine-ski", "safety", DAY)]
    covered = bool(spoken) and not spoken[-1].suspended
    result = module_result(module_case(desk, "C01", "safety"))
    assert (result.n_sheets, result.outcome) == ((2, "third_look") if covered else (1, "passed"))
    assert [item.assessor for item in result.shadows] == ([] if covered else ["A2"])
    assert desk.folded("T6", "C01", "A2").locked
    assert ("A2" in desk.markers("T6", "C01")) is covered and "A2" in desk.seats.allocated("T6", "C01")


def test_the_sheet_of_somebody_without_a_licence_is_kept_and_in_no_result(tmp_path: Path) -> None:
    root = course(tmp_path, *EXPIRED)
    mark(root, "A1", 5)
    alone = safety(root)
    assert (alone.outcome, alone.n_sheets, alone.not_locked) == ("passed", 1, ())
    mark(root, "A2", 1)
    desk = director(root)
    assert desk.markers("T6", "C01") == ("A1",) and desk.seats.shadows("T6", "C01") == ("A2",)
    assert safety(root) == alone
    assert [(item.assessor, item.why) for item in alone.shadows] == [("A2", "the licence ended on 2026-01-31")]
    assert desk.folded("T6", "C01", "A2").locked, "what they wrote is there"
    assert desk.sight.sheet("T6", "C01", "A2")


def test_a_slot_marked_by_nobody_with_a_licence_is_not_observed(tmp_path: Path) -> None:
    root = course(tmp_path, *EXPIRED, seated="A2")
    assert not director(root).sight.slot_open("T6", "C01")
    mark(root, "A2", 5)
    found = safety(root)
    assert (found.outcome, found.open_needs) == ("open", ("T6",))
    assert director(root).sight.slot_open("T6", "C01"), "the sheet may be read, by the director too"


def test_a_shadow_sees_the_others_marks_no_sooner_than_their_own_are_locked(tmp_path: Path) -> None:
    """A waiver may let the sheet in later; its marks must be blind then too."""
    root = course(tmp_path, *EXPIRED)
    release(root)
    mark(root, "A1", 5)
    shadow = open_desk(root, "A2", device="a2a2x")
    assert shadow.sight.slot_open("T6", "C01") and not shadow.sight.sheet("T6", "C01", "A1")
    assert shadow.sight.module_word("safety", "C01") != ""
    assert shadow.slot("T6", "C01").shadow == "the licence ended on 2026-01-31"
    assert shadow.close()
    mark(root, "A2", 5)
    shadow = open_desk(root, "A2")
    assert shadow.sight.sheet("T6", "C01", "A1") and shadow.sight.module_word("safety", "C01") == ""


def test_a_breach_reported_by_somebody_whose_sheet_does_not_count_is_a_report_all_the_same(tmp_path: Path) -> None:
    root = course(tmp_path, *EXPIRED)
    mark(root, "A1", 5)
    desk = open_desk(root, "A2", device="a2a2x")
    desk.slot("T6", "C01").breach("beyond-a-closure", "past a rope", "at the knoll", "the learner")
    assert desk.close()
    assert safety(root).outcome == "open"
    assert safety(root).breach is not None
