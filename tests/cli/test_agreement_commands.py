"""`assess agreement` and `assess dependability`: the documents other programs rely on, the words, the exit codes."""

from __future__ import annotations

import json
import math
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import ROOT, assess, assess_process
from tests.courses import build_course, open_desk
from tests.test_startup import started

SAMPLE = ROOT / "sample_sessions" / "course"
ESTIMATE = {"estimate", "se", "ci95", "interval", "n", "undefined", "sentence"}
STATISTICS = (
    "percent_agreement", "within_one", "krippendorff_alpha", "fleiss_kappa", "conger_kappa", "gwet_ac",
    "brennan_prediger", "kendall_w",
)  # fmt: skip
ICC_FORMS = ["ICC(1)", "ICC(A,1)", "ICC(C,1)", "ICC(k)", "ICC(A,k)", "ICC(C,k)"]


def table(folder: Path, rows: str, head: str = "candidate,assessor,score") -> Path:
    path = folder / "scores.csv"
    path.write_text(head + "\n" + rows, encoding="utf-8")
    return path


def grid(*columns: str) -> str:
    """One column of digits for each assessor, one digit for each candidate; `.` is missing."""
    return "".join(
        f"C{number:02d},A{place},{'' if digit == '.' else digit}\n"
        for place, column in enumerate(columns, 1)
        for number, digit in enumerate(column, 1)
    )


FOUR = grid("1234332122131425", "1234322122132425", "123433212214152.", "122432212213142.")


def every_number(document: Any) -> list[float]:
    if isinstance(document, dict):
        return [number for item in document.values() for number in every_number(item)]
    if isinstance(document, list):
        return [number for item in document for number in every_number(item)]
    return [document] if isinstance(document, int | float) and not isinstance(document, bool) else []


def test_the_document_has_every_key_other_programs_rely_on(tmp_path: Path) -> None:
    ran = assess("agreement", table(tmp_path, FOUR), "--levels", "1,2,3,4,5", "--line", "2.5", "--json")
    assert (ran.code, ran.err) == (0, "")
    told = ran.json
    assert (told["n_units"], told["n_candidates"], told["n_assessors"], told["n_scores"]) == (16, 16, 4, 62)
    assert told["levels"] == [1, 2, 3, 4, 5] and told["warnings"] == []
    for name in STATISTICS:
        assert set(told[name]) >= ESTIMATE, name
    assert told["gwet_ac"]["form"] == "AC1" and sum(map(sum, told["at_pass_line"]["table"])) == 2 * (15 * 6 + 1)
    assert list(told["icc"]) == ICC_FORMS and set(told["sem"]) >= {"consistency", "absolute"}
    assert len(told["pairs"]) == 6
    pair = told["pairs"][0]
    assert set(pair) >= {"a", "b", "n", "percent_agreement", "cohen_kappa", "bland_altman", "spearman", "kendall_tau_b"}
    assert set(pair["cohen_kappa"]) >= {"estimate", "se", "se_null", "ci95"}
    assert set(pair["bland_altman"]) >= {"bias", "sd", "limits", "limits_ci95"}
    assert all(math.isfinite(number) for number in every_number(told))


def test_of_two_assessors_conger_is_cohen_worked_out_by_hand(tmp_path: Path) -> None:
    """20 units, both 1: 8, both 2: 6, first 1 second 2: 4, first 2 second 1: 2.

    p_o = 14/20 = .7; shares of level 1: 12/20 and 10/20, so p_e = .6 x .5 + .4 x .5 = .5; kappa = .2/.5 = .4
    (Cohen 1960, Educ. Psychol. Meas. 20, 37-46, eq. 1).
    """
    rows = grid("1" * 12 + "2" * 8, "1" * 8 + "2" * 4 + "1" * 2 + "2" * 6)
    told = assess("agreement", table(tmp_path, rows), "--levels", "1,2", "--json").json
    assert told["percent_agreement"]["estimate"] == pytest.approx(0.7)
    assert told["pairs"][0]["cohen_kappa"]["estimate"] == pytest.approx(0.4)
    assert told["conger_kappa"]["estimate"] == pytest.approx(0.4)


def test_without_levels_the_values_seen_are_taken_and_a_warning_says_so(tmp_path: Path) -> None:
    told = assess("agreement", table(tmp_path, FOUR), "--json").json
    assert told["levels"] == [1, 2, 3, 4, 5] and any("scale" in warning for warning in told["warnings"])
    assert told["at_pass_line"] is None


