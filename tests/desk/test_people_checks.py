"""What `check` and the desk say of films without consent, and of text that does not belong into a record."""

from __future__ import annotations

from pathlib import Path

import pytest

from assess.desk.checking import course_findings
from assess.desk.opening import open_course
from assess.records.facts import Observation
from assess.store.health_words_file import health_words
from tests.cli.commands import ROOT, assess
from tests.courses import build_course, open_desk


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", names=("Aldous Prynne",), candidates=2)


def findings(root: Path, who: str = "A1") -> list[str]:
    desk = open_desk(root, who)
    try:
        return [str(problem) for problem in course_findings(desk) if problem.doubt and "anchored" not in problem.what]
    finally:
        desk.close()


def agreed(root: Path, *lines: str) -> None:
    people = root / "people.yaml"
    people.write_text(people.read_text() + "consents:\n" + "".join(f"- {line}\n" for line in lines))


def filmed(root: Path) -> None:
    desk = open_desk(root, "A1")
    slot = desk.slot("T1", "C01")
    slot.append(Observation(text="late again", film_ms=12_000))
    assert desk.close()


def test_a_film_nobody_agreed_to_is_named_with_its_record(root: Path) -> None:
    filmed(root)
    (found,) = findings(root)
    assert found.startswith("sheets/T1.C01.A1.d7h2k.yaml:4: refers to a film, and C01 has not agreed to films")
    agreed(root, "{who: C01, film: true, at: 2026-02-01}")
    assert findings(root) == []


def test_a_withdrawal_after_the_day_is_told_too(root: Path) -> None:
    filmed(root)
    agreed(root, "{who: C01, film: true, at: 2026-02-01, until: 2026-02-02}")
    assert findings(root) == []
    (root / "people.yaml").write_text(
        (root / "people.yaml").read_text().replace("until: 2026-02-02", "withdrawn: 2026-02-02")
    )
    (found,) = findings(root)
    assert "C01 has withdrawn on 2026-02-02" in found


def test_a_child_needs_a_guardian(root: Path) -> None:
    people = root / "people.yaml"
    people.write_text(people.read_text() + "learners:\n- {id: L1, alias: Puffin, kind: child}\n")
    agreed(root, "{who: L1, film: true, by: L1}")
    (found,) = findings(root)
    assert "`L1` is a child, and no guardian is named" in found and found.startswith("people.yaml:")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Prynne drifts left", "`Prynne` names a person"),
        ("call 079 555 01 02", "looks like a telephone number"),
        ("told me about the meniscus", "`meniscus` is a word about health"),
        ("tails wash, left side", ""),
    ],
)
def test_the_desk_and_check_say_one_sentence_and_nothing_is_stopped(root: Path, text: str, told: str) -> None:
    desk = open_desk(root, "A1")
    slot = desk.slot("T1", "C01")
    entry = slot.note(text)
    assert (told in slot.remark) if told else slot.remark == ""
    slot.score("edging", 4)
    assert slot.remark == ""
    assert desk.close() and isinstance(entry.fact, Observation) and entry.fact.text == text
    found = findings(root)
    assert len(found) == bool(told) and all(told in line and "T1.C01.A1.d7h2k.yaml:4" in line for line in found)
    assert findings(root, "A2") == [] and findings(root, "D1") == []


def test_the_command_says_it_on_stderr_and_in_its_json(root: Path) -> None:
    ran = assess("mark", root / "T1.C01", "--as", "A1", "edging=4", "--note", "ask c01@example.org", "--json")
    assert ran.code == 0 and "`c01@example.org` looks like an e-mail address" in ran.json["remark"]
    assert ran.err.startswith("look: `c01@example.org`")


def test_names_in_the_course_file_are_found_and_the_morning_may_hold_numbers_to_call(root: Path) -> None:
    desk = open_desk(root, "D1")
    desk.day_book.record_morning(patrol="079 555 01 02", snow="hard")
    assert desk.close()
    course = root / "course.yaml"
    course.write_text(course.read_text() + "# Aldous Prynne goes first\n")
    (found,) = findings(root, "D1")
    assert found.startswith("course.yaml:") and "names `Aldous Prynne`" in found


def test_a_course_may_have_a_list_of_its_own_and_a_language(root: Path) -> None:
    assert "asthma*" in health_words(root, "en") and "kreuzband*" in health_words(root, "de-CH")
    assert health_words(root, "xx") == health_words(root, "en")
    (root / "health-words.txt").write_text("# ours\nStubenarrest\n")
    assert health_words(root, "en") == ("stubenarrest",)
    (root / "health-words.txt").write_bytes(b"\xff\xfe")
    assert any("health-words.txt: is not UTF-8" in str(problem) for problem in course_findings(open_desk(root, "A1")))
    slot = open_desk(root, "A1").slot("T1", "C01")
    assert slot.note("fine").n == 1 and slot.remark == ""


def test_every_shipped_list_holds_no_word_of_the_trade() -> None:
    """The catalogue and the rubrics are what assessors write with."""
    from assess.records.free_text import not_for_a_record

    words = health_words(ROOT, "en")
    for path in sorted((ROOT / "rubrics").rglob("*.yaml")):
        for number, line in enumerate(path.read_text(encoding="utf-8").split("\n"), start=1):
            said = not_for_a_record(line, words)
            assert "word about health" not in said or line.lstrip().startswith("#") or _safety(line), (
                path,
                number,
                said,
            )


def _safety(line: str) -> bool:
    """Lines about what to do after something happened, and who must not do a drill."""
    return any(word in line for word in ("incident", "injur", "patrol", "hurt", "not for", "hazard"))


def test_the_sample_course_has_nothing_of_the_kind() -> None:
    desk = open_course(ROOT / "sample_sessions" / "course", "D1")
    assert [p for p in course_findings(desk) if "film" in p.what or "looks like" in p.what or "names" in p.what] == []
