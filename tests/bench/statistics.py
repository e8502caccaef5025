"""The statistics against the libraries that compute them, in the same run and on the same scores.

Sets as people have them: 20 assessors, 5 scores on each unit, 5 levels; for intraclass correlation 5 assessors who
scored everything. An alternative that would take more than a minute is not run at that size, one that is not
installed is named and left out; those written in R are only named.
"""

from __future__ import annotations

import importlib.metadata
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache, partial
from typing import Any

import numpy as np

from assess.agreement.alpha import krippendorff_alpha
from assess.agreement.bootstrap import Bootstrap
from assess.agreement.coefficients import conger_kappa, family
from assess.agreement.facets import design_of
from assess.agreement.icc import icc
from assess.agreement.rasch import severity
from assess.agreement.rasch_joint import fit_joint
from assess.agreement.rasch_marginal import fit_marginal
from assess.agreement.reml import fit, model_of
from assess.agreement.scores import Scores, scores_of
from assess.agreement.tally import tally_of
from assess.agreement.weights import weight_table
from tests.bench.measuring import Measured, in_turn, timed
from tests.bench.rasch_alternatives import dense_joint, direct_marginal, drawn_for_rasch, rasch_model

__all__ = ["drawn", "rows"]

NAMED = ("numpy", "scipy", "krippendorff", "irrCAC", "pingouin", "statsmodels")
LONGEST = 60.0
LEVELS = (1.0, 2.0, 3.0, 4.0, 5.0)
Call = Callable[[], object]


def rows() -> Iterator[Measured | str]:
    """Every row about agreement and dependability, sizes from small to large."""
    yield ", ".join(f"{name} {_version(name) or 'not installed'}" for name in NAMED)
    yield "skipped: lme4 (R), psych (R) and gtheory (R) are no Python libraries"
    four = (1_000, 10_000, 100_000, 1_000_000)
    yield from _against("alpha, ordinal, alone", "krippendorff", dict.fromkeys(four, 1.0), _alpha_alone)
    yield from _against("alpha, ordinal, with its interval", "krippendorff", dict.fromkeys(four, 1.0), _alpha)
    replicates = {**dict.fromkeys(four, 0.0), 100_000: 500.0}
    yield from _against("alpha, 1,000 replicates", "krippendorff", replicates, _replicates)
    yield from _against("AC2, with its interval", "irrCAC", dict.fromkeys(four, 5.0), _ac2)
    yield from _against("Conger's kappa, with its interval", "irrCAC", dict.fromkeys(four, 5.0), _conger)
    forms = {1_000: 0.0, 10_000: 0.0, 100_000: 1000.0}
    yield from _against("ICC, six forms with intervals", "pingouin", forms, _icc)
    # Its matrices are dense, so that ten times the scores take hundreds of times as long.
    yield from _against("crossed REML", "statsmodels", dict.fromkeys(four[:3], 100.0), _reml, growth=300.0)
    rasch = dict.fromkeys(four, 1.0)
    marginal = {100_000: 0.4, 1_000_000: 10.0}
    yield from _against("Rasch, marginal, with errors", "scipy", rasch, _rasch_marginal, within=marginal)
    # Ten times the candidates are up to a thousand times the work of a dense matrix, once it is most of it.
    yield from _against("Rasch, joint, with errors", "numpy", rasch, _rasch_joint, 100.0, {100_000: 0.61})
    yield "severity as a whole, with links, fit and interactions, has nothing to be held against:"
    for size in four:
        scores = drawn_for_rasch(size)
        for ours in (partial(severity, scores), partial(severity, scores, method="joint")):
            what = f"severity, {ours.keywords.get('method', 'marginal')}"
            yield Measured(what, f"{size:,} scores", timed(ours), float("nan"), "-", "no goal")


def _version(name: str) -> str:
    try:
        return importlib.metadata.version(name)
    except importlib.metadata.PackageNotFoundError:
        return ""


def _against(
    what: str,
    library: str,
    goals: dict[int, float],
    both: Callable[[int], tuple[Call, Call, float, str]],
    growth: float = 10.0,
    within: dict[int, float] | None = None,
) -> Iterator[Measured | str]:
    """One row for each size. goals: how many times as fast as the alternative, 0 where nothing is asked for.

    growth: of the alternative's time from one size to the next. within: seconds that are to be met besides.
    """
    last = 0.0
    if not _version(library):
        yield f"skipped: {what} against {library}, which is not installed"
        return
    for size, goal in goals.items():
        ours, other, share, name = both(size)
        wanted = {0.0: "no goal", 1.0: "not slower"}.get(goal, f"{goal:g}x")
        limit = (within or {}).get(size)
        wanted += f", {limit:g} s" if limit else ""
        if last * growth > LONGEST:
            ours()
            seconds = timed(ours)
            told = f"{name} not run: over {LONGEST:.0f} s"
            last *= growth
            # It is known to take longer than that, not how much longer.
            met = seconds <= limit if limit else goal * seconds < LONGEST or None
            yield Measured(what, f"{size:,} scores", seconds, float("nan"), told, wanted, met)
            continue
        a, b = in_turn(partial(timed, ours), partial(timed, other), 1 if last > 1 else 3)
        last, whole = b, b / share
        met = whole >= goal * a and (limit is None or a <= limit) if goal else None
        yield Measured(what, f"{size:,} scores", a, whole, name, wanted, met)


