"""A linear program with whole-number variables, put together line by line and given to the solver.

The solver is HiGHS, through `scipy.optimize.milp` (Huangfu & Hall 2018, Math. Prog. Comp. 10, 119-142). Where it is
stopped, it is by a number of nodes and never by a clock: a slow machine gives the same answer as a fast one.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Program", "SolverTrouble"]

Floats = NDArray[np.float64]
Terms = Iterable[tuple[int, float]]
_NODES = 1000
"""Of wishes the best values found after so many nodes are taken; all rows are kept in any case."""
_STOPPED, _INFEASIBLE = 1, 2
"""The numbers `scipy.optimize.milp` gives for it."""
_NEAR = 1e-5


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

    def solve(self, *, wishes: bool = False) -> list[float]:
        """As `solve_if_possible`. Raises SolverTrouble when there are no values."""
        found = self.solve_if_possible(wishes=wishes)
        if found is None:
            raise SolverTrouble("no values fit all rows")
        return found

    def solve_if_possible(self, *, wishes: bool = False) -> list[float] | None:
        """The values of all variables at the smallest cost; None when no values fit all rows.

        wishes: the cost is one of wishes, so that after many nodes the best values found so far will do.
        Raises SolverTrouble when the solver gave values that do not fit, or none without saying that there are none.
        """
        if not self._cost:
            return [] if all(least <= 0 <= most for least, most in zip(self._least, self._most, strict=True)) else None
        status, values = self._answer(_NODES if wishes else None)
        if values is None and status == _STOPPED:
            status, values = self._answer(None)
        if status == _INFEASIBLE:
            return None
        if values is None or not self._fits(values):
            raise SolverTrouble(f"no values that fit all rows (status {status})")
        return [float(value) for value in values]

    def _answer(self, nodes: int | None) -> tuple[int, Floats | None]:
        from scipy.optimize import Bounds, LinearConstraint, milp

        options: Any = {"mip_rel_gap": 1e-6, "presolve": False}
        if nodes is not None:
            options["node_limit"] = nodes
        answer = milp(
            np.array(self._cost),
            integrality=np.array(self._whole),
            bounds=Bounds(np.array(self._low), np.array(self._high)),
            constraints=LinearConstraint(self._matrix(), np.array(self._least), np.array(self._most)),
            # Without presolve: with it, 31 of 1500 small programs came out wrong (values outside their bounds, a
            # worse cost, called infeasible and not so) in the HiGHS of SciPy 1.12; without it, none.
            options=options,
        )
        return int(answer.status), answer.x

    def _matrix(self) -> Any:
        from scipy.sparse import csr_array

        # Indices of 32 bits are what the solver takes.
        places = (np.array(self._rows, dtype=np.int32), np.array(self._columns, dtype=np.int32))
        shape = (len(self._least), len(self._cost))
        return csr_array((np.array(self._factors, dtype=float), places), shape=shape)

    def _fits(self, values: Floats) -> bool:
        """True when the values keep every bound and every row, and are whole where they have to be."""
        sums, whole = self._matrix() @ values, values[np.array(self._whole, dtype=bool)]
        inside = (values >= np.array(self._low) - _NEAR).all() and (values <= np.array(self._high) + _NEAR).all()
        kept = (sums >= np.array(self._least) - _NEAR).all() and (sums <= np.array(self._most) + _NEAR).all()
        return bool(inside and kept and (np.abs(whole - np.round(whole)) < _NEAR).all())
