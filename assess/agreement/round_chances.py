"""What a qualification rule makes of markers one knows: a good one, and those it should stop; from simulated rounds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from assess.agreement.results.rounds import Chances, PanelError
from assess.agreement.round_counts import count_figures
from assess.agreement.round_markers import MarkerModel, simulated
from assess.agreement.round_scores import RoundScores
from assess.agreement.round_words import chances_sentence
from assess.records.round import RESULTS
from assess.records.round_figures import Figures

__all__ = ["rule_chances"]


def rule_chances(
    scores: RoundScores, lessons: Sequence[int], panel: PanelError, decide: Callable[[Figures], str], *, error: float,
    severity: float, drift: float, n: int = 2000, seed: int = 0,
) -> tuple[Chances, ...]:  # fmt: skip
    """The shares of results for a good marker, one too hard, one who drifts downwards, one with one level on a sheet.

    lessons: those of a marker's sheets by their place in the round, second markings included. decide: the rule.
    error: of one score of the good marker, in levels; severity, drift: of the poor ones, without sign.
    """
    good = MarkerModel.like(panel, error)
    kinds = {
        "good": good,
        "severe": replace(good, severity=-severity),
        "drifting": replace(good, drift=-drift),
        "flat": replace(good, flat=True),
    }
    rows = np.asarray(lessons, dtype=np.int64)
    found = []
    for name, model in kinds.items():
        levels = simulated(scores, rows, model, n, np.random.default_rng(seed))
        counted = Counter(decide(figures) for figures in count_figures(scores, rows, levels))
        shares = tuple((result, counted[result] / n) for result in RESULTS)
        made = Chances(name, model.error, model.severity, model.drift, shares, n)
        found.append(replace(made, sentence=chances_sentence(made)))
    return tuple(found)