@cache
def drawn(n: int, assessors: int = 20, each: int = 5) -> Scores:
    """`n` scores: units of one candidate, `each` scores on every one by assessors drawn from `assessors`."""
    rng = np.random.default_rng(n)
    units = n // each
    by = np.argsort(rng.random((units, assessors)), axis=1)[:, :each]
    true = rng.normal(3.0, 0.9, (units, 1)) + rng.normal(0.0, 0.3, assessors)[by]
    value = np.clip(np.rint(true + rng.normal(0.0, 0.7, by.shape)), 1, 5)
    candidate = np.repeat([f"C{unit:07d}" for unit in range(units)], each).tolist()
    return scores_of(candidate, [f"A{k:02d}" for k in by.ravel()], value.ravel(), levels=LEVELS)


def _anew(scores: Scores) -> Scores:
    """The same scores with nothing worked out yet."""
    return replace(scores)


def _alpha_alone(n: int) -> tuple[Call, Call, float, str]:
    return _alpha(n, 0)


def _alpha(n: int, replicates: int = 1000) -> tuple[Call, Call, float, str]:
    import krippendorff

    scores = drawn(n)
    counts = scores.counts

    def ours() -> object:
        fresh = _anew(scores)
        return krippendorff_alpha(fresh, tally_of(fresh), "ordinal", Bootstrap(replicates, 0))

    def other() -> object:
        return krippendorff.alpha(value_counts=counts, value_domain=list(LEVELS), level_of_measurement="ordinal")

    return ours, other, 1.0, "krippendorff, no interval, counts ready made"


def _replicates(n: int) -> tuple[Call, Call, float, str]:
    import krippendorff

    ours, _, _, _ = _alpha(n)
    table = drawn(n).matrix.T
    rng = np.random.default_rng(0)
    loops = 1000 if n < 5_000 else 10

    def other() -> object:
        return [
            krippendorff.alpha(
                reliability_data=table[:, rng.integers(0, table.shape[1], table.shape[1])],
                value_domain=list(LEVELS),
                level_of_measurement="ordinal",
            )
            for _ in range(loops)
        ]

    told = "loop of krippendorff" + (f", {loops} replicates times {1000 // loops}" if loops < 1000 else "")
    return ours, other, loops / 1000, told


def _cac(n: int) -> Any:
    import pandas as pd
    from irrCAC.raw import CAC

    table = pd.DataFrame(drawn(n).matrix)
    return CAC(table, weights="quadratic", categories=list(LEVELS))


def _ac2(n: int) -> tuple[Call, Call, float, str]:
    scores, theirs, weights = drawn(n), _cac(n), weight_table("quadratic", LEVELS)

    def ours() -> object:
        fresh = _anew(scores)
        return family(fresh, tally_of(fresh), weights, Bootstrap(1000, 0))

    return ours, lambda: theirs.gwet(), 1.0, "irrCAC; ours with Fleiss and Brennan-Prediger"


def _conger(n: int) -> tuple[Call, Call, float, str]:
    scores, theirs, weights = drawn(n), _cac(n), weight_table("quadratic", LEVELS)

    def ours() -> object:
        fresh = _anew(scores)
        return conger_kappa(fresh, tally_of(fresh), weights, Bootstrap(1000, 0))

    return ours, lambda: theirs.conger(), 1.0, "irrCAC"


def _icc(n: int) -> tuple[Call, Call, float, str]:
    import pandas as pd
    import pingouin

    scores = drawn(n, assessors=5)
    long = pd.DataFrame({"unit": scores.unit, "assessor": scores.assessor, "score": scores.value})

    def other() -> object:
        return pingouin.intraclass_corr(data=long, targets="unit", raters="assessor", ratings="score")

    return lambda: icc(_anew(scores)), other, 1.0, "pingouin"


def _reml(n: int) -> tuple[Call, Call, float, str]:
    import pandas as pd
    import statsmodels.formula.api as smf

    scores = drawn(n)
    long = pd.DataFrame({"c": scores.candidate, "a": scores.assessor, "score": scores.value, "all": 1})

    def ours() -> object:
        design = design_of(_anew(scores))
        sources = design.sources[:-1]
        return fit(model_of([held.index for held in sources], [held.facets for held in sources], design.value))

    def other() -> object:
        model = smf.mixedlm(
            "score ~ 1", long, groups="all", re_formula="0", vc_formula={"c": "0 + C(c)", "a": "0 + C(a)"}
        )
        return model.fit(reml=True)

    return ours, other, 1.0, "statsmodels"


def _rasch_marginal(n: int) -> tuple[Call, Call, float, str]:
    model = rasch_model(drawn_for_rasch(n), joint=False)

    def ours() -> object:
        return fit_marginal(replace(model))

    # As many nodes as ours, over all that a normal distribution reaches.
    nodes = np.linspace(-6.0, 6.0, 121)
    return ours, lambda: direct_marginal(model, nodes), 1.0, "L-BFGS of scipy on the same likelihood, no errors"


def _rasch_joint(n: int) -> tuple[Call, Call, float, str]:
    model = rasch_model(drawn_for_rasch(n), joint=True)
    return lambda: fit_joint(replace(model)), lambda: dense_joint(model), 1.0, "dense Newton"