def test_weights_and_metric_reach_the_statistics(tmp_path: Path) -> None:
    path = table(tmp_path, FOUR)
    told = {
        options: assess("agreement", path, "--levels", "1,2,3,4,5", "--json", *options).json
        for options in ((), ("--weights", "quadratic"), ("--metric", "nominal"))
    }
    plain, weighted, nominal = told.values()
    assert weighted["gwet_ac"]["form"] == "AC2"
    assert weighted["gwet_ac"]["estimate"] > plain["gwet_ac"]["estimate"]
    assert weighted["krippendorff_alpha"] == plain["krippendorff_alpha"]
    assert nominal["krippendorff_alpha"]["estimate"] < plain["krippendorff_alpha"]["estimate"]
    assert nominal["gwet_ac"] == plain["gwet_ac"]


def test_the_same_seed_gives_the_same_bytes_and_the_order_of_rows_is_nothing(tmp_path: Path) -> None:
    path = table(tmp_path, FOUR)
    first = assess("agreement", path, "--json", "--seed", "3", "--replicates", "200")
    turned = table(tmp_path, "\n".join(reversed(FOUR.split())) + "\n")
    assert assess("agreement", turned, "--json", "--seed", "3", "--replicates", "200").out == first.out
    other = assess("agreement", path, "--json", "--seed", "4", "--replicates", "200").json
    assert other["krippendorff_alpha"]["ci95"] != first.json["krippendorff_alpha"]["ci95"]


@pytest.mark.parametrize(
    "rows",
    [
        grid("1111"), grid("1", "2"), grid("3333", "3333"), grid("1.2.", ".1.2"), grid("12", "12", "12"),
        grid("15", "51"),
    ],
    ids=["one assessor", "one unit", "all equal", "nothing in common", "full agreement", "opposite"],
)  # fmt: skip
@pytest.mark.parametrize("declared", [True, False])
def test_what_cannot_be_told_is_null_with_its_reason_and_never_a_number_by_accident(
    tmp_path: Path, rows: str, declared: bool
) -> None:
    words = ["--levels", "1,2,3,4,5", "--line", "2.5"] if declared else []
    ran = assess("agreement", table(tmp_path, rows), "--json", *words)
    assert ran.code == 0, ran.err
    assert all(math.isfinite(number) for number in every_number(ran.json))
    for name in STATISTICS:
        told = ran.json[name]
        assert (told["estimate"] is None) == (told["undefined"] is not None), name
    text = assess("agreement", table(tmp_path, rows), *words)
    assert text.code == 0 and not re.search(r"\b(nan|inf)\b", text.out.lower())
    assert max(map(len, text.out.splitlines())) < 80


def test_the_text_says_findings_first_then_numbers_then_cautions_in_eighty_columns(tmp_path: Path) -> None:
    ran = assess("agreement", SAMPLE)
    assert ran.code == 0
    lines = ran.out.splitlines()
    assert max(map(len, lines)) < 80
    first, numbers, care = (
        next(place for place, line in enumerate(lines) if line.startswith(start))
        for start in ("* ", "how often two assessors give", "Take care:")
    )
    assert first < numbers < care
    assert "never a" in lines[0] and "4 assessors, 10 candidates, 448 scores of 224 units" in ran.out


def test_the_sample_course_gives_levels_and_line_of_its_rubric(tmp_path: Path) -> None:
    told = assess("agreement", SAMPLE, "--json").json
    assert told["levels"] == [1, 2, 3, 4, 5, 6] and told["at_pass_line"]["estimate"] is not None
    exported = assess("export", SAMPLE, "--to", "csv", "--as", "D1").out
    path = tmp_path / "exported.csv"
    path.write_text(exported, encoding="utf-8")
    table_told = assess("agreement", path, "--levels", "1,2,3,4,5,6", "--line", "3.5", "--json").json
    assert any("the column `rubric` is not read" in warning for warning in table_told["warnings"])
    for name in STATISTICS:
        assert table_told[name] == told[name], name


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--levels", "1,2,x"], 2, "`1,2,x` is no scale"),
        (["--levels", "1"], 2, "`1` is no scale"),
        (["--levels", "1,1,2"], 2, "is no scale"),
        (["--levels", "1,inf"], 2, "is no scale"),
        (["--levels", "1,2,3"], 3, "scores.csv:5: 4 is no level of the scale 1, 2, 3"),
        (["--line", "nan"], 2, "the pass line is no number"),
        (["--metric", "other"], 2, "--metric"),
        (["--replicates", "-1"], 2, "--replicates"),
        (["--seed", "x"], 2, "--seed"),
    ],
)
def test_words_and_scores_that_are_off_are_told_with_nothing_on_stdout(
    tmp_path: Path, words: list[str], code: int, said: str
) -> None:
    ran = assess("agreement", table(tmp_path, FOUR), "--json", *words)
    assert (ran.code, ran.out) == (code, "")
    assert said in ran.err and "Traceback" not in ran.err


