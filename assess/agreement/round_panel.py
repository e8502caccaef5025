"""The panel's own error: how far its blind markings lie apart on the same criterion of the same lesson.

Within a lesson the panel's levels are markers by criteria. Differences of markers' means over the criteria of a sheet,
their severity over all lessons taken out, hold the error a sheet shares and a part of the rest; what is left
after row and column means is the rest (two-way layout without repetition; Brennan 2001, ch. 3, from memory).
"""

from __future__ import annotations

import numpy as np

from assess.agreement.results.rounds import PanelError
from assess.agreement.round_scores import RoundScores
from assess.agreement.scores import Floats

__all__ = ["panel_error"]


def panel_error(scores: RoundScores) -> PanelError:
    """The error of one score of the panel; criteria a marker did not see are left out of that lesson for all."""
    n_markers = len(scores.panel)
    n_scores = int((~np.isnan(scores.panel)).sum())
    blocks = [(lesson, _complete(scores.panel[:, lesson])) for lesson in range(scores.n_lessons)]
    blocks = [(lesson, block) for lesson, block in blocks if block.shape[1] > 1]
    if n_markers < 2 or len(blocks) < 2:
        why = "too few lessons were marked by all of the panel to see its own error"
        return PanelError(None, None, None, None, n_markers, len(blocks), n_scores, why)
    rows = np.array([block.mean(axis=1) - block.mean() for _, block in blocks])
    sizes = np.array([block.shape[1] for _, block in blocks])
    severity = rows.mean(axis=0)
    left = sum(float((_rest(block) ** 2).sum()) for _, block in blocks)
    rest = left / float(((sizes - 1) * (n_markers - 1)).sum())
    between = float((sizes[:, None] * (rows - severity) ** 2).sum()) / ((n_markers - 1) * (len(blocks) - 1))
    sheet = max(0.0, (between - rest) / float(sizes.mean()))
    # What the lessons' own error adds to the spread of the markers' means is taken out again.
    noise = (sheet + rest / float(sizes.mean())) / len(blocks)
    spread = max(0.0, float(severity.var(ddof=1)) - noise)
    return PanelError(
        (sheet + rest) ** 0.5, sheet**0.5, rest**0.5, spread**0.5, n_markers, len(blocks), n_scores
    )  # fmt: skip


def _complete(block: Floats) -> Floats:
    """The criteria of a lesson that every marker scored."""
    return np.asarray(block[:, ~np.isnan(block).any(axis=0)])


def _rest(block: Floats) -> Floats:
    return np.asarray(block - block.mean(axis=1, keepdims=True) - block.mean(axis=0) + block.mean())
