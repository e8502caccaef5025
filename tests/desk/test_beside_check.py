"""An overlay of the catalogue and tables of measures belong to a course, and `check` reads them."""

from __future__ import annotations

from pathlib import Path

from assess.desk.checking import check_paths
from tests.courses import build_course

SIDE = (
    "# assess lesson 1\nmeasure: {id: stop-m, better: lower, what: metres, mdc95: {value: 1.6, of: difference of two"
    " run means, turns_per_run: 3, retest_pairs: 12, ci95: [1.1, 2.6], untaught_change: 0.1}}\n"
    "place: belt\nslope: 6\nsnow: packed\nability: 3\n"
)


def told(root: Path) -> list[str]:
    return [str(problem).removeprefix(f"{root}/") for problem in check_paths([root], "A1").findings]


def test_an_overlay_and_good_tables_are_no_finding(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course")
    (root / "overlay.yaml").write_text("# assess catalogue 1\noff: [pivot-lane]\n", encoding="utf-8")
    (root / "measures").mkdir()
    (root / "measures" / "T4.C01.before.csv").write_text("run,turn,value\n1,1,7.5\n", encoding="utf-8")
    (root / "measures" / "T4.C01.before.yaml").write_text(SIDE, encoding="utf-8")
    assert told(root) == []


def test_a_wrong_id_a_wrong_row_and_a_wrong_name_are_told_with_their_place(tmp_path: Path) -> None:
    root = build_course(tmp_path / "course")
    (root / "overlay.yaml").write_text("# assess catalogue 1\noff: [tail-tab]\n", encoding="utf-8")
    (root / "measures").mkdir()
    (root / "measures" / "T4.C01.after.csv").write_text("run,turn,value\n1,1,x\n", encoding="utf-8")
    (root / "measures" / "T4.C01.after.yaml").write_text(SIDE.replace("slope: 6", "slope: 95"), encoding="utf-8")
    (root / "measures" / "notes.csv").write_text("x\n", encoding="utf-8")
    found = told(root)
    assert any(line.startswith("overlay.yaml:2: off names tail-tab") for line in found)
    assert any(line.startswith("measures/T4.C01.after.csv:2: ") for line in found)
    assert any(line.startswith("measures/T4.C01.after.yaml:4: `slope` must be at most 60") for line in found)
    assert any(
        line.startswith("measures/notes.csv: look: is not named as a table") or "notes.csv" in line for line in found
    )
    assert len(found) == 4