@pytest.mark.parametrize("command", ["agreement", "dependability"])
def test_a_table_that_cannot_be_used_is_told_line_by_line(tmp_path: Path, command: str) -> None:
    path = table(tmp_path, "C1,A1,x\nC1,A2,2\nC1,A2,y\n")
    ran = assess(command, path, "--json")
    assert (ran.code, ran.out) == (3, "")
    assert ran.err.splitlines() == [
        f"{path}:2: the score `x` is no number; leave the cell empty where no score was given",
        f"{path}:4: the score `y` is no number; leave the cell empty where no score was given",
    ]
    twice = assess(command, table(tmp_path, "C1,A1,1\n\nC1,A2,2\nC1,A2,3\n"), "--json")
    assert (twice.code, twice.out) == (3, "")
    assert f"{path}:5: an assessor scored one candidate, task and criterion twice" in twice.err


@pytest.mark.parametrize("command", ["agreement", "dependability"])
def test_a_source_that_is_not_there_is_told(tmp_path: Path, command: str) -> None:
    ran = assess(command, tmp_path / "nowhere.csv")
    assert (ran.code, ran.out) == (3, "") and "is not there" in ran.err
    assert assess(command).code == 2


def mark_and_lock(root: Path, who: str, level: int, *, lock: bool = True, upto: int = 9) -> None:
    desk = open_desk(root, who, device=f"{who.lower()}xx")
    for number, slot in enumerate(desk.course.allocation):
        if number < upto:
            sheet = desk.slot(slot.task, slot.candidate)
            for place, criterion in enumerate(sheet.criteria):
                sheet.score(criterion, min(6, level + (number + place) % 2))
                sheet.note("seen from below", (criterion,))
            if lock:
                sheet.lock()
    assert desk.close()


@pytest.mark.parametrize("command", ["agreement", "dependability"])
def test_before_everybody_has_locked_it_is_a_refusal_that_says_nothing_of_anybody(tmp_path: Path, command: str) -> None:
    base = build_course(tmp_path / "base", tasks=("T1",))
    mark_and_lock(base, "A1", 4)
    root, said = tmp_path / "course", []
    for level, upto in ((2, 0), (2, 1), (5, 3)):
        shutil.rmtree(root, ignore_errors=True)
        shutil.copytree(base, root)
        mark_and_lock(root, "A2", level, lock=False, upto=upto)
        said.append(assess(command, root, "--json").all)
    assert said[0] == said[1] == said[2]
    code, out, err = said[0]
    assert code == 1 and "there is nothing to compare" in json.loads(out)["refused"]["what"]
    assert "ask again when everybody has locked" in err


def test_what_a_partner_has_not_locked_changes_no_byte_of_the_answer(tmp_path: Path) -> None:
    """One slot locked by both, two by A1 alone; then A2 marks the two, this way or that, without a lock."""
    base = build_course(tmp_path / "base", tasks=("T1",))
    mark_and_lock(base, "A1", 4)
    mark_and_lock(base, "A2", 3, upto=1)
    root = tmp_path / "course"
    told = []
    for level in (None, 1, 5):
        shutil.rmtree(root, ignore_errors=True)
        shutil.copytree(base, root)
        if level is not None:
            desk = open_desk(root, "A2", device="a2xx")
            for candidate in ("C02", "C03"):
                desk.slot("T1", candidate).score("edging", level)
            assert desk.close()
        told.append([assess(command, root, *more).all for command in ("agreement", "dependability")
                     for more in ((), ("--json",), ("--as", "A1"), ("--as", "A2", "--json"))])  # fmt: skip
    assert told[0] == told[1] == told[2]
    assert told[0][1][0] == 0 and json.loads(told[0][1][1])["n_candidates"] == 1


def test_two_courses_on_different_scales_are_refused_with_the_refusal_as_the_document(tmp_path: Path) -> None:
    rubric = (ROOT / "rubrics" / "alpine-ski" / "r-2026.1.yaml").read_text(encoding="utf-8")
    wide = tmp_path / "wide.yaml"
    words = '    7: "beyond"\n'
    text = rubric.replace("  max: 6\n", "  max: 7\n", 1).replace("  words:\n", "  words:\n" + words, 1)
    wide.write_text(text, encoding="utf-8")
    roots = [build_course(tmp_path / "one", tasks=("T1",)), build_course(tmp_path / "two", tasks=("T1",), rubric=wide)]
    course = roots[1] / "course.yaml"
    course.write_text(course.read_text(encoding="utf-8").replace("id: K-TEST", "id: K-TEST2"), encoding="utf-8")
    for root in roots:
        for who in ("A1", "A2"):
            mark_and_lock(root, who, 4)
    ran = assess("agreement", *roots, "--json")
    assert ran.code == 1 and "different scales" in ran.json["refused"]["what"]


