"""What each number says, in one sentence for a person who decides and never had a course in statistics.

A sentence names the number, what 0 and 1 would mean, how far it could move with other candidates, and what it rests
on. It calls something more than chance only where the whole interval says so.
"""

from __future__ import annotations

from dataclasses import replace

from assess.agreement.bootstrap import FEW
from assess.agreement.results import BlandAltman, Estimate, Interval, Pair

__all__ = ["hundred", "pair_sentence", "told"]

_TITLES = {
    "percent_agreement": "The share of equal scores",
    "within_one": "The share of scores at most one level apart",
    "at_pass_line": "The share of scores on the same side of the pass line",
    "kappa_at_pass_line": "Kappa at the pass line",
    "krippendorff_alpha": "Krippendorff's alpha",
    "fleiss_kappa": "Fleiss's kappa",
    "conger_kappa": "Conger's kappa",
    "gwet_ac": "Gwet's coefficient",
    "brennan_prediger": "The Brennan-Prediger coefficient",
    "kendall_w": "Kendall's W",
    "cohen_kappa": "Cohen's kappa",
}
_SHARES = {
    "percent_agreement": "were equal",
    "within_one": "were equal or one level apart",
    "at_pass_line": "lay on the same side of the pass line",
}
_MEANINGS = {
    "kappa_at_pass_line": "agreement on pass or not, where 1 is full agreement and 0 what each assessor's own habit of "
    "passing would give by chance",
    "krippendorff_alpha": "1 is full agreement and 0 what the same scores dealt out at random would give",
    "fleiss_kappa": "1 is full agreement and 0 what chance would give if all assessors gave the levels equally often",
    "conger_kappa": "1 is full agreement and 0 what chance would give if each assessor kept their own habit of giving "
    "high or low levels",
    "gwet_ac": "1 is full agreement and 0 chance, counted so that it does not collapse when nearly everyone gets the "
    "same level",
    "brennan_prediger": "1 is full agreement and 0 what picking levels of the scale blindly would give",
    "kendall_w": "1 means all assessors put the candidates in the same order and 0 that there is no common order",
    "cohen_kappa": "1 is full agreement and 0 what the two habits of giving levels would give by chance",
}


def told(estimate: Estimate, pairs: int = 0, form: str = "") -> Estimate:
    """The same estimate with its sentence. pairs: how many pairs of scores it rests on; form: AC1 or AC2."""
    title = f"Gwet's {form}" if form else _TITLES[estimate.name]
    if estimate.estimate is None:
        return replace(estimate, sentence=f"{title} cannot be given: {estimate.undefined}.")
    if estimate.name in _SHARES:
        return replace(estimate, sentence=_little(estimate.n_candidates) + _share(estimate, pairs))
    said = f"{title} is {_number(estimate.estimate)}; {_MEANINGS[estimate.name]}"
    return replace(
        estimate, sentence=f"{_little(estimate.n_candidates)}{said}{_span(estimate)} ({_rests_on(estimate)})."
    )


def _little(candidates: int) -> str:
    if candidates >= FEW:
        return ""
    return f"Only {candidates} candidate{'' if candidates == 1 else 's'}, so a hint at most: "


def _number(value: float) -> str:
    return f"{value:.2f}" if round(value, 2) != 0 else "0.00"


def _share(estimate: Estimate, pairs: int) -> str:
    share = float(estimate.estimate or 0.0)
    said = f"of 100 pairs of scores on the same thing, {hundred(share)} {_SHARES[estimate.name]}"
    if estimate.ci95 is not None:
        low, high = (hundred(end) for end in estimate.ci95)
        said += f"; other candidates like these could well give {low} to {high}" if low != high else ""
    rests = f"{pairs} pairs, {_candidates(estimate.n_candidates)}"
    whole = f"{said} ({rests})."
    return whole if estimate.n_candidates < FEW else whole[0].upper() + whole[1:]


def hundred(share: float) -> str:
    """A share as so many in 100, in words where rounding would say more than is so."""
    # "100" is said only of all and "0" only of none.
    rounded = round(100 * share)
    if rounded == 100 and share < 1.0:
        return "more than 99"
    return "fewer than 1" if rounded == 0 and share > 0.0 else str(rounded)


def _span(estimate: Estimate) -> str:
    if estimate.ci95 is None:
        return "; how far it could move with other candidates cannot be said"
    low, high = estimate.ci95
    said = f"; with other candidates like these it could well lie between {_number(low)} and {_number(high)}"
    if estimate.name == "kendall_w":
        # W cannot fall below 0, so an interval above 0 proves nothing.
        return said
    if low > 0:
        return said + ", so there is agreement beyond chance"
    return said + ", so agreement no better than chance is not ruled out" if high > 0 else said


def _rests_on(estimate: Estimate) -> str:
    things = f"{estimate.n} thing{'' if estimate.n == 1 else 's'} scored by two or more"
    if estimate.name == "kendall_w":
        things = f"{estimate.n} things scored by all {estimate.n_assessors}"
    return f"{things}, {_candidates(estimate.n_candidates)}"


def _candidates(n: int) -> str:
    return f"{n} candidate{'' if n == 1 else 's'}"


def pair_sentence(pair: Pair) -> str:
    """What a pair of assessors shows: how many equal, who scored higher by how much, and on what that rests."""
    if pair.n == 0:
        return f"{pair.a} and {pair.b} never scored the same thing, so nothing can be said about the two."
    things = f"{pair.n} thing{'' if pair.n == 1 else 's'} both scored ({_candidates(pair.n_candidates)})"
    equal = round((pair.percent_agreement or 0.0) * pair.n)
    higher = _higher(pair.a, pair.b, pair.bland_altman)
    said = f"of {things}, {pair.a} and {pair.b} gave the same level to {equal}{higher}."
    little = _little(pair.n_candidates)
    return little + said if little else said[0].upper() + said[1:]


def _higher(a: str, b: str, gaps: BlandAltman) -> str:
    if gaps.bias is None:
        return ""
    size = abs(gaps.bias)
    if size < 0.005:
        return "; on average neither was higher"
    higher, lower = (a, b) if gaps.bias > 0 else (b, a)
    said = f"; {higher} was {_number(size)} higher than {lower} on average"
    if gaps.bias_ci95 is None:
        return said
    low, high = _turned(gaps.bias_ci95) if gaps.bias < 0 else gaps.bias_ci95
    said += f", with other candidates like these {_number(low)} to {_number(high)}"
    if low > 0:
        return said + ": worth looking at the same performance together"
    return said + ", so which of the two is higher is not settled"


def _turned(interval: Interval) -> Interval:
    return -interval[1], -interval[0]
