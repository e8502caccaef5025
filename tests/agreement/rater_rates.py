"""How often a clean course has a flag, and how often a test of it alone would: `python -m tests.agreement.rater_rates`.

Not a test: it takes minutes. What it gave stands in `test_rater_simulated.py`.
"""

from __future__ import annotations

import sys
from collections import Counter

from assess.agreement.rater_effects import rater_effects
from tests.agreement.rater_courses import CLEAN, LEVELS, Made, made_course


def rates(made: Made, seeds: range) -> tuple[int, Counter[str], Counter[str]]:
    """Courses with a flag; by effect: tests with p at most .05, and tests."""
    flagged, low, tested = 0, Counter[str](), Counter[str]()
    for seed in seeds:
        found = rater_effects(made_course(seed, made), LEVELS, replicates=300)
        effects = [effect for rater in found.raters for effect in rater.effects if effect.p is not None]
        flagged += any(effect.verdict == "look" for effect in effects)
        tested.update(effect.name for effect in effects)
        low.update(effect.name for effect in effects if (effect.p or 0.0) <= 0.05)
    return flagged, low, tested


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for name, made in (("10 candidates, 4 assessors", CLEAN), ("24 candidates, 4 assessors", Made(candidates=24))):
        flagged, low, tested = rates(made, range(1000, 1000 + many))
        print(f"{name}: {flagged} of {many} clean courses have a flag")
        print("  p at most .05:", ", ".join(f"{effect} {low[effect] / n:.3f}" for effect, n in tested.items()))
