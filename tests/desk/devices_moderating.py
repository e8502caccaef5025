"""What happens after the locks in a course on several devices: meetings, third looks, their sheets, what is shown."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict
from functools import partial
from math import ceil, floor
from typing import TYPE_CHECKING, Any

from assess.desk.moderating import differences, keep_idle, moderate
from assess.desk.moderation_views import differences_json, reach_json, slot_view, view_json
from assess.desk.outcomes import HiddenModule, course_modules, module_result_of
from assess.desk.session import Desk
from assess.desk.third_looks import Look, close_look, look_of, looks, order_look, reach_of, reach_table
from assess.marking.two_markers import agreed_range
from assess.records.errors import Refusal
from assess.store.merge import merge

if TYPE_CHECKING:
    from tests.desk.devices import Device, World

__all__ = ["acts", "directors_device", "evening", "finished", "moderation_told"]

Act = tuple[str, float, Callable[[], None]]


def acts(world: World) -> list[Act]:
    """The acts of the meeting, each with how often it is done beside the others."""
    return [
        ("moderate", 4, partial(_meet, world)),
        ("moderate, broken off", 1, partial(_meet, world, breaks=True)),
        ("keep idle", 0.5, partial(_idle, world)),
        ("order a third look", 3, partial(_order, world)),
        ("order a third look, broken off", 0.5, partial(_order, world, breaks=True)),
        ("third sheets", 4, partial(_third_sheets, world)),
        ("third sheets, broken off", 0.5, partial(_third_sheets, world, breaks=True)),
        ("close a third look", 2, partial(_close, world)),
        ("close a third look, broken off", 0.5, partial(_close, world, breaks=True)),
        ("lock all of one's own", 2, lambda: _lock_all(world, *world.anybody())),
    ]


def evening(world: World) -> None:
    """Before the meeting nearly everybody locks what is theirs, and most copies come to the director's."""
    markers = [who for who in world.people if who != "D1"]
    for who in world.chance.sample(markers, len(markers)):
        own = [device for device in world.devices if device.who == who]
        if world.chance.random() < 0.95:
            _lock_all(world, world.chance.choice(own or world.devices), who)
    director = directors_device(world)
    for device in world.chance.sample(world.devices, len(world.devices)):
        if device is not director and world.chance.random() < 0.9:
            merge(director.root, [device.root], disk=world.quick())


def directors_device(world: World) -> Device:
    """Mostly one device, on which the director works; it is their own where they have one."""
    if world.chance.random() < 0.2:
        return world.chance.choice(world.devices)
    return next((device for device in world.devices if device.who == "D1"), world.devices[0])


def _meet(world: World, *, breaks: bool = False) -> None:
    """Somebody writes down what a meeting agreed: of several outcomes one, alone or with others present."""
    device, who = world.anybody()
    if world.chance.random() < 0.5:
        device, who = directors_device(world), "D1"

    def act(desk: Desk) -> None:
        open_ = [s for s in desk.course.allocation if desk.sight.slot_open(s.task, s.candidate)]
        for slot in world.chance.sample(open_, min(2, len(open_))):
            kind: Any = world.chance.choice(("keep-both", "agree-value", "third-look", "third-look", "repeat", "void"))
            values = _levels(world, desk, slot.task, slot.candidate) if kind == "agree-value" else None
            present = [who, world.chance.choice(desk.markers(slot.task, slot.candidate))]
            moderate(
                desk, f"{slot.task}.{slot.candidate}", kind, present=present, reason="looked at together", values=values
            )

    world.session(device, who, act, breaks=breaks)


def _levels(world: World, desk: Desk, task: str, candidate: str) -> dict[str, int]:
    """Levels for some criteria, within the marks given."""
    sheets = [desk.folded(task, candidate, who) for who in desk.markers(task, candidate)]
    ranges = agreed_range(sheets, desk.rubric_for(task))
    chosen = world.chance.sample(sorted(ranges), min(len(ranges), world.chance.randint(1, 2)))
    return {item: world.chance.randint(ceil(ranges[item][0]), floor(ranges[item][1])) for item in chosen}


def _idle(world: World) -> None:
    """The director closes at once whatever can change nothing."""
    device = directors_device(world)
    world.session(device, "D1", lambda desk: keep_idle(desk, present=["D1"], reason="changes nothing"))


