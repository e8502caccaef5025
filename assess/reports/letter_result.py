"""The first part of a letter: what was decided on each module, in one sentence, and what it rests on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from assess.reports.document import Listing, Note, Section, Text

if TYPE_CHECKING:
    from assess.reports.document import Block
    from assess.reports.letter import Letter, ModuleTold, Numbers
    from assess.reports.messages import Messages

__all__ = ["result_section"]

_TOGETHER = {"grant": "letter.passed", "refuse": "letter.refused", "open": "letter.opened"}
_ALONE = {
    "void": "letter.void",
    "suspend": "letter.suspended",
    "withdraw": "letter.withdrawn",
    "renew": "letter.renewed",
}


def result_section(letter: Letter, said: Messages) -> Section:
    """The section: the outcome in words first, then a line for each module, then a breach if there was one."""
    blocks: list[Block] = [Text(" ".join(_outcome(letter, said)))]
    lines = tuple(words for module in letter.modules if (words := " ".join(_rests_on(module, said))))
    if lines:
        blocks.append(Listing(lines))
    if any(item.numbers and item.numbers.band and not item.breach for item in letter.modules):
        blocks.append(Text(said.say("letter.band_means")))
    for rule, modules in {item.breach.rule: item.breach.modules for item in letter.modules if item.breach}.items():
        blocks.append(Note(said.say("letter.breach", rule=rule, modules=said.listed(modules))))
    return Section(said.say("letter.result_title"), tuple(blocks))


def _outcome(letter: Letter, said: Messages) -> Iterator[str]:
    for kind, key in _TOGETHER.items():
        titles = [module.title for module in letter.modules if module.decision == kind]
        if titles:
            yield said.say(key, modules=said.listed(titles))
    for module in letter.modules:
        if module.decision in _ALONE:
            yield from _alone(module, said)
    if letter.waiting:
        yield said.say("letter.waiting", modules=said.listed(letter.waiting))


def _alone(module: ModuleTold, said: Messages) -> Iterator[str]:
    yield said.say(_ALONE[module.decision], module=module.title)
    if reason := module.reason.strip(" ."):
        yield said.say("letter.reason", reason=reason)
    yield from _exceptions(module, said)
    if module.decision != "renew":
        yield said.say("letter.next")


def _rests_on(module: ModuleTold, said: Messages) -> Iterator[str]:
    if module.decision == "open":
        if module.open_tasks:
            yield said.say("letter.still_open", module=module.title, tasks=said.quoted(module.open_tasks))
        else:
            yield said.say("letter.module_open", module=module.title)
        yield from _exceptions(module, said)
        return
    if module.breach is not None:
        yield said.say("letter.module_breach", module=module.title)
    elif module.numbers is not None:
        yield from _figures(module, module.numbers, said)
    if module.third_look:
        yield said.say("letter.third")
    if module.decision not in _ALONE:
        yield from _exceptions(module, said)
    if module.valid_to and (module.breach or module.numbers):
        yield said.say("letter.valid", day=said.day(module.valid_to))
    elif module.valid_to:
        yield said.say("letter.module_valid", module=module.title, day=said.day(module.valid_to))


def _exceptions(module: ModuleTold, said: Messages) -> Iterator[str]:
    """What a reader who may appeal for a conflict of interest has to know; nobody is named."""
    if module.marked_near:
        yield said.say("letter.marked_near")
    if module.decided_near:
        yield said.say("letter.decided_near")


def _figures(module: ModuleTold, numbers: Numbers, said: Messages) -> Iterator[str]:
    mean, line, n = said.decimal(numbers.mean), said.decimal(numbers.line), str(numbers.n)
    if numbers.band:
        mean = said.say("letter.with_band", mean=mean, band=said.decimal(f"{float(numbers.band):.2f}"))
    if module.decision == "grant":
        yield said.say("letter.module_passed", module=module.title, mean=mean, n=n, line=line)
    elif numbers.below_mean:
        yield said.say("letter.module_below", module=module.title, mean=mean, n=n, line=line)
    else:
        yield said.say("letter.module_but", module=module.title, mean=mean, n=n, line=line)
    if module.decision == "refuse":
        values = str(numbers.values)
        if numbers.allowed is not None and numbers.below > numbers.allowed:
            yield said.say("letter.count", below=str(numbers.below), values=values, allowed=str(numbers.allowed))
        if numbers.under and numbers.minimum:
            minimum = said.decimal(numbers.minimum)
            yield said.say("letter.under", minimum=minimum, under=str(numbers.under))