def test_help_of_both_commands_loads_nothing_heavy() -> None:
    for command in ("agreement", "dependability"):
        found = started(command, "--help")
        assert found["code"] == 0
        assert {"numpy", "scipy", "textual", "ruamel", "pandas"}.isdisjoint(found["modules"])


def test_agreement_of_a_table_needs_no_screen_and_no_statistics_package_beyond_what_it_uses() -> None:
    ran = assess_process("agreement", SAMPLE, "--json")
    assert ran.code == 0 and ran.json["n_scores"] == 448
    found = started("agreement", str(SAMPLE), "--json")
    assert {"textual", "pandas", "jinja2", "matplotlib"}.isdisjoint(found["modules"])


# --- dependability -------------------------------------------------------------------------------


def test_the_dependability_document_has_every_key_other_programs_rely_on(tmp_path: Path) -> None:
    words = ["--line", "2.5", "--assessors", "1-3", "--tasks", "2", "--json"]
    ran = assess("dependability", table(tmp_path, FOUR), *words)
    assert (ran.code, ran.err) == (0, "")
    told = ran.json
    assert told["design"] == "candidate x assessor" and told["method"] == "reml"
    assert isinstance(told["minus_two_restricted_log_likelihood"], float)
    assert [component["source"] for component in told["components"]] == [
        "candidate", "assessor", "candidate x assessor, with error",
    ]  # fmt: skip
    assert set(told) >= {"g", "phi", "phi_at_line", "sem_relative", "sem_absolute", "d_study", "warnings"}
    assert {plan["assessors"] for plan in told["d_study"]} == {1, 2, 3}
    assert all(set(plan) >= {"assessors", "tasks", "g", "phi", "sem_absolute"} for plan in told["d_study"])
    assert all(math.isfinite(number) for number in every_number(told))


def test_of_a_single_task_the_criteria_are_looked_at_and_of_a_single_criterion_neither(tmp_path: Path) -> None:
    rows = "".join(
        f"{row},T1,{criterion}\n" for criterion in ("edging", "line") for row in FOUR.replace(",\n", ",3\n").split()
    )
    head = "candidate,assessor,score,task,criterion"
    told = assess("dependability", table(tmp_path, rows, head), "--json").json
    assert told["facet"] == "criterion"
    assert told["warnings"][0] == "there is only one task: how another would have come out cannot be told"
    half = "".join(line + "\n" for line in rows.split() if line.endswith("edging"))
    told = assess("dependability", table(tmp_path, half, head), "--json").json
    assert (told["facet"], told["design"]) == ("", "candidate x assessor")


def test_with_anova_the_likelihood_is_null(tmp_path: Path) -> None:
    complete = grid("1234332122", "1234322122", "1234332122")
    told = assess("dependability", table(tmp_path, complete), "--method", "anova", "--json").json
    assert told["method"] == "anova" and told["minus_two_restricted_log_likelihood"] is None


def test_the_sample_course_has_two_facets_in_eighty_columns() -> None:
    told = assess("dependability", SAMPLE, "--json").json
    assert [component["source"] for component in told["components"]] == [
        "candidate", "task", "assessor", "candidate x task", "candidate x assessor", "task x assessor",
        "candidate x task x assessor, with error",
    ]  # fmt: skip
    ran = assess("dependability", SAMPLE)
    assert ran.code == 0 and max(map(len, ran.out.splitlines())) < 80
    assert "Where the differences come from" in ran.out and "Take care:" in ran.out


@pytest.mark.parametrize(
    "rows", [grid("1234"), grid("1", "2"), grid("3333", "3333")], ids=["one assessor", "one unit", "all equal"]
)
def test_without_any_estimate_the_refusal_is_the_result(tmp_path: Path, rows: str) -> None:
    ran = assess("dependability", table(tmp_path, rows), "--json")
    assert all(math.isfinite(number) for number in every_number(ran.json))
    assert (ran.code, ran.json["components"], ran.json["g"]) == (1, [], None)
    assert ran.json["undefined"]
    text = assess("dependability", table(tmp_path, rows))
    assert text.code == ran.code and max(map(len, text.out.splitlines())) < 80


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--assessors", "0-3"], "`0-3` is no number of them"),
        (["--tasks", "3-1"], "`3-1` is no number of them"),
        (["--assessors", "1-99"], "at most 20"),
        (["--method", "other"], "--method"),
        (["--line", "inf"], "the pass line is no number"),
    ],
)
def test_numbers_to_look_ahead_for_that_are_off_are_told(tmp_path: Path, words: list[str], said: str) -> None:
    ran = assess("dependability", table(tmp_path, FOUR), *words)
    assert (ran.code, ran.out) == (2, "") and said in ran.err
