"""`assess severity`: the document other programs rely on, the words, the exit codes."""

from __future__ import annotations

import io
import math
from pathlib import Path
from typing import Any

import pytest

from assess.cli.say import told_share
from tests.agreement.rasch_tables import MFRM, facets_set, simulated
from tests.cli.commands import ROOT, assess
from tests.test_startup import started

SAMPLE = ROOT / "sample_sessions" / "course"
KEYS = {
    "model", "method", "levels", "linked", "groups", "deviance", "log_likelihood", "converged", "assessors", "criteria",
    "tasks", "steps", "candidates", "population", "told_apart", "equal_scores", "warnings",
}  # fmt: skip


def written(folder: Path, rows: list[str], head: str = "candidate,criterion,assessor,score") -> Path:
    path = folder / "scores.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def check_table(folder: Path, name: str) -> tuple[Path, dict[str, Any]]:
    """A check set as a table; its levels start at 1 in the table."""
    scores, check = facets_set(name)
    rows = [f"{c},{k},{a},{v + 1}" for c, a, k, v in check["data"]]
    assert len(rows) == scores.n_scores
    return written(folder, rows), check


def small(folder: Path, seed: int = 1) -> Path:
    scores = simulated(seed, candidates=8, each=3)
    return written(
        folder,
        [
            f"{scores.candidates[c]},{scores.criteria[k]},{scores.assessors[a]},{v:g}"
            for c, k, a, v in zip(scores.candidate, scores.criterion, scores.assessor, scores.value, strict=True)
        ],
    )


def every_number(document: Any) -> list[float]:
    if isinstance(document, dict):
        return [number for item in document.values() for number in every_number(item)]
    if isinstance(document, list):
        return [number for item in document for number in every_number(item)]
    return [document] if isinstance(document, int | float) and not isinstance(document, bool) else []


@pytest.mark.parametrize("name", MFRM)
def test_the_document_is_that_of_the_check_set(tmp_path: Path, name: str) -> None:
    path, check = check_table(tmp_path, name)
    model = "partial_credit" if check["model"] == "pcm" else "rating_scale"
    levels = ",".join(str(level) for level in range(1, check["n_categories"] + 1))
    ran = assess("severity", path, "--model", model, "--levels", levels, "--json")
    assert (ran.code, ran.err) == (0, "")
    told, want = ran.json, check["expected"]["marginal"]
    assert set(told) >= KEYS and told["linked"] and told["converged"] and told["method"] == "marginal"
    assert [row["severity"] for row in told["assessors"]] == pytest.approx(want["C"], abs=1e-4)
    assert [row["se"] for row in told["assessors"]] == pytest.approx(want["se_C"], abs=1e-4)
    assert [row["difficulty"] for row in told["criteria"]] == pytest.approx(want["D"], abs=1e-4)
    assert [row["threshold"] for row in told["steps"]] == pytest.approx(
        [value for steps in want["F"] for value in steps], abs=1e-4
    )
    assert [row["level"] for row in told["steps"]] == list(range(2, check["n_categories"] + 1)) * len(want["F"])
    assert told["deviance"] == pytest.approx(want["deviance"], abs=1e-5)
    assert told["population"]["sd"] ** 2 == pytest.approx(want["sigma2"], abs=1e-4)
    assert all(math.isfinite(number) for number in every_number(told))


def test_the_joint_method_is_asked_for_and_named(tmp_path: Path) -> None:
    path, check = check_table(tmp_path, "mfrm_rsm__sim500")
    told = assess("severity", path, "--method", "joint", "--levels", "1,2,3,4,5", "--json").json
    want = check["expected"]["joint"]
    assert told["method"] == "joint" and told["population"] is None
    assert told["log_likelihood"] == pytest.approx(want["loglik"], abs=1e-5)
    assert [row["ability"] for row in told["candidates"]] == pytest.approx(want["B"], abs=1e-5)
    assert [row["outfit"] for row in told["assessors"]] == pytest.approx(want["fit_rater"]["outfit"], abs=1e-5)
    # The table counts levels from 1, the check set from 0.
    average = [level + 1 for level in want["score_at_average_assessor_person"]]
    assert [row["at_average_assessor"] for row in told["candidates"]] == pytest.approx(average, abs=1e-5)


