"""Calibration rounds of markers whose habits one knows: how often a flag is false, and how often a habit is missed.

No speed: a simulation of about a minute. Good markers differ a little in severity, as people do (second table: not at
all). "any" is any flag on a marker; the rule is that of the sample round.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from assess.agreement.round_counts import count_figures
from assess.agreement.round_effects import HABITS as ASKED
from assess.agreement.round_effects import marker_numbers
from assess.agreement.round_panel import panel_error
from assess.marking.qualification import judged
from assess.records.round import RESULTS, Qualification
from tests.agreement.round_designs import GOOD, HABITS, simulated_round

__all__ = ["Rates", "rates", "rows"]

N_ROUNDS, REPLICATES, SEED = 200, 400, 20261114
MARKERS = {"good 1": GOOD, "good 2": GOOD, **HABITS}
SPREAD = 0.1
PLANTED = {"mild": "severity", "drifting": "drift", "flat": "spread", "narrow": "central", "erratic": "repeat"}
RULE = Qualification.model_validate(
    {
        "current": {
            "scored_at_least": "0.9", "exact_at_least": "0.42", "within_one_at_least": "0.9",
            "line_agreement_at_least": "0.65", "severity_at_most": "0.4", "drift_at_most": "0.6",
            "flat_sheets_at_most": "0.4",
        },
        "mark_again": {"within_one_at_least": "0.85", "severity_at_most": "0.6", "drift_at_most": "1"},
    }
)  # fmt: skip


@dataclass
class Rates:
    """Counts over some rounds: flags by marker and habit, tests that could be made, any flag, results of the rule."""

    n_rounds: int = 0
    flags: Counter[tuple[str, str]] = field(default_factory=Counter)
    tested: Counter[tuple[str, str]] = field(default_factory=Counter)
    any: Counter[str] = field(default_factory=Counter)
    results: Counter[tuple[str, str]] = field(default_factory=Counter)

    def share(self, who: str, habit: str) -> float:
        """How often a habit of a marker was flagged."""
        return self.flags[who, habit] / self.n_rounds


def rates(n_rounds: int, *, spread: float, seed: int = SEED, replicates: int = REPLICATES) -> Rates:
    """Simulate rounds with two good markers and one with each habit."""
    rng = np.random.default_rng(seed)
    found = Rates(n_rounds)
    for number in range(n_rounds):
        scores, markers = simulated_round(rng, MARKERS, spread=spread)
        for told in marker_numbers(scores, markers, panel_error(scores), replicates=replicates, seed=number):
            looks = [effect.name for effect in told.effects if effect.verdict == "look"]
            found.flags.update((told.assessor, name) for name in looks)
            found.tested.update((told.assessor, effect.name) for effect in told.effects if effect.p is not None)
            found.any[told.assessor] += bool(looks)
            given = markers[told.assessor]
            figures = count_figures(scores, given.lesson, given.levels[None])[0]
            found.results[told.assessor, judged(RULE, figures).result] += 1
    return found


def rows(n_rounds: int = N_ROUNDS) -> Iterator[str]:
    """The two tables."""
    for spread in (SPREAD, 0.0):
        found = rates(n_rounds, spread=spread)
        yield f"{n_rounds} rounds, 12 lessons, 4 twice, panel of 5; severity of good markers spreads by {spread:g}"
        heads = "".join(f"{name:>10}" for name in (*ASKED, "any"))
        yield f"{'flagged, of 100':20}{heads}   rule: {', '.join(RESULTS)}"
        for who in MARKERS:
            cells = "".join(_cell(100 * found.share(who, name), PLANTED.get(who) == name) for name in ASKED)
            results = ", ".join(f"{100 * found.results[who, result] / n_rounds:.0f}" for result in RESULTS)
            yield f"{who:20}{cells}{100 * found.any[who] / n_rounds:>10.1f}   {results}"
    yield "* the habit that was built in: 100 less this is how often it is missed. Every other number is a false alarm,"
    yield "but that who drifts differs from themselves."


def _cell(share: float, planted: bool) -> str:
    return f"{share:>9.1f}{'*' if planted else ' '}"
