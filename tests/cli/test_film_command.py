"""`assess film`: from a film to a season, one's own view, comparing, cues out and in, what one works on."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from assess.desk.film_counts import add_looks, looks_of
from assess.desk.marks_given import wait_until_saved
from assess.film.beside import length_ms
from assess.records.errors import StorageTrouble
from tests.cli.commands import assess
from tests.cli.test_lesson_commands import side
from tests.seasons import CRITERIA, build_season, film_desk, mark_film


@pytest.fixture(autouse=True)
def state(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("ASSESS_STATE_DIR", str(tmp_path / "state"))


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_season(tmp_path / "season", films=4)


def test_a_film_alone_gets_a_season_beside_it_and_is_not_touched(tmp_path: Path) -> None:
    film = tmp_path / "-my lesson.mp4"
    film.write_bytes(b"film")
    before = (film.read_bytes(), film.stat().st_mtime_ns)
    options = ["--trainee", "KW", "--task", "T5", "--activity", "alpine-ski"]
    told = assess("film", film, *options)
    assert told.code == 0 and "my lesson, " not in told.err and "first: the learner's fault" in told.out
    root = tmp_path / "-my lesson-season"
    assert (film.read_bytes(), film.stat().st_mtime_ns) == before
    assert assess("check", root, "--as", "KW").code == 0
    again = assess("film", film)
    assert again.code == 0 and again.out == told.out and again.err == ""


def test_what_is_missing_is_named_and_nothing_is_made(tmp_path: Path) -> None:
    film = tmp_path / "a.mp4"
    film.write_bytes(b"film")
    given: list[str] = []
    for option, value in (("--trainee", "KW"), ("--activity", "alpine-ski"), ("--task", "T5")):
        told = assess("film", film, *given)
        assert (told.code, told.out) == (2, "") and option in told.err
        assert [path.name for path in tmp_path.iterdir() if "season" in path.name] == []
        given += [option, value]
    assert assess("film", film, *given).code == 0
    assert assess("film", tmp_path / "none.mp4", *given).code == 3
    assert assess("film", tmp_path / "none.mp4", "--trainee", "no id!").code in (2, 3)


def test_own_view_first_then_scores_then_the_comparison(root: Path) -> None:
    mark_film(root, "M1", "F1", (2, 3, 4, 4))
    me = ["--as", "TR"]
    slot = root / "T5.F1"
    refused = assess("mark", slot, "build-up=3", *me)
    assert refused.code == 1 and "fault as you see it" in refused.err
    for option, words in (("--fault", "late pressure"), ("--plan", "traverse first")):
        assert assess("film", root, "F1", option, words, *me).code == 0
    assert assess("mark", slot, "diagnosis=4", "drill-choice=4", "build-up=5", "learner-change=4", *me).code == 0
    assert assess("lock", slot, *me).code == 1
    for place, criterion in enumerate(CRITERIA):
        noted = assess("film", root, "F1", "--note", "seen", "--at", f"{place}:30", "--for", criterion, *me)
        assert noted.code == 0, noted.err
    assert assess("film", root, "F1", *me, "--json").json["compared"] == []
    assert assess("lock", slot, *me).code == 0
    found = assess("film", root, "F1", *me, "--json").json["compared"][0]
    # bias = mean of 2, 1, 1, 0; limits = 1 +- 1.96 * sd, sd^2 = (1 + 0 + 0 + 1) / 3.
    figures = found["figures"]
    assert (figures["n"], figures["bias"], figures["mean_distance"]) == (4, 1.0, 1.0)
    assert figures["limits"] == pytest.approx([1 - 1.96 * (2 / 3) ** 0.5, 1 + 1.96 * (2 / 3) ** 0.5])
    assert figures["timed_share"] == 1.0 and figures["tau_needed"] is None
    beside = {item["criterion"]: item for item in found["criteria"]}
    assert beside["build-up"]["own_ms"] == [150_000] and beside["build-up"]["other_ms"] == [180_000]
    assert beside["diagnosis"]["own_words"] != beside["diagnosis"]["other_words"] != ""
    text = assess("film", root, "F1", *me).out
    assert "4 criteria are too few" in text and "[2:30]" in text and "you `late pressure`" in text


def test_a_lock_with_the_rest_not_observed_says_so_as_a_hole(root: Path) -> None:
    me = ["--as", "TR"]
    slot = root / "T5.F1"
    for option, words in (("--fault", "late pressure"), ("--plan", "traverse first")):
        assert assess("film", root, "F1", option, words, *me).code == 0
    assert assess("film", root, "F1", "--note", "seen", "--at", "0:30", "--for", "diagnosis", *me).code == 0
    assert assess("mark", slot, "diagnosis=2", *me).code == 0
    desk = film_desk(root, "TR")
    sheet = desk.film("T5", "F1")
    for criterion in CRITERIA[1:]:
        sheet.not_observed(criterion)
    told = {hole.kind: hole for hole in sheet.holes()}
    desk.close()
    assert told["not-all-scored"].text.startswith("3 of 4 criteria have no level (drill-choice, build-up")
    assert not told["not-all-scored"].blocks and "not-weakest-first" not in told


def test_a_note_without_a_time_or_with_none_is_refused(root: Path) -> None:
    for words in (["--note", "x"], ["--note", "x", "--at", "1:75"], ["--note", "x", "--at", "soon"]):
        told = assess("film", root, "F1", *words, "--as", "TR")
        assert (told.code, told.out) == (2, "")
    assert not (root / "sheets").exists()


def test_cues_go_out_and_come_back_on_another_film(root: Path, tmp_path: Path) -> None:
    words = "arrow --> & <b>\u202eRTL\u202c 😀"
    desk = film_desk(root, "TR")
    sheet = desk.film("T5", "F1")
    sheet.note(words, ("diagnosis",), film_ms=360_000_001, direction="for")
    sheet.note("second", (), film_ms=5000, film_end_ms=5000)
    desk.close()
    for form in ("vtt", "srt"):
        out = tmp_path / f"{form}.{form}"
        assert assess("film", root, "F1", f"--to-{form}", out, "--as", "TR").code == 0
        assert assess("film", root, "F1", f"--to-{form}", out, "--as", "TR").code == 1
    told = assess("film", root, "F2", "--from", tmp_path / "vtt.data.vtt", "--as", "TR")
    assert told.code == 0 and told.out.startswith("2 subtitles")
    desk = film_desk(root, "TR")
    mine, read = desk.film("T5", "F1").noted(), desk.film("T5", "F2").noted()
    desk.close()
    assert [(n.film_ms, n.text, n.criteria, n.direction) for n in mine] == [
        (n.film_ms, n.text, n.criteria, n.direction) for n in read
    ]
    assert all(n.imported for n in read) and not any(n.imported for n in mine)
    again = assess("film", root, "F1", "--from", tmp_path / "vtt.vtt", "--as", "TR")
    assert again.code == 1 and "nothing new" in again.err
    (tmp_path / "bad.vtt").write_text("WEBVTT\n\n00:02.000 --> 00:01.000\nx\n")
    assert assess("film", root, "F1", "--from", tmp_path / "bad.vtt", "--as", "TR").code == 3


def test_at_most_two_actions_are_open_and_they_stand_first(root: Path) -> None:
    before = (root / "season.yaml").read_text()
    act: list[Any] = ["--how", "counted on film", "--as", "TR"]
    bad = assess("film", root, "--work-on", "x", *act, "--on", "2026-02-30")
    assert bad.code == 1 and (root / "season.yaml").read_text() == before
    for day in ("2026-01-20", "2026-12-01"):
        assert assess("film", root, "--work-on", f"until {day}", "--on", day, *act).code == 0
    third = assess("film", root, "--work-on", "third", "--on", "2026-03-01", *act)
    assert third.code == 1 and "a1 and a2 are open" in third.err
    shown = assess("film", root, "--as", "TR").out.split("\n")
    assert shown[2:4] == ["Working on", "  a1  until 2026-01-20"] and "due now" in shown[4]
    assert assess("film", root, "--close", "a1", "--as", "TR").code == 1
    assert assess("film", root, "--close", "a1", "--result", "from 9 to 3 words", "--as", "TR").code == 0
    assert assess("film", root, "--work-on", "third", "--on", "2026-03-01", *act).code == 0
    assert assess("check", root, "--as", "TR").code == 0
    assert "from 9 to 3 words" in (root / "season.yaml").read_text()


def test_the_season_tells_whether_gaps_close_and_what_was_never_practised(root: Path) -> None:
    for film, mine in (("F1", (5, 5, 5, 5)), ("F2", (5, 4, 5, 4)), ("F3", (4, 4, 4, 4))):
        mark_film(root, "TR", film, mine)
        mark_film(root, "M1", film, (3, 4, 3, 4))
    file = root / "season.yaml"
    told = file.read_text().replace(
        'title: "Lesson 1",', 'title: "Lesson 1", practised: {ability: 3, snow: packed, faults: [aft-stance]},'
    )
    file.write_text(told)
    view = assess("film", root, "--as", "TR", "--json").json
    # Mean distances 1.5, 1.0, 0.5 a week apart: -0.5 a week on a straight line.
    assert view["trend"]["per_month"] == pytest.approx(-0.5 / 7 * 30) and view["trend"]["n"] == 3
    never = view["never"]
    assert never["films"] == 1 and 3 not in never["abilities"] and len(never["abilities"]) == 9
    assert "packed" not in never["snow"] and len(never["snow"]) == never["of_snow"] - 1
    assert 0 < len(never["families"]) < never["of_families"]


def test_looks_give_shares_with_an_interval_that_is_called_optimistic(root: Path) -> None:
    me = ["--as", "TR"]
    seen = "p" * 18 + "t" * 20 + "--" + "wl"
    assert assess("film", root, "F1", "--looks", "10", "--seen", seen, *me).code == 0
    line = assess("film", root, "F1", *me, "--json").json
    assert (line["looks"]["n"], line["looks"]["every_ms"], line["counts"]) == (40, 10_000, [])
    shares = {item["use"]: item for item in line["looks"]["shares"]}
    # 18 of 40: Wilson 0.307 to 0.602 (Wilson 1927; recomputed by hand).
    assert shares["practise"]["share"] == 0.45 and shares["practise"]["ci95"] == pytest.approx([0.307, 0.602], abs=5e-4)
    text = assess("film", root, "F1", *me).out
    assert "by 40 looks, one every 10 s" in text and "practice 45 % (31 to 60, 95 %)" in text and "optimistic" in text
    before = sorted((root / "sheets").iterdir()), [file.read_bytes() for file in sorted((root / "sheets").iterdir())]
    for words, code in (
        (["--looks", "10", "--seen", "pp"], 1), (["--looks", "7", "--seen", "pq"], 2), (["--looks", "7"], 2),
        (["--seen", "p"], 2), (["--looks", "0", "--seen", "p"], 2), (["--count", "smiles", "--at", "1:00"], 1),
        (["--count", "sweep"], 2),
    ):  # fmt: skip
        assert assess("film", root, "F1", *words, *me).code == code, words
    assert before == (
        sorted((root / "sheets").iterdir()),
        [f.read_bytes() for f in sorted((root / "sheets").iterdir())],
    )


def test_questions_and_feedback_are_counted_a_minute_of_the_lesson(root: Path) -> None:
    me = ["--as", "TR"]
    for what, when in (("question-open", "0:30"), ("question-open", "2:00"), ("feedback-correcting", "3:00")):
        assert assess("film", root, "F1", "--count", what, "--at", when, *me).code == 0
    counts = assess("film", root, "F1", *me, "--json").json["counts"]
    assert [(c["name"], c["count"], c["rate"]) for c in counts] == [
        ("feedback-correcting", 1, None), ("question-open", 2, None)
    ]  # fmt: skip
    assert "needs the lesson's length" in assess("film", root, "F1", *me).out
    desk = film_desk(root, "TR")
    sheet = desk.film("T5", "F1")
    for at, on in ((0, True), (240_000, False)):
        sheet.at_ms = at
        sheet.interval("practise", on)
    desk.close()
    counts = assess("film", root, "F1", *me, "--json").json["counts"]
    assert [(c["name"], c["rate"]) for c in counts] == [("feedback-correcting", 0.25), ("question-open", 0.5)]
    text = assess("film", root, "F1", *me).out
    assert "questions, open: 2, 0.50 a minute" in text and "Rowe 1974" in text


def test_a_second_film_and_a_mentor_need_no_editing_by_hand(tmp_path: Path) -> None:
    first, second = tmp_path / "one.mp4", tmp_path / "-two: #x.mp4"
    first.write_bytes(b"one")
    second.write_bytes(b"two")
    assert assess("film", first, "--trainee", "Kaja Wendrin", "--task", "T5", "--activity", "alpine-ski").code == 0
    root = tmp_path / "one-season"
    me = ["--as", "KW"]
    added = assess("film", root, "--add", second, "--on", "2026-01-04", *me)
    assert added.code == 0 and "F2 is -two: #x.mp4" in added.out, added.err
    assert assess("film", root, "--mentor", "Matis Torvald", *me).code == 0
    view = assess("film", root, *me, "--json").json
    assert [(f["id"], f["date"], f["title"]) for f in view["films"]][1] == ("F2", "2026-01-04", "-two: #x")
    assert all(set(f["locked"]) == {"KW", "MT"} for f in view["films"])
    kept = [(root / name).read_bytes() for name in ("season.yaml", "people.yaml")]
    refused = (
        ["--add", second, *me], ["--mentor", "Max Tor", *me], ["--mentor", "Kaja Wendrin", *me],
        ["--mentor", "Lu Fo", "--as", "MT"], ["--add", first, "--as", "MT"],
    )  # fmt: skip
    for words in refused:
        assert assess("film", root, *words).code == 1, words
    third = tmp_path / "three.mp4"
    third.write_bytes(b"three")
    for more in (["--task", "T1"], ["--on", "2026-02-31"]):
        assert assess("film", root, "--add", third, *more, *me).code == 1, more
    assert assess("film", root, "--add", tmp_path / "none.mp4", *me).code == 3
    assert kept == [(root / name).read_bytes() for name in ("season.yaml", "people.yaml")]
    assert "# Who looks at your films too" in (root / "season.yaml").read_text()
    assert assess("check", root, *me).code == 0
    mark_film(root, "MT", "F2", (2, 3, 4, 4))
    assert assess("film", root, "F2", *me, "--json").json["compared"] == []
    assert [path.read_bytes() for path in (first, second)] == [b"one", b"two"]


@pytest.mark.skipif(shutil.which("ffmpeg") is None, reason="needs ffmpeg")
def test_two_films_side_by_side_and_stills_are_new_files_for_their_owner(root: Path, tmp_path: Path) -> None:
    for place in (1, 2):
        command = ["ffmpeg", "-nostdin", "-v", "error", "-f", "lavfi", "-i", "testsrc=size=64x48:rate=5:duration=6"]
        subprocess.run([*command, str(root / f"film-{place}.mp4")], check=True)
    me = ["--as", "TR"]
    out, pictures = tmp_path / "-both.mp4", tmp_path / "stills"
    words: list[str | Path] = ["--beside", "F1", "F2", "--starts", "0:01", "0:02.5", "--lasts", "2", *me]
    look = assess("film", root, *words, "--to", out, "--dry-run")
    assert look.code == 0 and "would be written" in look.out and "only as was agreed" in look.out and not out.exists()
    told = assess("film", root, *words, "--to", out)
    assert told.code == 0 and "F2 from 0:02.5" in told.out and "only as was agreed" in told.out, told.err
    assert out.stat().st_mode & 0o777 == 0o600 and 1900 <= length_ms(out) <= 2100
    before = out.read_bytes()
    refused: tuple[tuple[list[Any], int], ...] = (
        (["--to", out], 1), ([], 2), (["--to", tmp_path / "x.txt"], 2),
        (["--to", tmp_path / "y.mp4", "--lasts", "0"], 2),
        (["--to", tmp_path / "y.mp4", "--starts", "0:09", "0:00"], 3),
        (["--to", tmp_path / "y.mp4", "--starts", "soon", "0:00"], 2),
    )  # fmt: skip
    for more, code in refused:
        assert assess("film", root, *words, *more).code == code, more
    assert assess("film", root, "--beside", "F1", "F3", "--to", tmp_path / "y.mp4", *me).code == 3
    assert out.read_bytes() == before and not (tmp_path / "y.mp4").exists() and not (tmp_path / "x.txt").exists()
    assert assess("film", root, "F1", "--stills", pictures, *me).code == 1
    for at in ("0:01", "0:02.5"):
        assert assess("film", root, "F1", "--note", "seen", "--at", at, *me).code == 0
    look = assess("film", root, "F1", "--stills", pictures, "--dry-run", *me)
    assert "would be written" in look.out and not pictures.exists()
    assert assess("film", root, "F1", "--stills", pictures, *me).code == 0
    assert sorted(path.name for path in pictures.iterdir()) == ["F1-00m01s000.png", "F1-00m02s500.png"]
    assert "there already" in assess("film", root, "F1", "--stills", pictures, *me).out


def test_the_turns_of_both_stand_side_by_side_with_the_change(root: Path, tmp_path: Path) -> None:
    before = side(tmp_path, "before", [[68, 70, 66, 69], [71, 65, 70, 69]])
    after = side(tmp_path, "after", [[52, 50, 53, 49], [55, 51, 50]])
    told = assess("film", root, "--turns", before, after, "--as", "TR")
    lines = told.out.splitlines()
    assert told.code == 0 and lines[1].split() == ["1", "1", "68", "52"] and lines[8].split() == ["2", "4", "69", "-"]
    assert "improved" in told.out and assess("change", before, after).out.strip() in told.out


def test_a_course_is_no_season(tmp_path: Path) -> None:
    from tests.courses import build_course

    told = assess("film", build_course(tmp_path / "course"), "--as", "A1")
    assert (told.code, told.out) == (1, "") and "is no season of films" in told.err


def test_both_kinds_of_subtitles_at_once_and_all_or_none(root: Path, tmp_path: Path) -> None:
    me = ["--as", "TR"]
    assert assess("film", root, "F1", "--note", "seen", "--at", "0:30", *me).code == 0
    both: list[Any] = ["--to-vtt", tmp_path / "o.vtt", "--to-srt", tmp_path / "o.srt"]
    told = assess("film", root, "F1", *both, *me)
    assert told.code == 0, told.err
    assert sorted(path.name for path in tmp_path.glob("o.*")) == ["o.data.vtt", "o.srt", "o.vtt"]
    (tmp_path / "o.vtt").unlink()
    (tmp_path / "o.data.vtt").unlink()
    refused = assess("film", root, "F1", *both, *me)
    assert refused.code == 1 and "o.srt" in refused.err
    assert sorted(path.name for path in tmp_path.glob("o.*")) == ["o.srt"]


def test_a_day_is_typed_as_people_write_it_and_a_wrong_one_is_said_in_words(root: Path, tmp_path: Path) -> None:
    me = ["--as", "TR"]
    act = ["--work-on", "one cue", "--how", "count", *me]
    bad = assess("film", root, *act, "--on", "3. March")
    assert bad.code == 1 and "write it like 2027-02-01" in bad.err and "pattern" not in bad.err
    good = assess("film", root, *act, "--on", "3.1.2026")
    assert good.code == 0 and "2026-01-03 (that day is over: it is due now)" in good.out
    film = tmp_path / "b.mp4"
    film.write_bytes(b"film")
    assert assess("film", root, "--add", film, "--on", "14.2.", *me).code == 1
    assert assess("film", root, "--add", film, "--on", "14.2.2026", *me).code == 0
    assert "2026-02-14" in (root / "season.yaml").read_text()


def test_a_film_added_to_a_season_opens_that_season_by_its_own_name(root: Path, tmp_path: Path) -> None:
    film = tmp_path / "second.mp4"
    film.write_bytes(b"film")
    assert assess("film", root, "--add", film, "--as", "TR").code == 0
    told = assess("film", film)
    assert told.code == 0 and told.out.startswith("F5") and not (tmp_path / "second-season").exists()


def test_a_film_whose_name_is_no_text_or_that_is_empty_is_refused_in_words(tmp_path: Path) -> None:
    options = ["--trainee", "KW", "--task", "T5", "--activity", "alpine-ski"]
    strange = tmp_path / os.fsdecode(b"n\xff.mp4")
    strange.write_bytes(b"film")
    told = assess("film", strange, *options)
    assert told.code == 3 and "n?.mp4" in told.err and "another name" in told.err
    empty = tmp_path / "empty.mp4"
    empty.touch()
    told = assess("film", empty, *options)
    assert told.code == 3 and "is empty" in told.err
    assert not [path for path in tmp_path.iterdir() if path.is_dir() and path.name != "state"]


def test_thousands_of_subtitles_and_looks_take_no_longer_each_than_the_first(root: Path, tmp_path: Path) -> None:
    folds = 0
    sheet = film_desk(root, "TR").film("T5", "F1")
    whole = type(sheet.desk).folded

    def folded(*told: Any) -> Any:
        nonlocal folds
        folds += 1
        return whole(*told)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(type(sheet.desk), "folded", folded)
        assert sheet.note_all({"text": f"{n}", "criteria": (), "film_ms": n} for n in range(200)) == 200
        assert add_looks(sheet, "p" * 200, 10_000) == 200
    looked = looks_of(sheet.sheet)
    assert folds < 10 and len(sheet.noted()) == 200 and looked is not None and looked.n == 200


class SlowDesk:
    """A disk that takes so many entries in each spell of patience."""

    def __init__(self, waiting: int, each: int) -> None:
        self.left, self.each = waiting, each

    def drain(self, seconds: float) -> bool:
        self.left = max(0, self.left - self.each)
        return not self.left

    def save_state(self) -> Any:
        return SimpleNamespace(word="NOT SAVED" if self.left else "saved", waiting=self.left, why="", at="")


def test_ten_thousand_entries_are_waited_for_as_long_as_the_disk_goes_on() -> None:
    assert wait_until_saved(cast("Any", SlowDesk(10_000, 3000))) == ""
    with pytest.raises(StorageTrouble, match="NOT SAVED: 10000 entries"):
        wait_until_saved(cast("Any", SlowDesk(10_000, 0)))


def test_what_a_lesson_gave_practice_in_is_said_by_name_and_closes_the_gap(root: Path) -> None:
    me = ["--as", "TR"]
    assert "no film says yet" in assess("film", root, *me).out
    words = ["--treated", "late pressure, locked", "--snow", "soft packed", "--able", "4", "--slope", "14"]
    told = assess("film", root, "F1", *words, *me)
    assert told.code == 0, told.err
    assert "F1 gave practice in: late pressure, locked knees; soft packed; 14 degrees; learner of level 4" in told.out
    never = assess("film", root, *me, "--json").json["never"]
    assert never["films"] == 1 and 4 not in never["abilities"] and "soft packed" not in never["snow"]
    assert "locked knees" not in never["families"]
    kept = (root / "season.yaml").read_bytes()
    for bad in (["--treated", "no such"], ["--treated", "l"], ["--snow", "lava"], ["--able", "11"], ["--slope", "70"]):
        refused = assess("film", root, "F1", *bad, *me)
        assert refused.code == 1 and refused.err, bad
    assert assess("film", root, "F1", "--able", "3", "--as", "M1").code == 1
    assert (root / "season.yaml").read_bytes() == kept


def test_a_film_gets_another_title_and_another_day(root: Path) -> None:
    told = assess("film", root, "F1", "--title", "Blue run", "--on", "3.1.2026", "--as", "TR")
    assert told.code == 0 and "F1 is Blue run, of 2026-01-03" in told.out, told.err
    assert assess("film", root, "F1", "--title", "x", "--as", "M1").code == 1


def test_what_to_film_is_told_before_the_lesson(root: Path) -> None:
    told = assess("film", root, "--shots", "--as", "TR")
    assert told.code == 0 and "the same place" in told.out and "guardian" in told.out


def test_ones_own_levels_stand_on_the_films_page_until_they_are_compared(root: Path) -> None:
    mark_film(root, "TR", "F1", (5, 4, 5, 3))
    own = assess("film", root, "F1", "--as", "TR").out
    assert "Diagnosis: 5, " in own and "Change: 3, " in own
    mark_film(root, "M1", "F1", (4, 3, 4, 4))
    assert "  Diagnosis: 5, " not in assess("film", root, "F1", "--as", "TR").out


def test_weak_points_one_did_not_see_are_named_and_a_guess_stands_beside(root: Path) -> None:
    mark_film(root, "TR", "F1", (5, 2, 3, 5))
    mark_film(root, "M1", "F1", (2, 2, 4, 5))
    told = assess("film", root, "F1", "--as", "TR").out
    # Theirs: diagnosis and drill choice; mine: drill choice and build-up: 1 of 2, and 2 * 2 / 4 by a guess.
    assert "of their weakest (Diagnosis, Drill choice) you had 1 among yours; a guess would have had 1.0" in told
    assert "weak, and you did not see it: Diagnosis" in told
    assert "did not see it: Diagnosis" in assess("page", root, "season", "--as", "TR").out


def test_the_page_of_a_season_holds_ones_own_levels_looks_and_counts_before_anybody_compares(root: Path) -> None:
    me = ["--as", "TR"]
    assert assess("film", root, "F1", "--looks", "10", "--seen", "pptw", *me).code == 0
    assert assess("film", root, "F1", "--count", "question-open", "--at", "3:12", *me).code == 0
    mark_film(root, "TR", "F1", (5, 4, 5, 3))
    page = assess("page", root, "season", *me).out
    assert "My own levels" in page and "waiting 25 %" in page and "questions, open: 1" in page
    assert "Rowe 1974" in page and "practice 50 %" in page


def test_you_is_said_to_the_trainee_alone(root: Path) -> None:
    mark_film(root, "TR", "F1", (5, 4, 5, 3))
    mark_film(root, "M1", "F1", (4, 3, 4, 4))
    for words in (("film", root), ("film", root, "F1"), ("page", root, "season")):
        mine, theirs = (assess(*words, "--as", who).out for who in ("TR", "M1"))
        assert "ou are about half a level too kind" in mine and "is told" not in mine
        assert "Person TR is told: you are about half a level too kind" in theirs
    assert " you 5 [" in assess("film", root, "F1", "--as", "TR").out
    assert " Person TR 5 [" in assess("film", root, "F1", "--as", "M1").out


def test_tables_in_the_season_stand_on_their_films_page(root: Path, tmp_path: Path) -> None:
    me = ["--as", "TR"]
    before = side(tmp_path, "before", [[68, 70, 66, 69], [71, 65, 70, 69]])
    after = side(tmp_path, "after", [[52, 50, 53, 49], [55, 51, 50]])
    named = assess("film", root, "--turns", before, after, *me).out
    assert "The learner, before and after" not in assess("film", root, "F1", *me).out
    (root / "measures").mkdir()
    for table, when in ((before, "before"), (after, "after")):
        shutil.copy(table, root / "measures" / f"T5.F1.{when}.csv")
    half = assess("film", root, "F1", *me)
    assert half.code == 0 and "The tables of the learner cannot be used" in half.out and "For training" in half.out
    for table, when in ((before, "before"), (after, "after")):
        shutil.copy(table.with_suffix(".yaml"), root / "measures" / f"T5.F1.{when}.yaml")
    page = assess("film", root, "F1", *me).out
    assert page.endswith("The learner, before and after\n" + named)