def test_a_network_in_pieces_ends_with_one_and_names_the_groups(tmp_path: Path) -> None:
    rows = [f"C{c},A{a},{(c + a) % 4 + 1}" for c in range(8) for a in range(4) if (c < 4) == (a < 2)]
    path = written(tmp_path, rows, "candidate,assessor,score")
    ran = assess("severity", path, "--levels", "1,2,3,4", "--json")
    assert (ran.code, ran.err) == (1, "")
    assert ran.json["linked"] is False and ran.json["groups"] == [["A0", "A1"], ["A2", "A3"]]
    assert ran.json["assessors"] == [] and ran.json["deviance"] is None and "one sheet more" in ran.json["undefined"]
    plain = assess("severity", path, "--levels", "1,2,3,4")
    assert plain.code == 1 and "A0, A1; A2, A3" in " ".join(plain.out.split()) and "nan" not in plain.out


def test_the_words_are_a_sentence_for_each_assessor_a_table_and_the_caution(tmp_path: Path) -> None:
    ran = assess("severity", small(tmp_path), "--levels", "1,2,3,4,5", "--plain")
    text = " ".join(ran.out.split())
    assert ran.code == 0 and ran.err == ""
    for name in ("A0", "A1", "A2", "A3"):
        assert sum(line.startswith(f"* {name} ") for line in ran.out.splitlines()) == 1
        assert sum(line.startswith(f"  {name} ") for line in ran.out.splitlines()) == 1
    assert "Never a sanction from one number" in text and "never a verdict" in text
    assert "95 % interval" in text and "marginal maximum likelihood" in text
    assert all(len(line) < 80 for line in ran.out.splitlines())


def test_a_level_nobody_used_and_a_scale_nobody_named_are_said(tmp_path: Path) -> None:
    path = small(tmp_path)
    assert "nobody used level 6" in " ".join(assess("severity", path, "--levels", "1,2,3,4,5,6").out.split())
    assert any("scale" in warning for warning in assess("severity", path, "--json").json["warnings"])


def test_the_sample_course_is_read_with_its_scale() -> None:
    ran = assess("severity", SAMPLE, "--json")
    assert ran.code == 0 and ran.json["linked"]
    assert [row["id"] for row in ran.json["assessors"]] == ["A1", "A2", "A3", "A4"]
    assert all(row["within_sheet"]["n"] > 0 for row in ran.json["assessors"])
    strictest = max(ran.json["assessors"], key=lambda row: float(row["severity"]))
    assert strictest["id"] == "A3"


@pytest.mark.parametrize(
    ("words", "code"),
    [(["--model", "magic"], 2), (["--method", "magic"], 2), (["--levels", "1"], 2), (["--levels", "1,2"], 3)],
)
def test_wrong_words_and_wrong_scores_have_their_exit_codes(tmp_path: Path, words: list[str], code: int) -> None:
    ran = assess("severity", small(tmp_path), *words, "--json")
    assert (ran.code, ran.out) == (code, "") and "Traceback" not in ran.err


def test_the_command_is_described_without_the_heavy_libraries() -> None:
    found = started("severity", "--help")
    assert found["code"] == 0 and {"numpy", "scipy", "textual", "ruamel", "pandas"}.isdisjoint(found["modules"])


def test_how_far_it_is_is_told_on_a_terminal_only(monkeypatch: pytest.MonkeyPatch) -> None:
    class Screen(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr("sys.stderr", io.StringIO())
    assert told_share("working") is None
    screen = Screen()
    monkeypatch.setattr("sys.stderr", screen)
    tell = told_share("working")
    assert tell is not None and tell(0.25) and tell(1.0)
    # At the end the line is blank again.
    assert screen.getvalue() == f"\rworking:  25 %\r{' ' * 14}\r"


def test_nothing_of_it_is_written_when_stderr_is_no_terminal(tmp_path: Path) -> None:
    ran = assess("severity", small(tmp_path), "--levels", "1,2,3,4,5")
    assert ran.code == 0 and ran.err == ""
