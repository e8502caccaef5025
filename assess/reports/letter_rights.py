"""The part of a letter that says what its reader can do: take a module again, appeal, see the record."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.reports.document import Listing, Section

if TYPE_CHECKING:
    from assess.reports.letter import AppealTold, CaseTold, Letter, ResitTold
    from assess.reports.messages import Messages

__all__ = ["rights_section"]

_FOUND = {
    "upheld": "letter.case_upheld",
    "partly": "letter.case_partly",
    "rejected": "letter.case_rejected",
    "not-admissible": "letter.case_refused",
}


def rights_section(letter: Letter, said: Messages) -> Section:
    """The section, with every date written out."""
    lines = list(_resits(letter, said))
    lines += [_case(case, said) for case in letter.cases]
    lines += [words for appeal in letter.appeals for words in _appeal(letter, appeal, said)]
    lines.append(said.say("letter.record"))
    return Section(said.say("letter.rights_title"), (Listing(tuple(lines)),))


def _resits(letter: Letter, said: Messages) -> Iterator[str]:
    """Those that are open, each with its days; of the others, in one sentence, what the rules allow."""
    by_rule: dict[ResitTold, list[str]] = {}
    for module in letter.modules:
        resit = module.resit
        if resit is None:
            continue
        if not resit.opens:
            by_rule.setdefault(resit, []).append(module.title)
            continue
        yield said.say(
            "letter.resit_opened", module=module.title, opens=said.day(resit.opens), closes=said.day(resit.closes),
            tasks=said.quoted(resit.tasks), attempt=str(resit.attempt), tries=str(resit.tries),
        )  # fmt: skip
    for resit, titles in by_rule.items():
        yield said.say(
            "letter.resit_rule", modules=said.listed(titles), closes=said.day(resit.closes), tries=str(resit.tries)
        )


def _appeal(letter: Letter, appeal: AppealTold, said: Messages) -> Iterator[str]:
    """What was not passed in full; what was passed in a sentence, and only in a letter that has nothing else."""
    passed = {module.title for module in letter.modules if module.decision in ("grant", "renew")}
    against = [title for title in appeal.modules if title not in passed]
    last = said.day(appeal.last_day)
    if against:
        yield said.say(
            "letter.appeal", modules=said.listed(against), last=last, days=str(appeal.days),
            acknowledge=str(appeal.acknowledge), find=str(appeal.find),
        )  # fmt: skip
    elif all(module.title in passed for module in letter.modules):
        yield said.say("letter.appeal_passed", modules=said.listed(appeal.modules), last=last)


def _case(case: CaseTold, said: Messages) -> str:
    if case.about == "complaint":
        about = said.say("letter.case_complaint")
    elif case.module:
        about = said.say("letter.case_appeal_module", module=case.module)
    else:
        about = said.say("letter.case_appeal")
    if case.result:
        return said.say(_FOUND[case.result], about=about, day=said.day(case.received), closed=said.day(case.closed))
    return said.say("letter.case_open", about=about, day=said.day(case.received), until=said.day(case.until))
