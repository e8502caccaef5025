"""Sheets beside their partners' of the same performance: gaps, and severities from sums over candidates."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from assess.agreement.network import pieces_of
from assess.agreement.results.raters import EffectName
from assess.agreement.scores import Floats, Ints
from assess.agreement.sheets import Sheets

__all__ = ["Partners", "Question", "partners_of", "severities", "severity_features"]

Reasons = tuple[str | None, ...]


@dataclass(frozen=True, eq=False)
class Question:
    """One effect asked of every assessor at once.

    rows: what each candidate adds to the sums, shape (n_candidates, c). numbers: from sums, shape (b, c), to the
    estimate and, where it is a difference, its two numbers, shape (b, 3, j); NaN where they do not exist.
    n, n_candidates: sheets or comparisons of each assessor, and of how many candidates. why: the reason where the
    effect does not exist, if it is known beforehand.
    """

    name: EffectName
    rows: Floats
    numbers: Callable[[Floats], Floats]
    n: Ints
    n_candidates: Ints
    why: Reasons


@dataclass(frozen=True, eq=False)
class Partners:
    """First sheets with at least one partner's beside them.

    at: their positions among the sheets; candidate, assessor: of each. share: weight of every assessor in the mean of
    the partners, shape (n, j). gap: value less that mean. weight: (m - 1) / m with m sheets in the slot.
    pieces: assessors joined by performances they share, by their index, those without a partner left out.
    """

    sheets: Sheets
    at: Ints
    candidate: Ints
    assessor: Ints
    share: Floats
    gap: Floats
    weight: Floats
    pieces: tuple[tuple[int, ...], ...]

    @property
    def n_assessors(self) -> int:
        """Assessors of the course, those without a partner too."""
        return len(self.sheets.assessors)

    def mean_of(self, of_sheet: Floats) -> Floats:
        """Mean of the partners' numbers for each sheet here, those without a number left out; NaN without any."""
        first = self.sheets.first
        value, slot = of_sheet[first], self.sheets.slot[first]
        known = np.isfinite(value)
        size = int(slot.max(initial=-1)) + 1
        total = np.bincount(slot, np.where(known, value, 0.0), minlength=size)[self.sheets.slot[self.at]]
        count = np.bincount(slot, known, minlength=size)[self.sheets.slot[self.at]]
        own = of_sheet[self.at]
        total, count = total - np.where(np.isfinite(own), own, 0.0), count - np.isfinite(own)
        return np.divide(total, count, out=np.full(len(own), np.nan), where=count > 0)

    def summed(self, features: Floats, some: Ints | slice = slice(None)) -> Floats:
        """Features of sheets added up by candidate and assessor, shape (n_candidates, j * width)."""
        width, j = features.shape[1], self.n_assessors
        rows = np.zeros((len(self.sheets.candidates), j, width))
        np.add.at(rows, (self.candidate[some], self.assessor[some]), features)
        return rows.reshape(len(rows), j * width)

    def counted(self, some: Ints | slice = slice(None)) -> tuple[Ints, Ints]:
        """Of each assessor: how many of these sheets, of how many candidates."""
        j = self.n_assessors
        n = np.bincount(self.assessor[some], minlength=j)
        pairs = np.unique(self.candidate[some] * j + self.assessor[some])
        return n, np.bincount(pairs % j, minlength=j)

    def why_none(self, n: Ints, what: str) -> Reasons:
        """For every assessor without such a sheet the reason; what: with `{who}` for the assessor."""
        return tuple(None if n[number] else what.format(who=who) for number, who in enumerate(self.sheets.assessors))


def partners_of(sheets: Sheets) -> Partners:
    """The sheets that can be compared."""
    j, first = len(sheets.assessors), sheets.first
    member = np.zeros((int(sheets.slot.max(initial=-1)) + 1, j))
    member[sheets.slot[first], sheets.assessor[first]] = 1.0
    at = first[member.sum(axis=1)[sheets.slot[first]] > 1]
    assessor = sheets.assessor[at]
    others = member[sheets.slot[at]]
    others[np.arange(len(at)), assessor] = 0.0
    n_others = others.sum(axis=1)
    share = others / n_others[:, None]
    seen = np.unique(assessor)
    names = [str(number) for number in range(j)]
    pieces = pieces_of(sheets.slot[at], assessor, names) if len(at) else ()
    known = {int(number) for number in seen}
    joined = [tuple(sorted(number for name in piece if (number := int(name)) in known)) for piece in pieces]
    found = Partners(
        sheets, at, sheets.candidate[at], assessor, share, np.zeros(len(at)), n_others / (n_others + 1),
        tuple(sorted(piece for piece in joined if piece)),
    )  # fmt: skip
    found.gap[:] = sheets.value[at] - found.mean_of(sheets.value)
    return found


def severity_features(partners: Partners) -> Floats:
    """What each sheet adds to the normal equations of least squares, slot + assessor, with the slots taken out."""
    own = np.zeros_like(partners.share)
    own[np.arange(len(own)), partners.assessor] = 1.0
    return partners.weight[:, None] * np.column_stack([partners.gap, own - partners.share])


def severities(sums: Floats, partners: Partners) -> Floats:
    """Levels each assessor gives above the mean of those joined to them, from sums (b, j, 1 + j); shape (b, j).

    NaN for an assessor without a partner, and in all of a row of sums in which somebody is no longer joined.
    """
    told = np.full(sums.shape[:2], np.nan)
    for piece in partners.pieces:
        some = list(piece)
        matrix = sums[:, some][:, :, [1 + number for number in some]] + 1.0 / len(some)
        # The mean of the piece is 0; without that the matrix has no inverse, and without a link it has none with it.
        joined = np.linalg.eigvalsh((matrix + matrix.transpose(0, 2, 1)) / 2)[:, 0] > 1e-9
        safe = np.where(joined[:, None, None], matrix, np.eye(len(some)))
        solved = np.linalg.solve(safe, sums[:, some, :1])[:, :, 0]
        told[:, some] = np.where(joined[:, None], solved, np.nan)
    return told
