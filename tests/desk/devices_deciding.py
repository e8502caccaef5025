"""What follows the meeting in a course on several devices: repeats, completions, late evidence, signed decisions."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assess.desk.deciding import decisions, proposals, sign
from assess.desk.decision_basis import still_gives
from assess.desk.further import add_slot, offer_repeat, offers
from assess.desk.late_evidence import late_evidence, log_late, rule_on_late
from assess.desk.moderating import moderate
from assess.desk.moderation_views import proposals_json
from assess.desk.outcomes import HiddenModule, course_modules, module_result_of
from assess.desk.session import Desk
from assess.records.errors import Refusal
from assess.store.course_files import base_stem, recorded_name
from tests.store.course_maker import RUBRIC

if TYPE_CHECKING:
    from tests.desk.devices import Device, World

__all__ = ["BANDED", "CRITERIA", "acts", "criteria_of", "deciding_told", "decisions_hold"]

CRITERIA = {"T1": ("edging", "line"), "T4": ("plan",)}

BANDED = RUBRIC + (
    b'band: {z: "1", sheet_error: {'
    b'demo: {value: "0.6", source: invented, date: "2026-05-01", n_pairs: 40, ci95: ["0.5", "0.7"]}, '
    b'teach: {value: "0.6", source: invented, date: "2026-05-01", n_pairs: 40, ci95: ["0.5", "0.7"]}}}\n'
)
"""The small rubric with a band, in which a repeat can be offered."""

Act = tuple[str, float, Callable[[], None]]


def criteria_of(task: str) -> tuple[str, ...]:
    """The criteria of a slot, of `T1-2` those of `T1`."""
    return CRITERIA[task.partition("-")[0]]


def acts(world: World, directors: Callable[[World], Device]) -> list[Act]:
    """The acts of the director, each with how often it is done beside the others."""

    def done(act: Callable[[World, Desk], None], *, breaks: bool = False) -> None:
        world.session(directors(world), "D1", partial(act, world), breaks=breaks)

    return [
        ("sign", 4, partial(done, _sign)),
        ("sign, broken off", 1, partial(done, _sign, breaks=True)),
        ("offer a repeat", 1.5, partial(done, _offer)),
        ("further performance", 2, partial(done, _further)),
        ("further performance, broken off", 0.5, partial(done, _further, breaks=True)),
        ("late evidence", 2, partial(done, _late)),
        ("late evidence, broken off", 0.5, partial(done, _late, breaks=True)),
        ("moderate by evidence", 1, partial(done, _by_evidence)),
    ]


def _sign(world: World, desk: Desk) -> None:
    """One or two modules, mostly with what follows, now and then with what rests on no numbers."""
    modules = [(who, module) for who in desk.course.candidates for module in course_modules(desk)]
    for candidate, module in world.chance.sample(modules, len(modules)):
        kind: Any = world.chance.choice((None, None, None, "open", "void", "withdraw"))
        with suppress(Refusal):
            sign(desk, candidate, module, kind=kind, reason="as it stands now")
            if world.chance.random() < 0.6:
                return


def _offer(world: World, desk: Desk) -> None:
    module = world.chance.choice(course_modules(desk))
    task = desk.rubric_for("T1").modules[module].tasks[0]
    offer_repeat(desk, task, module, "the film was fogged")


def _further(world: World, desk: Desk) -> None:
    """A repeat for somebody it was offered to, else a completion for whom nobody saw."""
    asked = [(task, who, "repeat") for task in ("T1", "T4") for _, offer in offers(desk, task)
             for who in offer.candidates]  # fmt: skip
    for who in desk.course.candidates:
        for module in course_modules(desk):
            found = module_result_of(desk, who, module)
            if not isinstance(found, HiddenModule):
                asked += [(task, who, "completion") for task in found.open_needs]
    for task, who, why in world.chance.sample(asked, len(asked)):
        markers = world.chance.sample(desk.course.assessors, 2)
        with suppress(Refusal):
            reason: Any = why
            add_slot(desk, task, who, why=reason, assessors=markers, reason="a second showing")
            return


def _late(world: World, desk: Desk) -> None:
    """Something comes in about a slot, or what came in is ruled on."""
    waiting = [item for who in desk.course.candidates for item in late_evidence(desk, who) if item.ruling is None]
    if waiting and world.chance.random() < 0.6:
        item = world.chance.choice(waiting)
        admit = world.chance.random() < 0.6
        rule_on_late(desk, item.candidate, item.fact.digest, admit=admit, rule="rule 7", reason="looked at by both")
        return
    slot = world.chance.choice(desk.course.allocation)
    digest = "sha256:" + hashlib.sha256(world.secret(None).encode()).hexdigest()
    log_late(desk, f"{slot.task}.{slot.candidate}", digest, "a film from a phone")


def _by_evidence(world: World, desk: Desk) -> None:
    """A level outside the marks, by evidence that was admitted for the slot."""
    for who in world.chance.sample(desk.course.candidates, len(desk.course.candidates)):
        for item in late_evidence(desk, who):
            if item.ruling is not None and item.ruling.admitted:
                criterion = world.chance.choice(criteria_of(item.fact.slot))
                level = world.chance.randint(1, 6)
                moderate(desk, f"{item.fact.slot}.{who}", "agree-value", present=["D1"], reason="the film shows it",
                         values={criterion: level}, evidence=[item.fact.digest])  # fmt: skip
                return


def deciding_told(desk: Desk) -> dict[str, Any]:
    """What the commands of the decisions tell this person; a refusal by its words."""
    told: dict[str, Any] = {"late": [repr(late_evidence(desk, who)) for who in desk.course.candidates]}
    try:
        told["proposals"] = proposals_json(proposals(desk))
    except Refusal as refused:
        told["proposals"] = str(refused)
    return told


def decisions_hold(desk: Desk, folder: dict[str, bytes]) -> int:
    """Every signed decision gives the same result again from what it names; how many were worked out again.

    Only where a record it names has versions, one of them kept aside, may it be refused instead.
    """
    aside = {recorded_name(Path(name).parent.name, base_stem(Path(name).name)) for name in folder if "~" in name}
    held = 0
    for who in desk.course.candidates:
        for signed in decisions(desk, who):
            try:
                assert still_gives(desk, signed), signed.name
                held += 1
            except Refusal as refused:
                assert any(str(refused).startswith(f"{name} ") for name in aside), (str(refused), sorted(aside))
                assert "--settle" in str(refused)
    return held
