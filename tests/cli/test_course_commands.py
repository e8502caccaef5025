"""demo, open, results, check, new, schema, rubric: golden words, documents and endings."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from assess.cli.app import COMMANDS, command
from assess.desk.demo import sample_course
from assess.desk.schemas import SCHEMA_NAMES, schema
from tests.cli.commands import ROOT, assess, assess_process, tree
from tests.courses import RUBRIC, build_course, open_desk, release

RUBRICS = sorted(RUBRIC.parent.glob("r-*.yaml"))


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return build_course(tmp_path / "course", candidates=2, names=["Ünal [bold] 雪", "B [/oops] \u202e name"])


@pytest.fixture
def marked(root: Path) -> Path:
    """Everything of T6 is not here; T1 and T4 locked by both, 4 against 2 on one slot."""
    for who, device, level in (("A1", "d7h2k", 4), ("A2", "a2a2a", 2)):
        desk = open_desk(root, who, device=device)
        for task in ("T1", "T4"):
            for slot in desk.mine(task):
                sheet = desk.slot(task, slot.candidate)
                for criterion in sheet.criteria:
                    sheet.score(criterion, level if (task, slot.candidate) == ("T4", "C01") else 4)
                if level == 2:
                    sheet.note("seen by the learner")
                sheet.lock()
        assert desk.close()
    return root


# --- every command ---------------------------------------------------------------------------------


def commands() -> list[tuple[str, ...]]:
    found: list[tuple[str, ...]] = []
    for name, one in sorted(command().commands.items()):
        inner = getattr(one, "commands", None)
        found += [(name, each) for each in sorted(inner)] if inner else [(name,)]
    return found


def test_the_commands_of_a_course_are_all_there() -> None:
    assert {" ".join(words) for words in commands()} >= {
        "allocate", "check", "demo", "export", "import", "lock", "mark", "merge", "new course", "new rubric", "open",
        "results", "rubric check", "rubric diff", "rubric pin", "rubric show", "schema", "seal", "verify",
    }  # fmt: skip


def test_every_command_stands_in_the_table_by_which_it_is_found() -> None:
    listed = [name for names in COMMANDS.values() for name in names]
    assert sorted(listed) == sorted(command().commands) and len(set(listed)) == len(listed)
    for module, names in COMMANDS.items():
        for name in names:
            assert set(command([name, "--help"]).commands) == set(names), module


def test_the_list_of_commands_says_of_each_what_its_own_help_says() -> None:
    shown = [line.strip() for line in assess("--help").out.split("\nCommands:\n")[1].strip().split("\n")]
    assert sorted(line.split()[0] for line in shown) == sorted(name for names in COMMANDS.values() for name in names)
    for line in shown:
        name, _, told = line.partition(" ")
        assert told.strip().rstrip(".") in " ".join(assess(name, "--help").out.split())


@pytest.mark.parametrize("words", commands(), ids=" ".join)
def test_every_command_takes_the_common_options_and_has_help(words: tuple[str, ...]) -> None:
    ran = assess(*words, "--help")
    assert ran.code == 0 and ran.err == ""
    for option in ("--json", "--plain", "--as ID"):
        assert option in ran.out
    assert ran.out.split("\n\n")[1].strip().endswith(".")


def test_the_version_is_one_line() -> None:
    from assess import __version__

    assert assess("--version").all == (0, f"assess {__version__}\n", "")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["reslts"], "Did you mean 'results'"),
        (["results"], "Missing argument 'COURSE'"),
        (["results", "x", "--jsn"], "--jsn"),
        (["export", ".", "--to", "xml"], "xml"),
        (["new", "lessn", "x"], "lessn"),
        (["mark", "x", "--run", "many"], "'--run'"),
    ],
)
def test_words_that_are_off_end_with_2_a_sentence_and_an_empty_stdout(words: list[str], said: str) -> None:
    ran = assess(*words)
    assert (ran.code, ran.out) == (2, "") and said in ran.err and "--help`" in ran.err and ran.err.count("\n") == 1


def test_without_a_command_the_help_goes_to_stderr_and_the_end_is_2() -> None:
    ran = assess()
    assert (ran.code, ran.out) == (2, "") and "Usage: assess" in ran.err


# --- results ---------------------------------------------------------------------------------------


def test_results_of_a_director_in_words(marked: Path) -> None:
    ran = assess("results", marked, "--as", "D1")
    assert ran.err == "" and ran.code == 0
    assert ran.out == (
        "People decide: this is what the rules give on the marks as they stand, not what was signed.\n"
        "A small course, K-TEST\n"
        "\n"
        "Due for moderation, before anything is signed:\n"
        "  C01 teach: T4\n"
        "\n"
        "Open:\n"
        "  C01 demo: not seen: T2, T3\n"
        "  C01 teach: not seen: T5\n"
        "  C02 demo: not seen: T2, T3\n"
        "  C02 teach: not seen: T5\n"
        "\n"
        "20 Ünal [bold] 雪 (C01)\n"
        "  demo   open        mean 4.00 of 2 sheets, line 3.5, band 0.325\n"
        "         not seen: T2, T3\n"
        "         would be closed by T2, T3\n"
        "  teach  open        mean 3.00 of 2 sheets, line 3.5, band 0.389\n"
        "         not seen: T5\n"
        "         would be closed by T5\n"
        "         due for moderation: T4\n"
        "\n"
        "21 B [/oops] ␦ name (C02)\n"
        "  demo   open        mean 4.00 of 2 sheets, line 3.5, band 0.325\n"
        "         not seen: T2, T3\n"
        "         would be closed by T2, T3\n"
        "  teach  open        mean 4.00 of 2 sheets, line 3.5, band 0.389\n"
        "         not seen: T5\n"
        "         would be closed by T5\n"
        "\n"
        "Severity cannot be taken out: fewer than 3 candidates were marked by two or\n"
        "more.\n"
    )


def test_an_assessor_is_told_not_released_and_nothing_else(marked: Path) -> None:
    ran = assess("results", marked, "--as", "A1")
    assert ran.out.count("not released") == 4 and "mean" not in ran.out and "open" not in ran.out
    document = assess("results", marked, "--as", "A1", "--json").json
    jsonschema.Draft202012Validator(schema("results")).validate(document)
    for candidate in document["candidates"]:
        for module in candidate["modules"].values():
            assert module["outcome"] is None and module["reasons"] == ["not released"]
    release(marked)
    assert "mean 3.00 of 2 sheets" in assess("results", marked, "--as", "A1").out
    assert "mean 3.00 of 2 sheets" in assess("results", marked).out


def test_results_as_json_have_the_keys_others_rely_on_and_two_runs_are_the_same_bytes(marked: Path) -> None:
    first, second = (assess_process("results", marked, "--as", "D1", "--json") for _ in range(2))
    assert first.all == second.all and first.err == ""
    assert [c["id"] for c in first.json["candidates"]] == ["C01", "C02"]
    assert list(first.json["candidates"][0]["modules"]) == ["demo", "teach"]
    teach = first.json["candidates"][0]["modules"]["teach"]
    known = {
        "outcome": "open", "mean": "3.00", "mean_exact": "3", "line": "7/2", "band": "0.389", "n_sheets": 2,
        "reasons": ["not seen: T5"], "open_needs": ["T5"], "breach": None, "moderation_due": ["T4"], "reach": None,
        "flips_with": None,
    }  # fmt: skip
    assert {key: teach[key] for key in known} == known
    jsonschema.Draft202012Validator(schema("results")).validate(first.json)


def test_a_course_whose_rubric_is_gone_is_input_that_cannot_be_used(root: Path) -> None:
    (rubric,) = (root / "rubrics").iterdir()
    rubric.unlink()
    for words in (["results"], ["open"], ["export", "--to", "csv"]):
        ran = assess(words[0], root, *words[1:], "--json")
        assert (ran.code, ran.out) == (3, "")
        assert f"{root}/course.yaml:8: the pinned rubric" in ran.err and "Traceback" not in ran.err


def test_a_damaged_course_still_gives_results_and_says_that_something_is_wrong(marked: Path) -> None:
    (marked / "people.yaml").write_text((marked / "people.yaml").read_text().replace("bib: 21", "bib: 20"))
    ran = assess("results", marked, "--as", "D1", "--json")
    assert ran.code == 0 and ran.json["course"] == "K-TEST"
    assert f"see `assess check {marked}`" in ran.err


# --- open ------------------------------------------------------------------------------------------


def test_open_without_a_screen_prints_the_board(root: Path) -> None:
    desk = open_desk(root, "A1")
    desk.slot("T1", "C01").score("edging", 2)
    desk.close()
    ran = assess("open", root, "--as", "A1")
    assert (ran.code, ran.err) == (0, "")
    lines = ran.out.split("\n")
    assert lines[0] == "A small course, as A1 (assessor)"
    assert lines[2] == "Still to do" and lines[3].startswith("  T1 bib 20 Ünal [bold] 雪: ")
    assert "  T1 Long turns, medium speed, moderate slope: mine locked 0 of 2, locked by all 0 of 2" in lines
    assert assess("open", root, "--as", "A1", "--plain").out == ran.out
    board = assess("open", root, "--as", "A1", "--json").json
    assert board["who"] == "A1" and [line["id"] for line in board["candidates"]] == ["C01", "C02"]


def test_open_of_a_sheet_prints_that_sheet(root: Path) -> None:
    desk = open_desk(root, "A1")
    desk.slot("T1", "C01").score("edging", 2)
    desk.close()
    assert assess("open", root / "T1.C01", "--as", "A1").out.split("\n") == [
        "T1 Long turns, medium speed, moderate slope: 20 Ünal [bold] 雪, A1, not locked",
        "  missing: over-feet: no mark yet; not observed is a mark",
        "  missing: line: no mark yet; not observed is a mark",
        "  missing: speed-control: no mark yet; not observed is a mark",
        "  missing: edging: this level needs an observation made in the task",
        "  look: run 2 of 2 has no mark",
        "  Over feet: no mark yet",
        "  Edging: 2",
        "  Line: no mark yet",
        "  Speed: no mark yet",
        "  A2: not locked",
        "",
    ]
    sheet = assess("open", root / "T1.C01", "--as", "A1", "--json").json
    assert sheet["marks"][1] == {"criterion": "edging", "status": "scored", "level": 2}
    assert sheet["partners"] == {"A2": "not locked"}
    assert assess("open", root / "T1.C01", "--as", "D1").code == 1


def test_open_on_a_terminal_starts_the_screens_where_one_asked(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from assess.cli import say
    from assess.tui import app

    started = []

    def run(desk: Any, start: object) -> int:
        started.append((desk.who, desk.device, start))
        return 0

    monkeypatch.setattr(say, "on_terminal", lambda: True)
    monkeypatch.setattr(app, "run", run)
    for path in (root, root / "T1.C01", root / "T4.C02"):
        assert assess("open", path, "--as", "A1").code == 0
    assert [start for _, _, start in started] == ["board", ("task", "T1"), ("lesson", "T4", "C02")]
    assert {who for who, _, _ in started} == {"A1"} and all(device != "reading" for _, device, _ in started)
    assert assess("results", root).out == assess("results", root, "--as", "A1").out


def test_somebody_at_a_terminal_is_asked_once_who_they_are(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import io
    import sys

    from assess.cli import options, say
    from assess.desk import who

    monkeypatch.setattr(say, "on_terminal", lambda: True)
    monkeypatch.setattr(sys, "stdin", io.StringIO("A2\nnobody\n"))
    chosen = who.settle_who(root, None, ask=options.ask_who)
    assert chosen == "A2"
    assert who.settle_who(root, None, ask=options.ask_who) == "A2"
    assert sys.stdin.readline() == "nobody\n"


def test_what_is_no_course_is_told_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("hello")
    for path in (tmp_path, tmp_path / "notes.txt", tmp_path / "nothing"):
        ran = assess("open", path)
        assert (ran.code, ran.out) == (3, "") and ran.err.startswith(f"{path}") and "; " in ran.err
    rubric = assess("open", RUBRIC)
    assert rubric.code == 0 and rubric.out == assess("rubric", "show", RUBRIC).out


# --- demo ------------------------------------------------------------------------------------------


def test_demo_without_a_terminal_prints_the_results_of_the_sample_and_keeps_nothing(tmp_path: Path) -> None:
    ran = assess_process("demo", cwd=tmp_path, TMPDIR=str(tmp_path))
    assert ran.code == 0 and ran.err == "" and list(tmp_path.iterdir()) == []
    assert ran.out == assess("results", sample_course(), "--as", "A1").out
    assert "Aldous Prynne" in ran.out
    as_json = assess_process("demo", "--json", cwd=tmp_path, TMPDIR=str(tmp_path))
    assert as_json.json == assess("results", sample_course(), "--as", "A1", "--json").json
    assert list(tmp_path.iterdir()) == []


def test_demo_on_a_terminal_opens_a_copy_as_a1_and_keeps_what_was_done_to_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from assess.cli import say
    from assess.tui import app

    opened = []
    monkeypatch.setattr(say, "on_terminal", lambda: True)

    def run(desk: Any, start: object) -> int:
        opened.append((desk.who, desk.folder.root, start))
        return 0

    monkeypatch.setattr(app, "run", run)
    monkeypatch.chdir(tmp_path)
    assert assess("demo").code == 0
    copy = tmp_path / "assess-sample"
    assert opened == [("A1", Path("assess-sample"), "board")]
    assert tree(copy) == tree(sample_course())
    (copy / "people.yaml").write_text((copy / "people.yaml").read_text() + "# mine\n")
    assert assess("demo", "--as", "A3").code == 0
    assert opened[1][0] == "A3" and (copy / "people.yaml").read_text().endswith("# mine\n")


def test_demo_before_the_first_mark_is_the_same_course_to_be_marked_and_kept(tmp_path: Path) -> None:
    ran = assess_process("demo", "--unmarked", cwd=tmp_path, TMPDIR=str(tmp_path))
    made = tmp_path / "assess-morning"
    assert ran.code == 0 and [path.name for path in tmp_path.iterdir()] == [made.name]
    assert "mine locked 0 of 5, locked by all 0 of 10" in ran.out
    assert sorted(path.name for path in made.iterdir()) == ["course.yaml", "people.yaml", "rubrics"]
    assert assess("check", made).code == 0
    assert assess("mark", made / "T1.C04", "--as", "A1", "edging=4").code == 0
    assert "T1 bib 23" in assess_process("demo", "--unmarked", cwd=tmp_path, TMPDIR=str(tmp_path)).out, "as it was left"
    assert "not released" in assess("results", made, "--as", "A1").out


def test_a_terminal_that_can_place_no_cursor_gets_lines_and_no_screen(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from assess.cli import say
    from assess.tui import app

    opened: list[str] = []

    def run(desk: object, start: str) -> int:
        opened.append(start)
        return 0

    monkeypatch.setattr(say, "on_terminal", lambda: True)
    monkeypatch.setattr(app, "run", run)
    monkeypatch.setenv("TERM", "dumb")
    ran = assess("open", root, "--as", "A1")
    assert ran.code == 0 and "T1" in ran.out and opened == []
    monkeypatch.setenv("TERM", "xterm")
    assert assess("open", root, "--as", "A1").code == 0 and opened == ["board"]


def test_demo_leaves_any_other_folder_alone_and_fills_an_empty_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from assess.cli import say

    monkeypatch.setattr(say, "on_terminal", lambda: True)
    for name in ("other", "file", "empty"):
        (tmp_path / name).mkdir() if name != "file" else (tmp_path / name).write_text("x")
    (tmp_path / "other" / "mine.txt").write_text("x")
    course = build_course(tmp_path / "course")
    before = tree(tmp_path)
    for name in ("other", "file", "course"):
        ran = assess("demo", "--dir", tmp_path / name, "--plain")
        assert ran.code == 1 and "with --dir" in ran.err
    assert tree(tmp_path) == before and course.is_dir()
    assert assess("demo", "--dir", tmp_path / "empty", "--plain").code == 0
    assert tree(tmp_path / "empty") == tree(sample_course())


# --- check, new, schema, rubric ----------------------------------------------------------------------


def test_check_says_file_line_what_and_what_to_do_and_ends_with_1(root: Path) -> None:
    people = root / "people.yaml"
    people.write_text(people.read_text().replace("name: Marker A2", "nme: Marker A2"))
    ran = assess("check", root)
    assert ran.code == 1 and ran.err == ""
    assert (
        f"{people}:8: `nme` of number 2 of `assessors` is not a key that is known here; did you mean `name`?" in ran.out
    )
    document = assess("check", root, "--json").json
    assert {finding["file"] for finding in document["findings"]} == {str(people)}
    assert all(set(finding) == {"file", "line", "what", "todo", "doubt"} for finding in document["findings"])


def test_check_marks_what_is_worth_a_look_and_ends_with_0(root: Path) -> None:
    (root / "notes.txt").write_text("x")
    ran = assess("check", root, "--as", "D1")
    assert (
        ran.code == 0 and f"{root}/notes.txt: look: " in ran.out and ran.out.endswith("nothing wrong, 1 to look at\n")
    )


def test_the_sample_course_and_the_shipped_rubrics_pass_check() -> None:
    ran = assess("check", sample_course(), *RUBRICS)
    assert (ran.code, ran.err) == (0, "") and "nothing wrong" in ran.out


def test_new_names_what_it_made(tmp_path: Path) -> None:
    made = assess("new", "course", tmp_path / "c", "--json").json["made"]
    assert [Path(name).name.split("@")[0] for name in made] == ["first-rubric", "people.yaml", "course.yaml"]
    assert assess("new", "rubric", tmp_path / "r-1.yaml").out == f"made {tmp_path}/r-1.yaml\n"
    assert assess("check", tmp_path / "c", tmp_path / "r-1.yaml").code == 0
    again = assess("new", "course", tmp_path / "c", "--json")
    assert again.code == 1 and "is there already" in again.json["refused"]["what"]


@pytest.mark.parametrize("name", SCHEMA_NAMES)
def test_a_schema_is_printed_as_one_document(name: str) -> None:
    ran = assess("schema", name)
    assert (ran.code, ran.err) == (0, "") and ran.json == schema(name)
    assert name in assess("schema").out.split("\n")
    assert assess("schema", "--json").json[name] == ran.json


def test_an_unknown_schema_names_those_there_are() -> None:
    ran = assess("schema", "sheets")
    assert (ran.code, ran.out) == (2, "") and "use one of course, people" in ran.err


def test_rubrics_are_shown_compared_and_checked(tmp_path: Path) -> None:
    assert "grips to the end of every turn" in assess("rubric", "show", RUBRIC).out
    assert assess("rubric", "show", RUBRIC, "--json").json["id"] == "r-2026.1"
    old, new = RUBRICS
    ran = assess("rubric", "diff", old, new, "--json")
    assert ran.code == 0 and ran.json["could_change_outcomes"] is False and ran.json["areas"] == ["teach"]
    assert assess("rubric", "diff", old, new).out.startswith("Wording only: ")
    assert assess("rubric", "check", old, new).code == 0
    bad = tmp_path / "bad.yaml"
    bad.write_text(old.read_text().replace('pass_line: "3.5"', "pass_line: 3.5").replace("minutes: 6", "minutes: six"))
    ran = assess("rubric", "check", bad)
    assert ran.code == 1 and ran.out.count(f"{bad}:") == 3 and ran.out.endswith("3 wrong\n")
    assert assess("rubric", "diff", old, bad).code == 3
    assert json.loads(assess("rubric", "check", bad, "--json").out)["findings"][0]["line"] > 1


def test_plain_words_are_all_the_command_line_ever_prints(marked: Path) -> None:
    for words in (["results", marked, "--as", "D1"], ["open", marked, "--as", "A1"], ["check", marked], ["--help"]):
        out = assess(*words).out
        assert "\x1b" not in out and not any(0x2500 <= ord(sign) < 0x2580 for sign in out)


def test_every_document_is_alone_on_stdout(marked: Path) -> None:
    for words in (["results"], ["check"], ["verify"], ["open"], ["export", "--to", "csv"], ["seal"]):
        ran = assess(words[0], marked, *words[1:], "--as", "A1", "--json")
        assert ran.code == 0 and json.loads(ran.out)
    assert ROOT.is_dir()
