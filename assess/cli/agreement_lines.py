"""Agreement as plain lines: what was found in sentences, then the numbers with their intervals, then the cautions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.cli.figures import cautions, interval, many, number, paragraphs, percent

if TYPE_CHECKING:
    from assess.agreement.results import Agreement, Estimate, Pair, PassLine

__all__ = ["agreement_lines"]

_MOST_PAIRS = 15
_LONGEST_PAIR = 25


def agreement_lines(found: Agreement) -> Iterator[str]:
    """The lines for all agreement statistics of one set of scores."""
    from assess.desk.agreement_words import CAUTION, sentences

    yield from paragraphs([CAUTION])
    yield ""
    yield from paragraphs(
        [
            f"{many(found.n_assessors, 'assessor')}, {many(found.n_candidates, 'candidate')}, "
            f"{many(found.n_scores, 'score')} of {many(found.n_units, 'unit')} "
            "(a unit is one criterion of one candidate in one task)."
        ]
    )
    yield ""
    yield from paragraphs(sentences(found), "* ")
    yield from _numbers(found)
    if found.at_pass_line is not None:
        yield from _pass_line(found.at_pass_line)
    yield from _error(found)
    yield from _pairs(found.pairs)
    yield from cautions([*found.warnings, *_own_warnings(found)])


def _own_warnings(found: Agreement) -> Iterator[str]:
    """What single statistics warn of, each with the first one it is about."""
    from assess.desk.agreement_words import said

    told: set[str] = set()
    for estimate in said(found):
        for warning in estimate.warnings:
            if warning not in told:
                told.add(warning)
                yield f"{_TITLES.get(estimate.name, estimate.name)}: {warning}"


_TITLES = {
    "percent_agreement": "equal scores",
    "within_one": "equal or next scores",
    "at_pass_line": "same side of the line",
    "krippendorff_alpha": "alpha",
    "gwet_ac": "Gwet's coefficient",
    "fleiss_kappa": "kappa",
}


def _numbers(found: Agreement) -> Iterator[str]:
    from assess.desk.agreement_words import icc_words

    yield ""
    yield f"{'':<40}{'estimate':>9}  {'95 % interval':<16}{'units':>7}"
    yield "how often two assessors give"
    yield _row("the same level", found.percent_agreement)
    yield _row("the same or the next level", found.within_one)
    if found.at_pass_line is not None:
        yield _row("the same side of the pass line", found.at_pass_line.agreement)
    yield "beyond chance: 1 is always equal, 0 no more than by chance"
    yield _row("Krippendorff's alpha", found.krippendorff_alpha)
    yield _row(f"Gwet's {found.gwet_form}", found.gwet_ac)
    yield _row("Fleiss's kappa", found.fleiss_kappa)
    yield _row("Conger's kappa", found.conger_kappa)
    yield _row("Brennan and Prediger's coefficient", found.brennan_prediger)
    if found.at_pass_line is not None:
        yield _row("kappa of the two sides of the line", found.at_pass_line.kappa)
    yield "of all differences, how much is the units' own: 1 is all of it"
    for name, estimate in found.icc:
        yield _row(icc_words(name), estimate)
    yield "same ranking by all: 1 is the same, 0 none"
    yield _row("Kendall's W", found.kendall_w)


def _row(label: str, estimate: Estimate) -> str:
    if estimate.estimate is None:
        return f"  {label:<38}{'-':>9}"
    return f"  {label:<38}{number(estimate.estimate):>9}  {interval(estimate.ci95):<16}{estimate.n:>7}"


def _pass_line(line: PassLine) -> Iterator[str]:
    """What an appeal asks about: how often one assessor would pass what the other would not."""
    (below, one), (other, on) = line.table
    pairs = below + one + other + on
    if pairs:
        yield ""
        yield "Two scores of the same thing, at the pass line:"
        yield f"  both on or above  {percent(on / pairs):>5}"
        yield f"  both below        {percent(below / pairs):>5}"
        yield f"  one on each side  {percent((one + other) / pairs):>5}"


def _error(found: Agreement) -> Iterator[str]:
    sem = found.sem
    if sem.absolute is None and sem.consistency is None:
        return
    yield ""
    yield from paragraphs(
        ["Error of one score, in levels; two scores that are further apart than `apart` differ by more than error:"]
    )
    yield f"  {'':<38}{'error':>9}{'apart':>9}"
    yield f"  {'with the severity of whoever comes':<38}{number(sem.absolute):>9}{number(sem.mdc95_absolute):>9}"
    yield f"  {'severity aside':<38}{number(sem.consistency):>9}{number(sem.mdc95_consistency):>9}"


def _pairs(pairs: tuple[Pair, ...]) -> Iterator[str]:
    met = [pair for pair in pairs if pair.n]
    if not met:
        return
    most = sorted(met, key=lambda pair: (-pair.n, pair.a, pair.b))[:_MOST_PAIRS]
    names = {id(pair): f"{pair.a} and {pair.b}" for pair in most}
    wide = min(_LONGEST_PAIR, max(map(len, names.values())))
    yield ""
    yield "Pair by pair (kappa: beyond chance; first higher: levels, on average):"
    yield f"  {'':<{wide}}{'units':>7}{'equal':>7}{'kappa':>7}  {'95 % interval':<16}{'first higher':>13}"
    for pair in sorted(most, key=lambda pair: (pair.a, pair.b)):
        name, kappa = names[id(pair)], pair.cohen_kappa
        if len(name) > wide:
            yield f"  {name}"
            name = ""
        yield (
            f"  {name:<{wide}}{pair.n:>7}{percent(pair.percent_agreement):>7}{number(kappa.estimate):>7}"
            f"  {interval(kappa.ci95):<16}{number(pair.bland_altman.bias):>13}"
        )
    if len(met) > len(most):
        yield f"  and {len(met) - len(most)} pairs more; --json gives all"
