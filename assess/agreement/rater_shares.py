"""Flat sheets, spread within a sheet, the range used, the same performance twice, and the side of the pass line."""

from __future__ import annotations

import numpy as np

from assess.agreement.chance import divided
from assess.agreement.rater_partners import Partners, Question
from assess.agreement.results.raters import EffectName
from assess.agreement.scores import Floats

__all__ = ["central", "flat", "line", "repeat", "spread"]


def flat(partners: Partners) -> Question:
    """Share of sheets with one digit only, less the share among partners on the same performances."""
    return _beside("flat", partners, partners.sheets.flat)


def spread(partners: Partners) -> Question:
    """Standard deviation within a sheet (n - 1), less that of partners on the same performances."""
    return _beside("spread", partners, partners.sheets.spread)


def _beside(name: EffectName, partners: Partners, of_sheet: Floats) -> Question:
    own, other = of_sheet[partners.at], partners.mean_of(of_sheet)
    some = np.flatnonzero(np.isfinite(own) & np.isfinite(other))
    j = partners.n_assessors
    n, n_candidates = partners.counted(some)
    why = partners.why_none(n, "nobody else has a sheet of several marks beside one of {who}")

    def numbers(sums: Floats) -> Floats:
        count, mine, theirs = np.moveaxis(sums.reshape(len(sums), j, 3), 2, 0)
        return np.stack([divided(mine - theirs, count), divided(mine, count), divided(theirs, count)], axis=1)

    features = np.column_stack([np.ones(len(some)), own[some], other[some]])
    return Question(name, partners.summed(features, some), numbers, n, n_candidates, why)


def central(partners: Partners) -> Question:
    """Share of marks on the two neighbouring levels an assessor uses most, less that of each partner's own two.

    Both over the performances the two have in common. Levels used most, and not the middle of the scale, so that who
    gives more or less than others is not taken for somebody who uses a narrow range. Which two they are is settled
    once, by all marks that can be compared.
    """
    sheets, j, k = partners.sheets, partners.n_assessors, len(partners.sheets.levels)
    window = _windows(np.asarray(sheets.levels))
    counts = sheets.counts[partners.at]
    with_partner = ((partners.share > 0)[:, :, None] * counts[:, None, :]).reshape(len(counts), j * k)
    n, n_candidates = partners.counted()
    enough = np.full(j, int(k > 2))
    why = partners.why_none(n * enough, "nobody else marked a performance that {who} marked")
    if k <= 2:
        why = tuple("the scale has two levels" for _ in why)

    chosen = window[np.argmax(_by_assessor(partners, counts) @ window.T, axis=1)]

    def numbers(sums: Floats) -> Floats:
        both = sums.reshape(len(sums), j, j, k)
        inside, given = (both * chosen[:, None, :]).sum(axis=3), both.sum(axis=3)
        theirs = np.where(given > 0, given * np.nan_to_num(divided(inside, given).transpose(0, 2, 1)), 0.0)
        own, others = (divided(part.sum(axis=2), given.sum(axis=2)) for part in (inside, theirs))
        return np.stack([own - others, own, others], axis=1)

    return Question("central", partners.summed(with_partner), numbers, n, n_candidates, why)


def _by_assessor(partners: Partners, of_sheet: Floats) -> Floats:
    total = np.zeros((partners.n_assessors, of_sheet.shape[1]))
    np.add.at(total, partners.assessor, of_sheet)
    return total


def _windows(levels: Floats) -> Floats:
    """For each level, as 0 and 1, the levels from it to one more: on a scale of halves three of them."""
    return ((levels >= levels[:, None]) & (levels <= levels[:, None] + 1.0)).astype(np.float64)


def line(partners: Partners) -> Question:
    """Share of comparisons on the same side of the pass line, less that among the pairs without this assessor."""
    sheets, j = partners.sheets, partners.n_assessors
    side = sheets.passes
    own = side[partners.at]
    some = np.flatnonzero(np.isfinite(own) & np.isfinite(partners.mean_of(side)))
    n_others = np.rint(1.0 / (1.0 - partners.weight[some]) - 1.0)
    above = partners.mean_of(side)[some]
    same = n_others * np.where(own[some] == 1.0, above, 1.0 - above)
    _, n_candidates = partners.counted(some)
    n = np.rint(np.bincount(partners.assessor[some], n_others, minlength=j)).astype(np.int64)
    why = partners.why_none(n, "no pass line is known, or nobody else marked a performance that {who} marked")
    if j == 2 and n.any():
        why = tuple(reason or "there are two assessors, and no other pair to compare with" for reason in why)

    def numbers(sums: Floats) -> Floats:
        count, agreed = np.moveaxis(sums.reshape(len(sums), j, 2), 2, 0)
        mine = divided(agreed, count)
        rest_count = count.sum(axis=1, keepdims=True) / 2 - count
        rest = divided(agreed.sum(axis=1, keepdims=True) / 2 - agreed, np.where(rest_count > 0.25, rest_count, 0.0))
        return np.stack([mine - rest, mine, rest], axis=1)

    return Question("line", partners.summed(np.column_stack([n_others, same]), some), numbers, n, n_candidates, why)


def repeat(partners: Partners) -> Question:
    """Error of one of two sheets of the same performance, in levels, less that of all other assessors.

    The root of the mean squared difference over two, as for two assessors.
    """
    sheets, j = partners.sheets, partners.n_assessors
    again = np.flatnonzero(sheets.look == 2)
    # Sheets are in order of candidate, task, assessor and look: the first look stands just before the second.
    before = again - 1
    same = (before >= 0) & (sheets.slot[before] == sheets.slot[again]) & (
        sheets.assessor[before] == sheets.assessor[again]
    )  # fmt: skip
    again, before = again[same], before[same]
    rows = np.zeros((len(sheets.candidates), j, 2))
    half = (sheets.value[again] - sheets.value[before]) ** 2 / 2
    np.add.at(rows, (sheets.candidate[again], sheets.assessor[again]), np.column_stack([np.ones(len(again)), half]))
    n = rows[:, :, 0].sum(axis=0).astype(np.int64)
    n_candidates = (rows[:, :, 0] > 0).sum(axis=0).astype(np.int64)
    why = list(partners.why_none(n, "{who} marked no performance twice here; a calibration round asks for that"))
    for number in range(j):
        if why[number] is None and n.sum() == n[number]:
            why[number] = "nobody else marked a performance twice"

    def numbers(sums: Floats) -> Floats:
        count, square = np.moveaxis(sums.reshape(len(sums), j, 2), 2, 0)
        mine = np.sqrt(divided(square, count))
        rest = np.sqrt(divided(np.maximum(square.sum(axis=1, keepdims=True) - square, 0.0), np.where(
            count.sum(axis=1, keepdims=True) > count, count.sum(axis=1, keepdims=True) - count, 0.0)))  # fmt: skip
        return np.stack([mine - rest, mine, rest], axis=1)

    return Question("repeat", rows.reshape(len(rows), j * 2), numbers, n, n_candidates, tuple(why))
