"""What variances and dependability say, in sentences a director reads: shares, what would repeat, how many it takes."""

from __future__ import annotations

from collections.abc import Sequence

from assess.agreement.results import Dependability, Estimate, Interval, Planned

__all__ = ["sentences"]

_AIM = 0.8
_FEW_CANDIDATES, _FEW_ASSESSORS = 10, 4


def sentences(found: Dependability, line: float | None) -> tuple[str, ...]:
    """Too little data first; then where differences come from, what would repeat as it is, and what it would take."""
    told = [*_caution(found), _shares(found), _as_it_is(found), _error(found)]
    told += [*_plans(found), _enough(found)]
    if line is not None and found.phi_at_line is not None:
        told.append(_at_line(found.phi_at_line, line))
    return tuple(sentence for sentence in told if sentence)


def _caution(found: Dependability) -> list[str]:
    if found.n_candidates >= _FEW_CANDIDATES and found.n_assessors >= _FEW_ASSESSORS:
        return []
    return [
        f"This rests on {_many(found.n_candidates, 'candidate')} and {_many(found.n_assessors, 'assessor')}: too few to"
        " say more than roughly. Read the ranges before the numbers."
    ]


def _many(n: int, word: str) -> str:
    plural = "criteria" if word == "criterion" else f"{word}s"
    return f"{n} {word if n == 1 else plural}"


def _shares(found: Dependability) -> str:
    kept = {component.source: max(0.0, component.variance) for component in found.components}
    total = sum(kept.values())
    if total <= 0:
        return ""
    parts = [f"{100 * variance / total:.0f} % {_meaning(source, found.facet)}" for source, variance in kept.items()]
    return f"Of the differences between single scores, {', '.join(parts[:-1])}, and {parts[-1]}."


def _meaning(source: str, facet: str) -> str:
    several = "criteria" if facet == "criterion" else f"{facet}s"
    plain = source.removesuffix(", with error")
    known = {
        "candidate": "come from candidates being better or weaker",
        "assessor": "from assessors being stricter or milder (severity)",
        facet: f"from {several} being harder or easier",
        f"candidate x {facet}": f"from candidates doing better on some {several} than on others",
        "candidate x assessor": "from assessors rating some candidates unlike their colleagues do",
        f"{facet} x assessor": f"from assessors being strict on some {several} and mild on others",
        f"assessor in {facet}": f"from assessors of one {facet} being stricter or milder (severity)",
        f"{facet} in candidate": f"from {several} of a candidate going better or worse",
    }
    if source == plain:
        return known.get(plain, f"from {plain}")
    inside = {
        "candidate x assessor": "assessors rating some candidates unlike their colleagues do",
        "assessor in candidate": "severity, as every assessor saw one candidate only",
    }.get(plain, "")
    return f"from what is left: {inside + ', ' if inside else ''}chance and everything not looked at"


def _range(limits: Interval | None) -> str:
    if limits is None:
        return ""
    return f" (anything from {100 * limits[0]:.0f} % to {100 * limits[1]:.0f} % fits these scores)"


def _as_it_is(found: Dependability) -> str:
    if found.phi.estimate is None:
        return found.phi.undefined or ""
    others = f"other assessors and {_plural(found.facet)}" if found.facet else "other assessors"
    rank = "" if found.g.estimate is None else (
        f" When only the order of candidates counts, it is {100 * found.g.estimate:.0f} %{_range(found.g.ci95)}."
    )  # fmt: skip
    return (
        f"Of the differences between candidates' mean scores as they are here, about {100 * found.phi.estimate:.0f} %"
        f" would repeat with {others}{_range(found.phi.ci95)}; the rest is who happened to mark what.{rank}"
    )


def _plural(facet: str) -> str:
    return "criteria" if facet == "criterion" else f"{facet}s"


def _error(found: Dependability) -> str:
    if found.sem_absolute is None:
        return ""
    return (
        f"A candidate's mean is off by {found.sem_absolute:.2f} on the scale, as a rule (standard error), because these"
        f" assessors{f' and {_plural(found.facet)}' if found.facet else ''} were met and not others."
    )


def _plans(found: Dependability) -> list[str]:
    """The plan of two assessors and three tasks, or the first that was asked for; few numbers say more than many."""
    plans = [plan for plan in found.d_study if plan.phi is not None]
    wanted = [plan for plan in plans if plan.assessors == 2 and plan.tasks == (3 if found.facet else 1)]
    return [
        f"With {_plan(plan, found)} about {100 * (plan.phi or 0.0):.0f} % would repeat{_range(plan.phi_ci95)}."
        for plan in (wanted or plans[:1])
    ]


def _plan(plan: Planned, found: Dependability) -> str:
    if not found.facet:
        return _many(plan.assessors, "assessor")
    each = f" for each {found.facet}" if f"assessor in {found.facet}" in found.design else ""
    return f"{_many(plan.assessors, 'assessor')}{each} and {_many(plan.tasks, found.facet)}"


def _enough(found: Dependability) -> str:
    plans = [plan for plan in found.d_study if plan.phi is not None]
    if not plans:
        return ""
    good = sorted((p for p in plans if (p.phi or 0.0) >= _AIM), key=_effort)
    if not good:
        most = max(plans, key=lambda plan: (plan.assessors * plan.tasks, plan.assessors))
        return f"No plan looked at, up to {_plan(most, found)}, reaches .80 (80 % would repeat)."
    fewest = [plan for plan in good if _effort(plan)[0] == _effort(good[0])[0]]
    certain = _surely(good)
    told = " or ".join(_plan(plan, found) for plan in fewest[:2])
    return f"The fewest scores that reach .80 (80 % would repeat): {told}.{_sure(certain, found)}"


def _effort(plan: Planned) -> tuple[int, int]:
    return plan.assessors * plan.tasks, plan.assessors


def _surely(good: Sequence[Planned]) -> Planned | None:
    return next((plan for plan in good if plan.phi_ci95 is not None and plan.phi_ci95[0] >= _AIM), None)


def _sure(plan: Planned | None, found: Dependability) -> str:
    if plan is None:
        return " With so few data no plan looked at reaches it for sure."
    return f" To be sure of it with what is known here: {_plan(plan, found)}."


def _at_line(estimate: Estimate, line: float) -> str:
    if estimate.estimate is None:
        return estimate.undefined or ""
    return (
        f"For the question on or below the line {line:g} alone, dependability is {estimate.estimate:.2f}"
        f"{_limits(estimate.ci95)} on a scale to 1: higher the further most candidates are from the line."
    )


def _limits(limits: Interval | None) -> str:
    return "" if limits is None else f" ({limits[0]:.2f} to {limits[1]:.2f})"