def _order(world: World, *, breaks: bool = False) -> None:
    """The director orders a third look where one can change something and somebody fresh is there."""
    device = directors_device(world)

    def act(desk: Desk) -> None:
        modules = [(who, module) for who in desk.course.candidates for module in course_modules(desk)]
        for candidate, module in world.chance.sample(modules, len(modules)):
            if look_of(desk, candidate, module) is not None:
                continue
            told = reach_of(desk, candidate, module)
            if told.slots and told.why_not:
                # A meeting may ask for what the outcome alone does not.
                with suppress(Refusal):
                    name = f"{told.slots[0]}.{candidate}"
                    moderate(desk, name, "third-look", present=["D1"], reason="we do not agree")
                told = reach_of(desk, candidate, module)
            if told.why_not:
                continue
            clear = [s for s in desk.course.allocation if s.candidate != candidate]
            for marker in world.chance.sample(desk.course.assessors, len(desk.course.assessors)):
                for mixed in world.chance.sample(clear, len(clear)):
                    if _ordered(desk, candidate, module, marker, told.slots, f"{mixed.task}.{mixed.candidate}"):
                        return

    world.session(device, "D1", act, breaks=breaks)


def _ordered(desk: Desk, candidate: str, module: str, marker: str, slots: tuple[str, ...], mixed: str) -> bool:
    """False when the rules refuse this marker, or what would be mixed in."""
    try:
        order_look(
            desk, candidate, module, marker=marker, slots=slots, source="film", mixed=[mixed], reason="on the line"
        )
    except Refusal:
        return False
    return True


def _open_looks(desk: Desk) -> list[Look]:
    return [look for look in looks(desk) if not look.closed]


def _third_sheets(world: World, *, breaks: bool = False) -> None:
    """The third marker marks what the director's copy asks for, and mostly locks it."""
    device = world.anybody()[0] if world.chance.random() < 0.5 else directors_device(world)
    with world.reading(device, "D1") as desk:
        waiting = _open_looks(desk)
    if not waiting:
        return
    look = world.chance.choice(waiting)

    def act(desk: Desk) -> None:
        for task, candidate in look.slots:
            if not desk.locked(task, candidate, look.fact.marker):
                finished(world, desk, task, candidate, lock=world.chance.random() < 0.8)

    world.session(device, look.fact.marker, act, breaks=breaks)


def _close(world: World, *, breaks: bool = False) -> None:
    """The director lets the third sheets of a look join the others, where all of them are locked here."""
    device = directors_device(world)

    def act(desk: Desk) -> None:
        for look in _open_looks(desk):
            if all(desk.locked(task, who, look.fact.marker) for task, who in look.slots):
                close_look(desk, look.candidate, look.fact.module)

    world.session(device, "D1", act, breaks=breaks)


def _lock_all(world: World, device: Device, who: str) -> None:
    """Somebody finishes and locks every sheet of theirs."""

    def act(desk: Desk) -> None:
        for task in sorted({slot.task for slot in desk.course.allocation}):
            for slot in desk.mine(task):
                if not desk.locked(task, slot.candidate, who):
                    finished(world, desk, task, slot.candidate, lock=True)

    world.session(device, who, act)


def finished(world: World, desk: Desk, task: str, candidate: str, *, lock: bool) -> None:
    """Fill what a lock would refuse, note something, and lock the sheet where asked."""
    sheet = desk.slot(task, candidate)
    for criterion in [hole.criterion for hole in sheet.holes() if hole.blocks and hole.criterion]:
        sheet.score(criterion, world.chance.randint(1, 6))
    sheet.note(world.secret(desk.who), sheet.criteria)
    if lock:
        sheet.lock()


def moderation_told(desk: Desk) -> dict[str, Any]:
    """What the commands of the meeting tell this person; a refusal by its words."""
    slots = [f"{slot.task}.{slot.candidate}" for slot in desk.course.allocation]
    shown: dict[str, Callable[[], Any]] = {
        "differences": lambda: differences_json(desk, differences(desk)),
        "reach": lambda: reach_json(reach_table(desk)),
        **{f"moderation of {slot}": partial(_view, desk, slot) for slot in slots},
    }
    told = {name: _said(show) for name, show in shown.items()}
    outcomes = [module_result_of(desk, who, m) for who in desk.course.candidates for m in course_modules(desk)]
    told["hidden"] = [found.why for found in outcomes if isinstance(found, HiddenModule)]
    told["looks"] = [asdict(look)["name"] for look in looks(desk)]
    return told


def _view(desk: Desk, slot: str) -> Any:
    return view_json(slot_view(desk, slot))


def _said(show: Callable[[], Any]) -> Any:
    try:
        return show()
    except Refusal as refused:
        return str(refused)
