"""How alike assessors mark and how hard each marks, as tables: every number with its count and its interval."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from assess.records.errors import InputError, Refusal
from assess.reports.table_file import Cell, Column, TableFile

if TYPE_CHECKING:
    from assess.agreement.results import Agreement, Estimate, Measure, Pair

__all__ = ["statistics_tables"]

_N = (
    Column("n", "whole", "what was counted: turns by criterion with more than one score"),
    Column("n_candidates", "whole", "candidates it rests on"),
)
_LOW_HIGH = (
    Column("low", "number", "lower end of the 95 % interval"),
    Column("high", "number", "upper end of the 95 % interval"),
)
_SAID = (
    Column("sentence", "text", "what it says, in words"),
    Column("undefined", "text", "why there is no number, where there is none"),
)
_AGREEMENT = (
    Column("statistic", "text", "which statistic"),
    Column("estimate", "number", "its value"),
    Column("se", "number", "its standard error"),
    *_LOW_HIGH,
    Column("interval", "text", "how the interval was made"),
    *_N,
    Column("n_assessors", "whole", "assessors it rests on"),
    Column("n_scores", "whole", "scores it rests on"),
    *_SAID,
)
_PAIRS = (
    Column("a", "text", "one assessor, by id"),
    Column("b", "text", "the other, by id"),
    *_N,
    Column("equal", "number", "share of equal scores", "of 1"),
    Column("within_one", "number", "share of scores at most one level apart", "of 1"),
    Column("kappa", "number", "Cohen's kappa"),
    *_LOW_HIGH,
    *_SAID,
)
_SEVERITY = (
    Column("assessor", "text", "the assessor, by id"),
    Column("severity", "number", "severity; more is stricter, 0 is the mean of the assessors", "logits"),
    Column("se", "number", "standard error with candidates as clusters", "logits"),
    *_LOW_HIGH,
    Column("levels", "number", "the same in levels of the scale, for the candidates of this course", "levels"),
    Column("infit", "number", "infit mean square; 1 is what the model foresees"),
    Column("outfit", "number", "outfit mean square; 1 is what the model foresees"),
    Column("n", "whole", "scores given by this assessor"),
    Column("n_candidates", "whole", "candidates marked by this assessor"),
    *_SAID,
)
_DIGITS = 6


def statistics_tables(root: Path) -> list[TableFile]:
    """Agreement, pairs and severity of the course in a folder, the same for all who ask; to six decimals.

    A table without rows says in its note why there is nothing to tell.
    """
    agreement, pairs, note = _agreement(root)
    severity, why = _severity(root)
    return [
        TableFile("agreement", "How alike assessors mark", _AGREEMENT, agreement, note),
        TableFile("pairs", "How alike two assessors mark", _PAIRS, pairs, note),
        TableFile("severity", "How hard each assessor marks", _SEVERITY, severity, why),
    ]


def _agreement(root: Path) -> tuple[tuple[tuple[Cell, ...], ...], tuple[tuple[Cell, ...], ...], str]:
    from assess.desk.agreeing import agreement_of

    try:
        found = agreement_of([root])
    except (InputError, Refusal) as why:
        return (), (), f"Nothing can be told yet: {_without(root, why)}"
    rows = tuple(_estimate(name, item) for name, item in _estimates(found))
    return rows, tuple(map(_pair, found.pairs)), _sentences(found.warnings)


def _severity(root: Path) -> tuple[tuple[tuple[Cell, ...], ...], str]:
    from assess.desk.severity import severity_of

    try:
        found = severity_of([root])
    except (InputError, Refusal) as why:
        return (), f"Nothing can be told yet: {_without(root, why)}"
    told = (*((found.undefined,) if found.undefined else ()), *found.warnings)
    return tuple(map(_measure, found.assessors)), _sentences(told)


def _without(root: Path, why: InputError | Refusal) -> str:
    """What stands in the way, without where the folder lies on this machine."""
    return str(why).replace(f"{root}: ", "").replace(str(root), root.name)


def _sentences(texts: tuple[str, ...]) -> str:
    return " ".join(text[:1].upper() + text[1:].removesuffix(".") + "." for text in texts)


def _estimates(found: Agreement) -> Iterator[tuple[str, Estimate]]:
    yield "equal scores", found.percent_agreement
    yield "at most one level apart", found.within_one
    if found.at_pass_line is not None:
        yield "same side of the pass line", found.at_pass_line.agreement
        yield "kappa at the pass line", found.at_pass_line.kappa
    yield "Krippendorff's alpha", found.krippendorff_alpha
    yield "Fleiss' kappa", found.fleiss_kappa
    yield "Conger's kappa", found.conger_kappa
    yield f"Gwet's {found.gwet_form or 'AC'}", found.gwet_ac
    yield "Brennan-Prediger", found.brennan_prediger
    yield "Kendall's W", found.kendall_w
    yield from ((f"intraclass correlation {name}", item) for name, item in found.icc)


def _estimate(name: str, item: Estimate) -> tuple[Cell, ...]:
    return (
        name, _number(item.estimate), _number(item.se), *_ends(item.ci95), item.interval or None, item.n,
        item.n_candidates, item.n_assessors, item.n_scores, item.sentence or None, item.undefined,
    )  # fmt: skip


def _pair(pair: Pair) -> tuple[Cell, ...]:
    kappa = pair.cohen_kappa
    return (
        pair.a, pair.b, pair.n, pair.n_candidates, _number(pair.percent_agreement), _number(pair.within_one),
        _number(kappa.estimate), *_ends(kappa.ci95), pair.sentence or None, kappa.undefined,
    )  # fmt: skip


def _measure(item: Measure) -> tuple[Cell, ...]:
    return (
        item.id, _number(item.value), _number(item.se_clustered), *_ends(item.ci95), _number(item.levels),
        _number(item.infit), _number(item.outfit), item.n, item.n_candidates, item.sentence or None, item.undefined,
    )  # fmt: skip


def _ends(interval: tuple[float, float] | None) -> tuple[Decimal | None, Decimal | None]:
    return (None, None) if interval is None else (_number(interval[0]), _number(interval[1]))


def _number(value: float | None) -> Decimal | None:
    """A float to six decimals, so that the last bits of a machine's arithmetic change no file."""
    return None if value is None else Decimal(f"{value:.{_DIGITS}f}").normalize() + 0
