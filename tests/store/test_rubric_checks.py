"""Cross references inside a rubric: one sentence each, with its line."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import pytest

from assess.store.course_folder import load_course
from tests.store.course_maker import COURSE, RUBRIC, RUBRIC_NAME, RUBRIC_SHA, make_course

COVERAGE = b'coverage: "0.75"'
LEVELS = "describes a level outside the scale; use the levels of the scale"
ERROR = b'{value: "0.3", source: x, date: "2026-01-01", n_pairs: 3, ci95: ["0.1", "0.5"]}'
AREAS = "known: demo, teach"
CRITERIA = "known: edging, line, plan"


@pytest.mark.parametrize(
    ("old", "new", "sentences"),
    [
        (b'turns"', b'turns"', []),
        (b"criteria: [plan]", b"criteria: [plan, aim]", [
            f"11: there is no criterion `aim` in this rubric; {CRITERIA}",
        ]),
        (b"criteria: [plan]", b"criteria: [plan, plan]", ["11: criterion `plan` stands twice; take one out"]),
        (b"tasks: [T4]", b"tasks: [T9]", ["8: there is no task `T9` in this rubric; known: T1, T4"]),
        (b"{area: teach, tasks: [T4]}", b"{area: demo, tasks: [T4]}", [
            "8: task `T4` is of another area than the module that counts it; count it in a module of its area",
        ]),
        (b"line: {area: demo", b"line: {area: lore", [f"14: there is no area `lore` in this rubric; {AREAS}"]),
        (b"closes: [teach]", b"closes: [safety]", [f"19: there is no module `safety` in this rubric; {AREAS}"]),
        (b"safety_list:", b"- {id: beyond-a-closure, text: x, closes: [teach]}\nsafety_list:", [
            "20: the must-not `beyond-a-closure` stands twice; give one of the two another id",
        ]),
        (b'pass_line: "3.5"', b'pass_line: "7"', ["6: the pass line is outside the scale; put it between two levels"]),
        (b'pass_line: "3.5"', b'pass_line: "1"', ["6: the pass line is outside the scale; put it between two levels"]),
        (b", 6: f}}\nareas", b"}}\nareas", [
            "6: the scale's words do not stand for each level once; one sentence for each level",
        ]),
        (b"min: 1, max: 6", b"min: 1, max: 1", [
            "6: the scale has no two levels; make `max` larger than `min`",
            "6: the scale's words do not stand for each level once; one sentence for each level",
            f"13: {LEVELS}", f"14: {LEVELS}", f"15: {LEVELS}",
        ]),
        (b"min: 1, max: 6", b"min: 1, max: 600000000", [
            "6: the scale has more than 21 levels; no assessor tells that many apart",
        ]),
        (b"levels: {1: a, 6: f}}\n  line", b"levels: {0: a, 6: f}}\n  line", [f"13: {LEVELS}"]),
        (COVERAGE, COVERAGE + b'\nruns: {T9: 2}', ["17: there is no task `T9` in this rubric; known: T1, T4"]),
        (COVERAGE, COVERAGE + b'\npasses: {T9: last}', ["17: there is no task `T9` in this rubric; known: T1, T4"]),
        (COVERAGE, COVERAGE + b'\nweights: {aim: "2"}', [
            f"17: there is no criterion `aim` in this rubric; {CRITERIA}",
        ]),
        (COVERAGE, COVERAGE + b'\nevidence_needed: {also: [9]}', [
            "17: names a level outside the scale; use the levels of the scale",
        ]),
        (COVERAGE, COVERAGE + b'\nbelow_line: {lore: 1}', [
            f"17: there is no module `lore` in this rubric; {AREAS}",
        ]),
        (COVERAGE, COVERAGE + b'\nband: {z: "1", sheet_error: {lore: ' + ERROR + b"}}", [
            f"17: there is no module `lore` in this rubric; {AREAS}",
        ]),
    ],
)  # fmt: skip
def test_every_name_a_rubric_uses_is_one_it_gives(tmp_path: Path, old: bytes, new: bytes, sentences: list[str]) -> None:
    assert old in RUBRIC
    rubric = RUBRIC.replace(old, new, 1)
    digest = sha256(rubric).hexdigest()
    root = make_course(tmp_path / "k", course=COURSE.replace(RUBRIC_SHA, digest))
    (root / "rubrics" / RUBRIC_NAME).unlink()
    (root / "rubrics" / f"r-1@{digest[:8]}.yaml").write_bytes(rubric)
    told = [str(problem) for problem in load_course(root).problems if problem.file.startswith("rubrics/")]
    assert told == [f"rubrics/r-1@{digest[:8]}.yaml:{sentence}" for sentence in sentences]
