from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from assess.records.course import Course, People
from assess.records.facts import Undo, Waiver
from assess.records.ledger import Entry, Header, Ledger
from assess.records.licence import Licence
from assess.records.separation import bars, given_waivers, licence_in_force

DAY = date(2026, 2, 2)
AT = "2026-02-02T07:00:00.000Z"


def course(**more: object) -> Course:
    whole = {
        "id": "K-1", "revision": 1, "title": "x", "activity": "gliding", "days": [DAY.isoformat(), "2026-02-03"],
        "rubrics": [], "tasks": [{"id": "T1", "area": "demo", "day": 1}, {"id": "T4", "area": "teach", "day": 2}],
        "candidates": ["C01", "C02"], "assessors": ["A1", "A2"], "directors": ["D1", "D2"],
        "allocation": [{"task": "T1", "order": 1, "candidate": "C01", "assessors": ["A1", "A2"]},
                       {"task": "T1", "order": 2, "day": 2, "candidate": "C02", "assessors": ["A1", "A2"]}],
    }  # fmt: skip
    return Course.model_validate({**whole, **more})


def people(**more: object) -> People:
    return People.model_validate({"revision": 1, "candidates": [], "assessors": [], "directors": [], **more})


def licence(assessor: str = "A1", **more: object) -> dict[str, object]:
    return {"assessor": assessor, "activity": "gliding", "valid_from": "2025-11-01", "valid_to": "2026-10-31", **more}


def told(who: People, assessor: str = "A1", task: str = "T1", candidate: str = "C01", **more: object) -> list[str]:
    return [bar.why for bar in bars(course(**more), who, assessor, task, candidate)]


@pytest.mark.parametrize(("after", "barred"), [(-1, True), (0, True), (729, True), (730, True), (731, False)])
def test_training_bars_for_730_days_after_its_end_the_last_of_them_included(after: int, barred: bool) -> None:
    ended = (DAY - timedelta(days=after)).isoformat()
    trained = people(trained=[{"assessor": "A1", "candidate": "C01", "ended": ended}])
    assert bool(told(trained)) is barred
    assert told(trained, "A2") == told(trained, candidate="C02") == []


@settings(deadline=None)
@given(st.integers(0, 2000), st.integers(-400, 2500))
def test_the_window_is_the_courses_and_is_counted_from_the_end(window: int, after: int) -> None:
    ended = (DAY - timedelta(days=after)).isoformat()
    trained = people(trained=[{"assessor": "A1", "candidate": "C01", "ended": ended}])
    assert bool(told(trained, separation_days=window)) is (after <= window)


def test_the_day_of_the_slot_counts_not_the_first_of_the_course() -> None:
    ended = (DAY - timedelta(days=730)).isoformat()
    trained = people(trained=[{"assessor": "A1", "candidate": who, "ended": ended} for who in ("C01", "C02")])
    assert told(trained, candidate="C01") != [] and told(trained, candidate="C02") == []
    assert told(trained, task="T1-2", candidate="C01") != [], "a second performance is held on its task's day"


def test_training_that_goes_on_bars_whatever_the_window() -> None:
    trained = people(trained=[{"assessor": "A1", "candidate": "C01"}])
    assert told(trained, separation_days=0) == ["they train this candidate"]


@pytest.mark.parametrize(
    ("entries", "why"),
    [
        ([licence()], None),
        ([licence(valid_to="2026-02-02")], None),
        ([licence(valid_from="2026-02-02")], None),
        ([licence(areas=["demo"])], None),
        ([licence(valid_to="2026-02-01")], "the licence ended on 2026-02-01"),
        ([licence(valid_from="2026-02-03")], "the licence begins on 2026-02-03 only"),
        ([licence(areas=["teach"])], "the licence is not for area `demo`"),
        ([licence(activity="sailing")], "the licence is not for `sailing`".replace("sailing", "gliding")),
        ([licence(suspended=True)], "the licence is suspended"),
        ([licence(), licence(suspended=True)], "the licence is suspended"),
        ([licence(suspended=True), licence()], None),
        ([licence(), licence(suspended=True, areas=["teach"])], None),
        ([licence("A2")], "no licence is on record"),
        ([], None),
    ],
)
def test_a_licence_covers_area_and_day_and_the_last_entry_that_speaks_of_them_stands(entries, why) -> None:
    assert told(people(licences=entries)) == ([] if why is None else [why])


days = st.integers(-40, 40).map(lambda n: DAY + timedelta(days=n))
entry = st.builds(
    lambda a, b, areas, off: Licence.model_validate(
        licence(valid_from=a.isoformat(), valid_to=b.isoformat(), areas=areas, suspended=off)
    ),
    days, days, st.sampled_from([[], ["demo"], ["teach"]]), st.booleans(),
)  # fmt: skip


@settings(deadline=None)
@given(st.lists(entry, max_size=5))
def test_the_bar_says_what_the_standing_entry_says(entries: list[Licence]) -> None:
    standing = licence_in_force(entries, "A1", "gliding", "demo", DAY)
    found = told(people(licences=entries))
    assert (found == []) is (not entries or (standing is not None and standing.covers("gliding", "demo", DAY)))


def test_a_day_no_calendar_has_is_refused() -> None:
    for key in ("valid_from", "valid_to", "last_calibration"):
        with pytest.raises(ValidationError, match="the calendar has no day `2026-02-30`"):
            Licence.model_validate(licence(**{key: "2026-02-30"}))


def day_ledger(by: str, *facts) -> Ledger:
    header = Header(kind="day", course="K-1", by=by, date="2026-02-02", device="d7h2k", opened=AT)
    entries = tuple(Entry(n, AT, fact, "0" * 16, n + 2) for n, fact in enumerate(facts, 1))
    return Ledger(header.name, header, entries)


def waived(**more: object) -> Waiver:
    return Waiver.model_validate({"assessor": "A1", "about": "conflict", "reason": "nobody else is there", **more})


def test_a_waiver_counts_when_a_director_gave_it_with_a_reason_and_did_not_take_it_back() -> None:
    assert len(given_waivers(course(), [day_ledger("D1", waived())])) == 1
    assert given_waivers(course(), [day_ledger("A1", waived())]) == ()
    assert given_waivers(course(), [day_ledger("D1", waived(reason=""))]) == ()
    assert given_waivers(course(), [day_ledger("D1", waived(), Undo(of=1))]) == ()
    erased = waived(reason=None, erased={"reason": "ab" * 32})
    assert len(given_waivers(course(), [day_ledger("D1", erased)])) == 1


@pytest.mark.parametrize(
    ("waiver", "covers"),
    [
        (waived(), True),
        (waived(candidate="C01"), True),
        (waived(candidate="C01", task="T1"), True),
        (waived(candidate="C02"), False),
        (waived(task="T4"), False),
        (waived(assessor="A2"), False),
        (waived(about="trained"), False),
        (waived(about="licence"), False),
    ],
)
def test_a_waiver_covers_what_it_names_and_nothing_else(waiver: Waiver, covers: bool) -> None:
    bar = bars(course(), people(conflicts=[{"assessor": "A1", "candidate": "C01", "why": "kin"}]), "A1", "T1", "C01")[0]
    assert bar.reason == "a conflict is declared: kin"
    item = given_waivers(course(), [day_ledger("D1", waiver)])[0]
    assert item.covers(course(), bar, "T1") is item.covers(course(), bar, "T1-2") is covers
