"""Invariant 7: the rule on the stored inputs gives the same result byte for byte, in whatever order they come."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from assess.marking.fold import fold_sheet
from assess.marking.outcome import module_result
from assess.marking.results_json import to_json
from assess.records.facts import Fact, Score
from tests.marking.building import ledger, rubric
from tests.marking.drawn import Drawn, modules

PROGRAM = """
import json
from assess.marking.outcome import module_result
from assess.marking.results_json import to_json
from tests.marking.sample import CANDIDATES, MODULES, first_case
found = {f"{c} {m}": to_json(module_result(first_case(c, m))) for c in CANDIDATES for m in MODULES}
print(json.dumps(found))
"""


def written(drawn: Drawn, *, reverse: bool = False) -> bytes:
    return json.dumps(to_json(module_result(drawn.case(reverse=reverse)))).encode()


@given(modules(medians=True))
def test_the_same_inputs_in_another_order_give_the_same_bytes(drawn: Drawn) -> None:
    assert written(drawn) == written(drawn)
    assert written(drawn) == written(drawn, reverse=True)


@given(
    st.lists(st.tuples(st.sampled_from("abc"), st.integers(1, 6), st.integers(1, 9), st.integers(0, 2)), max_size=12)
)
def test_ledgers_fold_to_the_same_sheet_in_any_order(entries: list[tuple[str, int, int, int]]) -> None:
    devices = ("d1x", "d2x", "d3x")
    facts: list[list[tuple[int, Fact]]] = [[], [], []]
    for criterion, level, second, device in sorted(entries, key=lambda e: e[2]):
        facts[device].append((second, Score(criterion=criterion, level=level)))
    ledgers = [ledger(facts[i], device=name) for i, name in enumerate(devices)]
    assert fold_sheet(ledgers, rubric=rubric()) == fold_sheet(ledgers[::-1], rubric=rubric())
    assert fold_sheet([*ledgers, ledgers[0]], rubric=rubric()).marks == fold_sheet(ledgers, rubric=rubric()).marks


def test_another_process_with_another_hash_seed_writes_the_same_bytes() -> None:
    outputs = set()
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM],
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": ":".join(path for path in sys.path if path)},
            capture_output=True,
            check=True,
        )
        outputs.add(done.stdout)
    assert len(outputs) == 1


def test_the_result_names_the_rubric_it_was_judged_by() -> None:
    from tests.marking.building import REF, even

    assert to_json(module_result(even(rubric(), 4, rubric_ref=REF)))["rubric"] == REF
    assert replace(even(rubric(), 4), rubric_ref=REF) == even(rubric(), 4, rubric_ref=REF)
