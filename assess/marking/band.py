"""The borderline band: z times the sheet error over the root of the number of sheets, tested in fractions.

It is marking error only: it does not cover another task or another day.
"""

from __future__ import annotations

from fractions import Fraction

from assess.records.rubric import Rubric

__all__ = ["error_squared", "squared_half_width"]


def error_squared(rubric: Rubric, module: str) -> Fraction | None:
    """(z * sheet_error) squared of a module; None where the rubric gives no sheet error for it.

    It comes from the rubric alone, so from earlier courses, never from the sheets it is used on.
    """
    if rubric.band is None or module not in rubric.band.sheet_error:
        return None
    return (rubric.band.z * rubric.band.sheet_error[module].value) ** 2


def squared_half_width(error: Fraction | None, n: int) -> Fraction | None:
    """Half width squared for a mean of n sheets; None without an error or without a sheet."""
    return error / n if error is not None and n else None
