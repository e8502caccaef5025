"""The commands of the later steps on the sample course: what they say, what they refuse, what stays unwritten."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.cli.commands import assess
from tests.sample.story import SAMPLE


@pytest.fixture
def course(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("ASSESS_STATE_DIR", str(tmp_path / "state"))
    return Path(shutil.copytree(SAMPLE, tmp_path / "course"))


def files(root: Path) -> dict[str, bytes]:
    return {str(path.relative_to(root)): path.read_bytes() for path in sorted(root.rglob("*")) if path.is_file()}


def test_the_differences_come_in_the_order_of_what_they_change(course: Path) -> None:
    told = json.loads(assess("moderate", course, "--as", "D1", "--json").out)["differences"]
    due = [item for item in told if item["due"]]
    assert len(due) == 17
    assert len(told) - len(due) == 16
    assert [item["effect"] for item in due] == sorted(
        (item["effect"] for item in due), key=["alone", "together", "later", "nothing"].index
    )


def test_a_slot_is_shown_with_both_sheets_side_by_side_and_who_is_fresh(course: Path) -> None:
    told = json.loads(assess("moderate", course, "T2.C06", "--as", "D1", "--json").out)
    assert [sheet["marks"]["separation"] for sheet in told["sheets"]] == ["5", "2"]
    assert all(sheet["observations"] for sheet in told["sheets"])
    assert told["fresh"] == ["A2", "A4"]


def test_ten_that_change_nothing_are_kept_in_one_act_and_the_marks_stay(course: Path) -> None:
    before = files(course)
    told = json.loads(
        assess("moderate", course, "--idle", "--reason", "no module can change", "--as", "D1", "--json").out
    )
    after = files(course)
    assert len(told["moderated"]) == 10
    assert all(after[name] == raw for name, raw in before.items())
    assert {name for name in after if name not in before} == {name for name in after if name.startswith("moderation/")}


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["moderate", "T2.C06", "--keep-both", "--as", "D1"], 1, "a moderation needs a reason"),
        (["moderate", "T2.C06", "--agree", "separation=6", "--reason", "x", "--as", "D1"], 1, "outside the marks"),
        (["moderate", "T2.C06", "--agree", "speed=4", "--reason", "x", "--as", "D1"], 1, "no criterion of T2"),
        (["moderate", "T2.C06", "--keep-both", "--reason", "x", "--as", "A2"], 1, "did not mark T2.C06"),
        (["moderate", "T9.C06", "--keep-both", "--reason", "x", "--as", "D1"], 1, "no slot of this course"),
        (["moderate", "T2.C06", "--agree", "separation", "--reason", "x", "--as", "D1"], 2, "agrees on nothing"),
        (["look", "C01", "teach", "--by", "A4", "--slots", "T4", "--reason", "x", "--as", "D1"], 1, "no third look"),
        (["look", "C02", "teach", "--by", "A1", "--slots", "T4", "--reason", "x", "--as", "D1"], 1, "not fresh"),
        (["look", "C02", "teach", "--by", "A4", "--slots", "T4", "--reason", "x", "--as", "D1"], 1, "would know which"),
        (["look", "C02", "teach", "--close", "--as", "D1"], 1, "has no third look"),
        (["again", "T2", "C06", "--by", "A2,A4", "--as", "D1"], 1, "no repeat of T2 was offered to C06"),
        (["again", "T2", "C06", "--why", "completion", "--by", "A2,A4", "--as", "D1"], 1, "lacks nothing"),
        (["decide", "C02", "teach", "--sign", "--as", "D1"], 1, "a third look is due"),
        (["decide", "C01", "teach", "--sign", "--as", "A1"], 1, "only a director decides"),
        (["decide", "C01", "teach", "--sign", "--kind", "refuse", "--as", "D1"], 1, "does not follow"),
        (["decide", "C01", "teach", "--sign"], 2, "nobody has said who"),
        (["resit", "C02", "teach", "--opens", "2026-03-01", "--closes", "2026-04-01", "--as", "D1"], 1, "not refused"),
        (["breach", "C01", "beyond-a-closure", "--declined", "--as", "D1"], 1, "nobody reported"),
        (["talk", "C01", "result", "--minutes", "10", "--as", "D1"], 1, "no signed result"),
        (["release", "--to", "candidates", "--as", "D1"], 1, "not signed"),
    ],
)  # fmt: skip
def test_what_is_refused_says_why_and_writes_nothing(course: Path, words: list[str], code: int, said: str) -> None:
    before = files(course)
    told = assess(words[0], course, *words[1:])
    assert said in told.err
    assert (told.code, told.out) == (code, "")
    assert files(course) == before


def test_a_module_is_signed_superseded_and_never_changed(course: Path) -> None:
    assert assess("decide", course, "C01", "teach", "--sign", "--as", "D1").code == 0
    first = next(iter((course / "decisions").glob("C01.*"))).read_bytes()
    again = assess("decide", course, "C01", "teach", "--sign", "--as", "D1")
    assert again.code == 1
    assert "a decision in place of another needs a reason" in again.err
    assert assess("decide", course, "C01", "teach", "--sign", "--reason", "a typing error", "--as", "D1").code == 0
    assert next(iter((course / "decisions").glob("C01.*"))).read_bytes().startswith(first)
    told = json.loads(assess("decide", course, "C01", "teach", "--as", "D1", "--json").out)["proposals"]
    assert [item["signed"]["decision"] for item in told] == ["grant"]
    assert assess("check", course).code == 0


def test_late_evidence_is_logged_by_digest_and_ruled_on(course: Path, tmp_path: Path) -> None:
    film = tmp_path / "phone.mp4"
    film.write_bytes(b"six seconds")
    words = ["--what", "film from a friend's phone, 6 s", "--as", "D1"]
    digest = json.loads(assess("evidence", course, "T2.C10", "--file", film, *words, "--json").out)["digest"]
    ruled = ["--ruling", "refuse", "--rule", "the whole run or nothing", "--reason", "6 s", "--as", "D1"]
    assert assess("evidence", course, "T2.C10", "--digest", digest, *ruled).code == 0
    shown = json.loads(assess("moderate", course, "T2.C10", "--as", "D1", "--json").out)
    assert shown["late_evidence"] == [{"digest": digest, "admitted": False}]
    assert b"six seconds" not in b"".join(files(course).values())


def test_an_observation_without_words_says_what_it_speaks_for_and_is_not_called_erased(course: Path) -> None:
    told = json.loads(assess("moderate", course, "T4.C02", "--as", "D1", "--json").out)
    texts = [item["text"] for sheet in told["sheets"] for item in sheet["observations"]]
    assert "(erased)" not in texts
    assert any(text.startswith(("seen for: ", "seen against: ")) for text in texts)
