"""The quality report: what it says of two courses, what it names as missing, whom it refuses, and what it hides."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from assess.cli.quality_lines import quality_lines
from assess.desk.quality import QualityReport, day_from, quality_report
from assess.desk.quality_clauses import CLAUSES, FIRST_LINE
from assess.desk.quality_json import quality_document
from assess.records.errors import InputError, Refusal, UsageError
from tests.cli.commands import tree
from tests.courses import build_course, open_desk
from tests.desk.quality_courses import PLAN, groups_file, two_courses
from tests.sample.story import Story

DAY = date(2026, 11, 30)


@pytest.fixture(scope="module")
def courses(tmp_path_factory) -> tuple[Path, Path]:
    return two_courses(tmp_path_factory.mktemp("house"))


@pytest.fixture
def house(courses: tuple[Path, Path]) -> Iterator[Path]:
    """The folder of both courses, with a quality file."""
    folder = courses[0].parent
    (folder / "quality.yaml").write_text(PLAN, encoding="utf-8")
    yield folder
    for name in ("quality.yaml", "groups.yaml"):
        (folder / name).unlink(missing_ok=True)


def report(*paths: Path, who: str = "D1", **more: Any) -> QualityReport:
    return quality_report(paths, who, on=more.pop("on", DAY), replicates=100, **more)


def text(found: QualityReport) -> str:
    return " ".join(line.strip() for line in quality_lines(found))


# --- what it says --------------------------------------------------------------------------------------


def test_the_first_line_says_that_nothing_is_conform_by_this(house: Path) -> None:
    found = report(house)
    assert text(found).startswith(FIRST_LINE)
    assert "makes no body conform" in FIRST_LINE
    assert quality_document(found)["note"] == FIRST_LINE


def test_a_house_is_looked_at_together_and_every_figure_has_its_n(house: Path) -> None:
    found = report(house)
    assert [(one.id, one.candidates, one.turns_used, one.turns) for one in found.courses] == [
        ("K-1", 12, 12, 12), ("K-2", 12, 12, 12),
    ]  # fmt: skip
    [module] = found.reliability
    assert (module.module, module.sheet_error.n, module.sheet_error.n_candidates) == ("safety", 24, 24)
    # Eight pairs a quarter of a level apart, sixteen alike: sqrt(8 / 16 / 2 / 24).
    assert module.sheet_error.estimate == pytest.approx((8 / 16 / 48) ** 0.5)
    assert module.mean_error == pytest.approx((8 / 16 / 48) ** 0.5 / 2**0.5)
    [again] = found.again
    assert again.again.overall.n == 24 and again.again.overall.estimate is not None
    assert again.again.overall.estimate > 0.95 and again.again.near.undefined is not None
    said = text(found)
    for part in ("24 turns marked twice, 24 candidates", "24 candidates)", "not estimable (n=0)", "95 % interval"):
        assert part in said


def test_assessors_are_named_by_id_and_never_by_name(house: Path) -> None:
    found = report(house)
    assert found.assessors is not None
    assert [rater.id for course in found.assessors.raters.courses for rater in course.raters] == [
        "A1",
        "A2",
        "A1",
        "A2",
    ]
    everything = text(found) + json.dumps(quality_document(found))
    assert "Marker A1" not in everything and "Person 1" not in everything and "Director One" not in everything
    assert "Never a sanction" in text(found)


def test_every_part_names_its_clause_and_what_is_from_memory(house: Path) -> None:
    said = text(report(house))
    assert (
        "ISO/IEC 17024:2012 9.3.5" in said
        and "6.2.2.2, from memory" in said
        and "5.21 to 5.23, 11.16, from memory" in said
    )
    told = {(clause.source, clause.number): clause.from_memory for held in CLAUSES.values() for clause in held}
    checked = [key for key, memory in told.items() if not memory]
    assert checked == [("ISO/IEC 17024:2012", "9.3.5"), ("29 CFR", "1607.4 D")]


def test_the_same_report_again_is_the_same_to_the_last_digit_and_writes_nothing(house: Path) -> None:
    before = tree(house)
    first = json.dumps(quality_document(report(house)))
    assert json.dumps(quality_document(report(house))) == first
    courses = [house / "winter-2", house / "winter-1"]
    assert json.dumps(quality_document(report(*courses)))[:400] == first[:400]
    assert tree(house) == before


# --- what is overdue or missing ------------------------------------------------------------------------


def test_overdue_stands_first_and_nothing_to_do_is_said(house: Path) -> None:
    late = report(house)
    assert late.findings == ("quality report overdue since 2025-10-01",)
    assert late.due == date(2025, 10, 1)
    assert report(house, on=date(2025, 10, 1)).findings == ()
    assert "Nothing is overdue or missing." in text(report(house, on=date(2025, 10, 1)))


@pytest.mark.parametrize(
    ("old", "new", "state"),
    [
        ("r-2026.1", "r-2025.9", "missing"),
        ('line: "3.5"', 'line: "3.25"', "another line"),
        ("  line:", f"  sha256: '{'0' * 64}'\n  line:", "missing"),
        ("x", "x", "recorded"),
    ],
)
def test_a_rubric_without_the_record_of_its_line_is_named(house: Path, old: str, new: str, state: str) -> None:
    (house / "quality.yaml").write_text(PLAN.replace(old, new), encoding="utf-8")
    found = report(house, on=date(2025, 9, 1))
    [line] = found.pass_lines
    assert (line.rubric, line.state, line.courses) == ("r-2026.1", state, ("K-1", "K-2"))
    assert len(found.findings) == (state != "recorded")
    assert all("r-2026.1" in said for said in found.findings)
    if state == "recorded":
        assert "spread by 0.25 levels" in line.sentence and "2 rounds on 2025-06-01 and 2025-06-15" in line.sentence


def test_without_a_quality_file_the_report_is_made_and_says_so(courses: tuple[Path, Path]) -> None:
    found = report(courses[0])
    assert found.files == () and found.due is None
    assert found.findings[0].startswith("no quality.yaml covers these courses")
    assert [line.state for line in found.pass_lines] == ["missing"]


def test_an_open_threat_is_to_be_done_and_a_treated_one_is_told(house: Path) -> None:
    threats = (
        "threats:\n"
        '- {kind: employer, text: "A1 works for one school", found: 2025-08-01}\n'
        '- {kind: familiarity, text: "A2 knows all", found: 2025-08-01, treatment: two markers, treated: 2025-08-02}\n'
    )
    (house / "quality.yaml").write_text(PLAN + threats, encoding="utf-8")
    found = report(house, on=date(2025, 9, 1))
    assert found.findings == ("open threat to impartiality: employer, A1 works for one school",)
    assert "1 open, 1 treated" in text(found) and "two markers" in text(found)


# --- waivers and conflicts -----------------------------------------------------------------------------


def test_waivers_are_counted_with_the_turns_they_let_somebody_mark(tmp_path: Path) -> None:
    root = build_course(
        tmp_path / "course", tasks=("T6",), conflicts=('- {assessor: A1, candidate: C01, why: "a cousin"}',)
    )
    before = report(root)
    assert before.separation.conflicts == 1
    assert before.separation.standing == ("K-TEST T6.C01 A1: a conflict is declared",)
    assert any("will count for nothing" in said for said in before.findings)
    desk = open_desk(root, "D1")
    from assess.records.facts import Waiver

    desk.day_book.append(Waiver(assessor="A1", candidate="C01", about="conflict", reason="nobody else was there"))
    assert desk.close()
    after = report(root)
    assert after.separation.standing == () and dict(after.separation.waived) == {"conflict": 1}
    [waiver] = after.separation.waivers
    assert (waiver.assessor, waiver.candidate, waiver.by, waiver.turns) == ("A1", "C01", "D1", 1)
    assert "nobody else was there" in text(after) and "a cousin" not in text(after)


# --- groups --------------------------------------------------------------------------------------------


def test_groups_are_rates_in_exact_fractions_over_both_courses(house: Path) -> None:
    found = report(house, groups=groups_file(house))
    assert found.groups is not None
    table = {grouping.name: grouping for grouping in found.groups.groupings}
    assert (found.groups.n_persons, found.groups.n_courses) == (23, 2)
    # C01 to C06 are left: 3 pass in the first course, 4 in the second, of whom C01 passes there only; p1-1 counts once,
    # as K-1/C01, who did not pass, though K-2/C12 did. C07 to C12 are right: 3 of 6 and 2 of 5.
    assert [(rate.group, rate.rate) for rate in table["side"].rates] == [("left", "7/12"), ("right", "5/11")]
    [pair] = table["side"].pairs
    assert (pair.lower, pair.ratio, pair.under_four_fifths) == ("right", "60/77", True)
    assert pair.persons_to_flip_ratio == 1
    assert found.groups.law == ("the equal treatment act of an invented country",)
    said = text(found)
    assert "US employment" in said and "7/12 passed" in said and "equal treatment act" in said


def test_a_small_group_is_not_shown_and_says_too_few(house: Path) -> None:
    found = report(house, groups=groups_file(house))
    assert found.groups is not None
    age = next(grouping for grouping in found.groups.groupings if grouping.name == "age")
    assert age.undefined is not None and age.rates == ()
    assert "old" not in json.dumps(quality_document(found)["groups"])


def test_cells_under_five_are_in_nothing_that_can_be_handed_on(house: Path) -> None:
    # Of the odd numbers only K-2/C01 passes: 1 of 12.
    odd = {number: "odd" if number % 2 else "even" for number in range(1, 13)}
    found = report(house, groups=groups_file(house, groups=odd))
    assert found.groups is not None
    side = next(grouping for grouping in found.groups.groupings if grouping.name == "side")
    rates = {rate.group: rate for rate in side.rates}
    assert (rates["odd"].n, rates["odd"].passed, rates["odd"].rate, rates["odd"].ci95) == (12, None, None, None)
    [pair] = side.pairs
    assert (pair.ratio, pair.p, pair.adjusted, pair.under_four_fifths) == (None, None, None, True)
    said = f"{text(found)} {json.dumps(quality_document(found)['groups'])}"
    assert "1/12" not in said and "1 of 12" not in said and "fewer than five" in said


def test_one_course_says_nothing_about_groups(house: Path) -> None:
    found = report(house / "winter-1", groups=groups_file(house))
    assert found.groups is not None
    assert all(grouping.undefined and grouping.rates == () for grouping in found.groups.groupings)


def test_a_groups_file_with_a_person_twice_is_refused(house: Path) -> None:
    path = groups_file(house)
    path.write_text(
        path.read_text(encoding="utf-8") + "- {id: p1-1, attempts: [K-1/C01], groups: {}}\n", encoding="utf-8"
    )
    with pytest.raises(InputError) as caught:
        report(house, groups=path)
    assert len(caught.value.problems) == 2


# --- a course after its reserve morning ----------------------------------------------------------------


def test_third_looks_repeats_and_completions_are_part_of_what_is_marked_again(morning: Story) -> None:
    demo, teach, safety = report(morning.root).again
    assert (demo.again.overall.n, demo.left_out) == (10, ())
    assert (teach.again.overall.n, dict(teach.left_out)) == (8, {"decided by a breach": 1, "open": 1})
    assert demo.again.third_looks == teach.again.third_looks == 0
    assert demo.again.overall.estimate is not None and 0.6 < demo.again.overall.estimate < 1
    assert safety.again.undefined is not None and "n=8" in safety.again.undefined


# --- whom it refuses -----------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["A1", None])
def test_it_is_for_a_director_of_every_course(house: Path, who: str | None, monkeypatch, tmp_path: Path) -> None:
    monkeypatch.setenv("ASSESS_STATE_DIR", str(tmp_path))
    with pytest.raises(Refusal, match="for a director"):
        quality_report([house], who, on=DAY)


def test_an_unknown_person_no_course_and_a_course_twice_are_told_so(house: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="D9"):
        report(house, who="D9")
    with pytest.raises(UsageError, match="no course"):
        report()
    with pytest.raises(InputError, match="is not there"):
        report(tmp_path / "gone")
    with pytest.raises(InputError, match="no course folder and holds no quality"):
        report(tmp_path)
    (tmp_path / "quality.yaml").write_text(PLAN, encoding="utf-8")
    with pytest.raises(InputError, match="covers no course"):
        report(tmp_path)
    two = [build_course(tmp_path / name) for name in ("a", "b")]
    with pytest.raises(InputError, match="K-TEST, and so is"):
        report(*two)


def test_a_course_in_which_nothing_is_locked_has_a_report_of_reasons(tmp_path: Path) -> None:
    found = report(build_course(tmp_path / "course"))
    said = text(found)
    assert said.count("not estimable") >= 6 and "n=0" in said
    assert found.assessors is None and "Not estimable (n=0): no turn has all its sheets locked yet." in said


def test_a_day_is_a_day() -> None:
    assert day_from("2027-02-03") == date(2027, 2, 3)
    with pytest.raises(UsageError, match="2027-02-30"):
        day_from("2027-02-30")
