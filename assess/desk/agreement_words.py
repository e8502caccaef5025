"""Words of agreement that a page and the lines of a command share: which numbers are said, in which sentences."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.agreement.results import Agreement, Estimate

__all__ = ["CAUTION", "icc_words", "said", "sentences"]

CAUTION = "Numbers about marks, not about people: a reason to look together, never a verdict on an assessor."
_FORMS = {
    "ICC(1)": "one score, any assessor",
    "ICC(A,1)": "one score, severity counts",
    "ICC(C,1)": "one score, severity aside",
    "ICC(k)": "the mean, any assessors",
    "ICC(A,k)": "the mean, severity counts",
    "ICC(C,k)": "the mean, severity aside",
}


def icc_words(form: str) -> str:
    """`ICC(A,1), one score, severity counts`."""
    return f"{form}, {_FORMS[form]}" if form in _FORMS else form


def said(found: Agreement) -> tuple[Estimate, ...]:
    """The numbers that are said in sentences, in their order."""
    line = () if found.at_pass_line is None else (found.at_pass_line.agreement,)
    one = tuple(value for name, value in found.icc if name == "ICC(A,1)")
    return (
        found.percent_agreement, found.within_one, *line, found.krippendorff_alpha, found.gwet_ac, found.fleiss_kappa,
        *one,
    )  # fmt: skip


def sentences(found: Agreement) -> Iterator[str]:
    """What the numbers say, or why one is not there."""
    for one in said(found):
        told = one.sentence or (f"{one.name}: {one.undefined}" if one.undefined else "")
        if told:
            yield told
