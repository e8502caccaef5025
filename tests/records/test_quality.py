"""A quality file: when a report is due, what is late, and what no such file may say."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from assess.records.quality import Groups, QualityFile, months_after

DAYS = st.dates(date(1990, 1, 1), date(2150, 12, 31))


def plan(**more: Any) -> QualityFile:
    return QualityFile.model_validate({"interval_months": 12, "first_due": "2025-10-01", **more})


def review(on: str, *actions: dict[str, str]) -> dict[str, Any]:
    return {"on": on, "by": "D1", "found": "pairs differ", "actions": list(actions)}


def said(quality: QualityFile, on: str) -> list[str]:
    return [str(item) for item in quality.overdue(date.fromisoformat(on))]


# --- months ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "months", "after"),
    [
        ("2026-01-31", 1, "2026-02-28"),
        ("2028-01-31", 1, "2028-02-29"),
        ("2024-02-29", 12, "2025-02-28"),
        ("2025-10-01", 12, "2026-10-01"),
        ("2025-11-15", 3, "2026-02-15"),
        ("2025-12-31", 120, "2035-12-31"),
    ],
)
def test_months_later_is_the_same_day_or_the_last_of_the_month(day: str, months: int, after: str) -> None:
    assert months_after(date.fromisoformat(day), months) == date.fromisoformat(after)


@given(DAYS, st.integers(1, 120))
def test_so_many_months_later_is_the_month_so_many_further_and_never_a_later_day_of_it(day: date, months: int) -> None:
    after = months_after(day, months)
    assert (after.year - day.year) * 12 + after.month - day.month == months
    assert after.day == day.day or (after.day < day.day and (after + timedelta(days=1)).day == 1)


@given(DAYS, st.integers(1, 119))
def test_more_months_are_later(day: date, months: int) -> None:
    assert months_after(day, months) < months_after(day, months + 1)


# --- what is late ------------------------------------------------------------------------------


def test_before_the_first_report_the_day_written_down_counts_and_on_that_day_nothing_is_late() -> None:
    assert said(plan(), "2025-10-01") == []
    assert said(plan(), "2025-10-02") == ["quality report overdue since 2025-10-01"]


def test_after_a_report_the_interval_counts_from_the_latest_whatever_their_order_in_the_file() -> None:
    quality = plan(reviews=[review("2025-10-01"), review("2024-10-02")])
    assert quality.due == date(2026, 10, 1)
    assert said(quality, "2026-10-01") == []
    assert said(quality, "2026-11-30") == ["quality report overdue since 2026-10-01"]


def test_an_action_not_done_by_its_day_is_late_and_a_done_one_is_not() -> None:
    late = {"what": "second round for pair 2", "who": "D2", "due": "2026-01-15"}
    done = {"what": "descriptors reworded", "due": "2026-01-10", "done": "2026-02-01"}
    quality = plan(reviews=[review("2025-10-01", late, done)])
    assert said(quality, "2026-01-15") == []
    assert said(quality, "2026-01-16") == [
        "corrective action overdue since 2026-01-15: second round for pair 2 (D2)",
    ]


def test_a_threat_is_open_until_treated_and_late_when_its_review_is_over() -> None:
    threat = {"kind": "employer", "text": "two assessors work for one school", "found": "2025-12-01"}
    quality = plan(
        first_due="2030-01-01",
        threats=[{**threat, "review": "2026-02-01"}, {**threat, "kind": "relative", "treated": "2025-12-05"}],
    )
    assert [item.kind for item in quality.open_threats] == ["employer"]
    assert said(quality, "2026-02-02") == [
        "review of a threat to impartiality overdue since 2026-02-01: employer, two assessors work for one school"
    ]


@given(st.lists(DAYS, min_size=1, max_size=5), st.integers(1, 120), DAYS)
def test_what_is_late_today_is_late_tomorrow(days: list[date], months: int, today: date) -> None:
    quality = plan(interval_months=months, reviews=[review(day.isoformat()) for day in days])
    assert set(quality.overdue(today)) <= set(quality.overdue(today + timedelta(days=1)))
    assert all(item.since < today for item in quality.overdue(today))


# --- what may not stand there ------------------------------------------------------------------

LINE = {
    "rubric": "r-2026.1", "line": "3.5", "method": "contrasting groups", "panel": ["D1", "three assessors"],
    "days": ["2025-06-01"], "rounds": 2, "spread": "0.2", "approved_by": "board", "approved_on": "2025-07-01",
}  # fmt: skip


def test_a_record_of_a_pass_line_is_read_exactly() -> None:
    [record] = plan(pass_lines=[LINE]).pass_lines
    assert (str(record.line), str(record.spread), record.rounds) == ("7/2", "1/5", 2)


@pytest.mark.parametrize(
    "wrong",
    [
        {"interval_months": 0},
        {"first_due": "2025-02-30"},
        {"first_due": "9999-01-01"},
        {"courses": ["../elsewhere"]},
        {"courses": ["a/b"]},
        {"courses": []},
        {"pass_lines": [{**LINE, "line": 3.5}]},
        {"pass_lines": [{**LINE, "panel": []}]},
        {"pass_lines": [{key: value for key, value in LINE.items() if key != "approved_by"}]},
        {"threats": [{"kind": "bad luck", "text": "x", "found": "2025-01-01"}]},
        {"done": "yes"},
    ],
)
def test_what_is_no_plan_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        plan(**wrong)


@pytest.mark.parametrize("attempt", ["C04", "K-1/", "/C04", "K 1/C04", "K-1/C04/x", "../C04"])
def test_an_attempt_names_a_course_and_a_candidate(attempt: str) -> None:
    person = {"id": "p1", "attempts": [attempt], "groups": {"first-language": "other"}}
    with pytest.raises(ValidationError):
        Groups.model_validate({"asked": "by form", "persons": [person]})
