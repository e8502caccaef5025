"""What one candidate's letter says, gathered from the signed decisions and from what they rest on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING

from assess.desk.cases import cases
from assess.desk.letter_seen import Basis, module_title, others_named, places, strengths
from assess.desk.letter_train import to_train
from assess.desk.outcomes import course_modules
from assess.desk.resits import resit_of
from assess.reports.letter import AppealTold, BreachTold, CaseTold, Letter, ModuleTold, Numbers, ResitTold

if TYPE_CHECKING:
    from assess.desk.cases import Case
    from assess.desk.deciding import Signed
    from assess.desk.session import Desk
    from assess.marking.results import ModuleResult
    from assess.records.facts import Resit
    from assess.records.rubric import MinimumValue

__all__ = ["letter_of"]


def letter_of(
    desk: Desk, candidate: str, told: Sequence[Signed], ordinary: frozenset[str] = frozenset()
) -> tuple[Letter, tuple[str, ...]]:
    """The letter, and what could not be put into it, in words for the director.

    ordinary: words that name nobody when they are written small, whatever somebody is called.
    Raises Refusal where what a decision rests on is not here as it was signed.
    """
    others = others_named(desk, candidate, ordinary)
    bases = tuple(Basis.of(desk, item, others) for item in told)
    missing: list[str] = []
    known = {item.fact.module for item in told}
    waiting = tuple(module for module in course_modules(desk) if module not in known)
    missing += [f"{module}: not signed, or not released to candidates" for module in waiting]
    scale = bases[0].rubric.scale
    held = [case for case in cases(desk) if case.candidate == candidate]
    days = sorted(desk.course.days)
    letter = Letter(
        candidate=candidate,
        name=desk.name(candidate),
        course=desk.course.title,
        days=(days[0], days[-1]) if days else ("", ""),
        place=desk.course.place,
        dated=max([_dated(desk, candidate), *(case.closed.on for case in held if case.closed)]),
        modules=tuple(_module(desk, basis) for basis in bases),
        scale=(float(scale.min), float(scale.pass_line), float(scale.max)),
        written_in=bases[0].rubric.language,
        strengths=strengths(desk, bases, missing),
        to_train=to_train(desk, bases, missing),
        places=tuple(place for basis in bases for place in places(desk, basis)),
        waiting=tuple(module_title(desk, module) for module in waiting),
        appeals=tuple(_appeals(desk, told, held)),
        cases=tuple(_case(desk, case) for case in held),
    )
    return letter, tuple(missing)


def _dated(desk: Desk, candidate: str) -> str:
    """The newest day on which something was decided or found about the candidate."""
    return max(
        entry.at[:10]
        for kind in ("decision", "case")
        for ledger, entry in desk.shelf.entries(kind)
        if ledger.header.candidate == candidate
    )


def _module(desk: Desk, basis: Basis) -> ModuleTold:
    signed, result = basis.signed, basis.result
    fact = signed.fact
    decided = fact.decision in ("grant", "refuse", "open")
    breach = result.breach if decided and result.breach and result.breach.state == "confirmed" else None
    rules = {rule.id: rule.text for rule in basis.rubric.must_nots}
    return ModuleTold(
        fact.module,
        module_title(desk, fact.module),
        fact.decision,
        signed.at[:10],
        desk.name(signed.by),
        valid_to=fact.valid_to or "",
        numbers=_numbers(basis) if decided and fact.decision != "open" else None,
        breach=None if breach is None else BreachTold(
            rules.get(breach.must_not, breach.must_not), tuple(module_title(desk, name) for name in breach.modules)
        ),
        open_tasks=tuple(basis.task_title(task) for task in result.open_needs) if decided else (),
        third_look=decided and result.third_look == "closed",
        resit=_resit(desk, basis) if fact.decision == "refuse" else None,
        reason="" if decided else basis.said(fact.reason or ""),
        marked_near=decided and result.waived is not None and result.waived.alone == result.outcome,
        decided_near=fact.waiver is not None,
    )  # fmt: skip


def _numbers(basis: Basis) -> Numbers | None:
    from assess.marking.rounding import fair

    result: ModuleResult = basis.result
    if result.mean is None:
        return None
    least = result.minimum
    return Numbers(
        mean=fair(result.mean, result.line),
        line=_short(result.line),
        n=result.n_sheets,
        band=result.band,
        below=len(result.below_line),
        values=len(result.values),
        allowed=result.allowed_below,
        under=sum(_under(item.value, basis.rubric.minimum) for item in result.values),
        minimum=None if least is None else _short(least),
        below_mean=result.mean < result.line,
    )


def _under(value: Fraction, minimum: MinimumValue | None) -> bool:
    if minimum is None:
        return False
    return value < minimum.value or (value == minimum.value and not minimum.inclusive)


def _short(value: Fraction) -> str:
    return f"{float(value):g}"


def _resit(desk: Desk, basis: Basis) -> ResitTold | None:
    signed = basis.signed
    opened: Resit | None = next(
        (item for item in reversed(resit_of(desk, signed.candidate, signed.fact.module))
         if item.decision == signed.name), None,
    )  # fmt: skip
    if opened is not None:
        tasks = tuple(basis.task_title(task) for task in opened.tasks)
        return ResitTold(opened.closes, int(opened.max_tries), opened.opens, int(opened.attempt), tasks)
    rule = basis.rubric.resit
    if rule is None or not rule.within_months or rule.max_tries < 2:
        return None
    return ResitTold(_months_on(signed.at[:10], rule.within_months), rule.max_tries)


def _months_on(day: str, months: int) -> str:
    """The same day so many months later, or the last of a shorter month."""
    start = date.fromisoformat(day)
    year, month = divmod(start.year * 12 + start.month - 1 + months, 12)
    following = date(year + (month == 11), (month + 1) % 12 + 1, 1)
    return min(date(year, month + 1, 1) + timedelta(days=start.day - 1), following - timedelta(days=1)).isoformat()


def _appeals(desk: Desk, told: Sequence[Signed], held: Sequence[Case]) -> Iterator[AppealTold]:
    """One for every last day: decisions signed on one day have the same. What was appealed against has none more."""
    rules = desk.course.appeals
    gone = {case.opened.decision for case in held if case.opened.about == "appeal"}
    open_to = [item for item in told if item.name not in gone]
    for signed in dict.fromkeys(item.at[:10] for item in open_to):
        titles = tuple(module_title(desk, item.fact.module) for item in open_to if item.at[:10] == signed)
        last = _days_on(signed, rules.file_within_days)
        yield AppealTold(titles, last, rules.file_within_days, rules.acknowledge_days, rules.find_days)


def _case(desk: Desk, case: Case) -> CaseTold:
    """A case as far as its candidate was told: the finding once it is closed, never its text, which may name others."""
    told = case.finding is not None and case.closed is not None
    return CaseTold(
        case.opened.about,
        module_title(desk, case.opened.module) if case.opened.module else "",
        case.opened.received,
        case.finding.result if case.finding and told else "",
        case.closed.on if case.closed else "",
        _days_on(case.opened.received, desk.course.appeals.find_days),
    )


def _days_on(day: str, days: int) -> str:
    return (date.fromisoformat(day) + timedelta(days=days)).isoformat()
