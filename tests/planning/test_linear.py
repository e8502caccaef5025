"""The solver's answers are looked at before they are used."""

from __future__ import annotations

import random
from itertools import product

import numpy as np
import pytest

from assess.planning.linear import Program, SolverTrouble


def drawn(pick: random.Random) -> tuple[Program, list[int], list[tuple[list[int], int, int]]]:
    """A small program of whole numbers 0 to 2, and what it says."""
    program, costs, rows = Program(), [pick.randint(-3, 3) for _ in range(4)], []
    numbers = [program.variable(cost, 0, 2, whole=True) for cost in costs]
    for _ in range(pick.randint(0, 3)):
        factors, least = [pick.randint(-2, 2) for _ in range(4)], pick.randint(-4, 2)
        rows.append((factors, least, least + pick.randint(0, 4)))
        program.row(list(zip(numbers, factors, strict=True)), *rows[-1][1:])
    return program, costs, rows


def test_the_smallest_cost_is_that_found_by_trying_everything() -> None:
    seen = set()
    for seed in range(300):
        program, costs, rows = drawn(random.Random(seed))
        fits = [
            sum(c * v for c, v in zip(costs, values, strict=True))
            for values in product(range(3), repeat=4)
            if all(least <= sum(f * v for f, v in zip(fs, values, strict=True)) <= most for fs, least, most in rows)
        ]
        found = program.solve_if_possible()
        seen.add(found is None)
        assert (found is None) == (not fits), seed
        if found is not None:
            assert sum(c * round(v) for c, v in zip(costs, found, strict=True)) == min(fits), seed
    assert seen == {True, False}


def test_a_program_without_values_says_so_when_there_must_be_some() -> None:
    program = Program()
    program.row([(program.variable(0, 0, 1, whole=True), 1)], least=2)
    assert program.solve_if_possible() is None
    with pytest.raises(SolverTrouble):
        program.solve()
    assert Program().solve() == []


def test_an_answer_outside_its_bounds_is_not_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a solver has been seen to do: it ends as optimal, and a value that may be 0 or 1 is -1."""
    program = Program()
    program.row([(program.variable(1, 0, 1, whole=True), 1)], least=1)
    assert program.solve() == [1.0]
    for wrong in (-1.0, 0.0, 0.5, 2.0):
        monkeypatch.setattr(program, "_answer", lambda nodes, wrong=wrong: (0, np.array([wrong])))
        with pytest.raises(SolverTrouble):
            program.solve()
