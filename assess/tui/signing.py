"""Questions of the outcome board: signing, third looks, release. A named person answers each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from assess.tui.asking import Option

if TYPE_CHECKING:
    from assess.desk.deciding import Proposal
    from assess.tui.outcomes_screen import OutcomesScreen

__all__ = ["release_results", "sign_module", "third_look"]


async def sign_module(screen: OutcomesScreen, candidate: str, modules: Sequence[str]) -> None:
    """Which module, until when it is carried, and once more who signs what."""
    from assess.desk.deciding import proposal, sign

    desk = screen.desk
    found = {module: proposal(desk, candidate, module) for module in modules}
    options = [
        Option(
            f"{module}: {item.follows or item.result.outcome.replace('_', ' ')}", module,
            "; ".join(item.waits) or (f"signed {item.standing.fact.decision}" if item.standing else "ready to sign"),
        )
        for module, item in found.items()
    ]  # fmt: skip
    module = await screen.tray.pick(f"{desk.name(candidate)}: sign which module?", options)
    if module is None:
        return
    item = found[module]
    # What cannot be signed is refused by the desk, with what is in the way; nothing is asked for it first.
    asked = None if item.waits else await _asked(screen, item)
    if asked is None and not item.waits:
        return
    waiver, reason, until = asked or ("", "", "")
    sign(desk, candidate, module, waiver=waiver, reason=reason, valid_to=until or None)
    screen.draw()
    screen.tell(f"signed: {item.follows}, {desk.name(candidate)}, {module}")


async def _asked(screen: OutcomesScreen, item: Proposal) -> tuple[str, str, str] | None:
    """Waiver, reason and the day until which it is carried; None when anything was left unanswered."""
    desk = screen.desk
    waiver = reason = until = ""
    if item.against:
        waiver = await screen.tray.text("a waiver: why do you decide all the same?", "", "; ".join(item.against)) or ""
        if not waiver:
            return None
    if item.standing is not None:
        reason = await screen.tray.text("in place of what was signed: why", "", "the first stays on view") or ""
        if not reason:
            return None
    if item.follows == "grant":
        until = await screen.tray.text("carried until which day?", "", "like 2027-02-05; nothing for no day") or ""
    yes = await screen.tray.pick(
        f"sign {item.follows}: {desk.name(item.candidate)}, {item.module}",
        [
            Option(
                f"yes, as {desk.name(desk.who or '')} ({desk.who})", True,
                f"{screen.waivers_for(item.candidate)}can be superseded, never changed",
            ),
            Option("not now", False),
        ],
    )  # fmt: skip
    return (waiver, reason, until.strip()) if yes else None


async def third_look(screen: OutcomesScreen, candidate: str, modules: Sequence[str]) -> None:
    """The reach first; then who marks what, and which clear slots are mixed in."""
    from assess.desk.eligible import fresh_in_module
    from assess.desk.third_looks import close_look, look_of, order_look, reach_of

    desk = screen.desk
    options = []
    for module in modules:
        told = reach_of(desk, candidate, module)
        look = look_of(desk, candidate, module)
        state = "" if look is None else "closed" if look.closed else "ordered, not closed"
        options.append(Option(module, module, state or told.why_not or f"{told.lowest} to {told.highest}"))
    module = await screen.tray.pick(f"{desk.name(candidate)}: a third look at which module?", options)
    if module is None:
        return
    look = look_of(desk, candidate, module)
    if look is not None:
        close_look(desk, candidate, module)
        screen.draw()
        screen.tell(f"closed: the third sheets of {module} have joined the others")
        return
    told = reach_of(desk, candidate, module)
    slots = await screen.tray.text("which tasks can be seen again?", ",".join(told.slots), "take out what cannot")
    if not slots:
        return
    seen = _names(slots)
    reach = reach_of(desk, candidate, module, seen)
    fresh = [Option(f"{who} {desk.name(who)}", who) for who in fresh_in_module(desk, candidate, module)]
    fresh = fresh or [Option(f"{who} {desk.name(who)}", who) for who in desk.course.assessors]
    marker = await screen.tray.pick(f"it can lead to {reach.lowest} to {reach.highest}; who marks it?", fresh)
    if marker is None:
        return
    mixed = await screen.tray.text("which clear slots are mixed in?", "", "like T1.C03, one for two")
    if mixed is None:
        return
    reason = await screen.tray.text("why", "", "kept and printed")
    if reason is None:
        return
    order_look(desk, candidate, module, marker=marker, slots=seen, source="film", mixed=_names(mixed), reason=reason)
    screen.draw()
    screen.tell(f"ordered: {module}, {marker} marks {slots}")


async def release_results(screen: OutcomesScreen) -> None:
    """To whom; to candidates only what is signed."""
    from assess.desk.feedback import release

    to = await screen.tray.pick(
        "release to whom?",
        [
            Option("the assessors", "assessors", "outcomes as they stand"),
            Option("this candidate", "candidates", "only what is signed"),
        ],
    )
    if to is None:
        return
    who = (screen.candidates[screen.at][0],) if to == "candidates" else ()
    release(screen.desk, to, (), who)
    screen.tell(f"released to {to}" + (f": {screen.desk.name(who[0])}" if who else ""))


def _names(words: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in words.split(",") if word.strip())
