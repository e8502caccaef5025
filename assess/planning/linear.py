"""A linear program with whole-number variables, put together line by line and given to the solver.

The solver is HiGHS, through `scipy.optimize.milp` (Huangfu & Hall 2018, Math. Prog. Comp. 10, 119-142). It is stopped
by a number of nodes, never by a clock: the same program gives the same answer on a slow machine and a fast one.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

__all__ = ["Program", "SolverTrouble"]

Terms = Iterable[tuple[int, float]]
_NODES = 20_000


class SolverTrouble(RuntimeError):
    """The solver gave up without an answer: a fault of the program, for every program given to it has a solution."""


class Program:
    """Variables and rows; `solve` gives each variable's value at the smallest cost."""

    def __init__(self) -> None:
        self._cost: list[float] = []
        self._low: list[float] = []
        self._high: list[float] = []
        self._whole: list[int] = []
        self._rows: list[int] = []
        self._columns: list[int] = []
        self._factors: list[float] = []
        self._least: list[float] = []
        self._most: list[float] = []

    def variable(self, cost: float = 0, low: float = 0, high: float = np.inf, *, whole: bool = False) -> int:
        """A new variable between `low` and `high`; its number."""
        self._cost.append(cost)
        self._low.append(low)
        self._high.append(high)
        self._whole.append(int(whole))
        return len(self._cost) - 1

    def row(self, terms: Terms, least: float = -np.inf, most: float = np.inf) -> None:
        """`least` <= sum of factor * variable <= `most`."""
        for column, factor in terms:
            self._rows.append(len(self._least))
            self._columns.append(column)
            self._factors.append(factor)
        self._least.append(least)
        self._most.append(most)

    def solve(self) -> list[float]:
        """The values of all variables at the smallest cost found. Raises SolverTrouble when there are none."""
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        shape = (len(self._least), len(self._cost))
        # Indices of 32 bits are what the solver takes.
        places = (np.array(self._rows, dtype=np.int32), np.array(self._columns, dtype=np.int32))
        matrix = csr_array((np.array(self._factors, dtype=float), places), shape=shape)
        answer = milp(
            np.array(self._cost),
            integrality=np.array(self._whole),
            bounds=Bounds(np.array(self._low), np.array(self._high)),
            constraints=LinearConstraint(matrix, np.array(self._least), np.array(self._most)),
            options={"node_limit": _NODES, "mip_rel_gap": 1e-6},
        )
        if answer.x is None:
            raise SolverTrouble(str(answer.message))
        return [float(value) for value in answer.x]
