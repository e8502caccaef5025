"""The later steps as plain lines: differences, both sheets side by side, reach, proposals."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.desk.deciding import Proposal
    from assess.desk.moderating import Difference
    from assess.desk.moderation_views import SlotView
    from assess.desk.session import Desk
    from assess.desk.third_looks import ReachTold

__all__ = ["difference_lines", "proposal_lines", "reach_lines", "view_lines"]

_BECAUSE = {
    "sheet-apart": "the sheets are far apart",
    "other-side": "one is above the line and one below",
    "criterion-apart": "one criterion is far apart",
}
_EFFECT = {
    "alone": "can change the module",
    "together": "can change the module together with others",
    "later": "the module is still open",
    "nothing": "can change nothing",
}


def difference_lines(desk: Desk, found: Sequence[Difference]) -> Iterator[str]:
    """Due differences first, with why and what each can change."""
    due = [item for item in found if item.found.due]
    listed = [item for item in found if not item.found.due]
    yield f"{desk.course.title}: {len(due)} due for moderation, {len(listed)} only listed"
    yield "The marks as given stay; what is agreed stands beside them. Nothing is signed while one is due."
    for item in due:
        why = "; ".join(_BECAUSE[word] for word in item.found.because)
        yield f"  {item.slot:<8} {desk.name(item.candidate)}, {item.module}: {_EFFECT[item.found.effect]} ({why})"
    if listed:
        yield "Listed, one level apart across the line: " + ", ".join(item.slot for item in listed)
    idle = sum(item.found.effect == "nothing" for item in due)
    if idle:
        yield f"{idle} of them can change nothing: `assess moderate COURSE --idle --reason TEXT` keeps both in one act."


def view_lines(desk: Desk, view: SlotView) -> Iterator[str]:
    """One slot: marks criterion by criterion, then what each marker saw."""
    yield f"{view.slot}  {desk.name(view.candidate)}"
    width = max(len(label) for label in view.labels.values())
    yield f"  {'':<{width}}  " + "  ".join(f"{sheet.name:<16.16}" for sheet in view.sheets)
    for criterion, label in view.labels.items():
        marks = (sheet.marks.get(criterion, "no mark") for sheet in view.sheets)
        yield f"  {label:<{width}}  " + "  ".join(f"{mark:<16}" for mark in marks)
    for sheet in view.sheets:
        yield f"{sheet.name} saw:"
        for item in sheet.seen:
            about = f" [{', '.join(item.criteria)}]" if item.criteria else ""
            yield f"  {item.at}  {item.text}{about}" + (f", {item.viewpoint}" if item.viewpoint else "")
        if not sheet.seen:
            yield "  nothing is noted"
    if view.trouble:
        yield f"TO SETTLE: {view.trouble}"
    for past in view.history:
        values = ", ".join(f"{name} {level}" for name, level in past.fact.values.items())
        agreed = past.fact.outcome.replace("-", " ") + (f" ({values})" if values else "")
        yield f"moderated: {agreed}; present {', '.join(past.fact.present)}; {past.fact.reason or '(erased)'}"
    for late in view.late:
        ruled = "no ruling yet" if late.ruling is None else "admitted" if late.ruling.admitted else "not admitted"
        yield f"late evidence {late.fact.digest[:19]}: {ruled}"
    yield f"fresh for a third look: {', '.join(view.fresh) or 'nobody'}"


def reach_lines(desk: Desk, told: Sequence[ReachTold]) -> Iterator[str]:
    """A line for each module: how far, to which outcomes, or why none is offered."""
    yield "How far a third look can reach: lowest and highest mean, third sheets all at one end or the other."
    for item in told:
        where = f"{item.candidate} {desk.name(item.candidate)}, {item.module}"
        if not item.slots:
            yield f"  {where}: none, {item.why_not}"
            continue
        ends = f"{item.lowest} to {item.highest} over {', '.join(item.slots)}"
        outcomes = " or ".join(word.replace("_", " ") for word in item.outcomes)
        yield f"  {where}: {ends}; {outcomes}" + (f"; not offered: {item.why_not}" if item.why_not else "")
    if not told:
        yield "  no module asks for one"


def proposal_lines(desk: Desk, found: Sequence[Proposal]) -> Iterator[str]:
    """What stands in the way first, then a line for each module."""
    waiting = [item for item in found if item.waits]
    yield "The rules propose; a named person signs. What is signed is superseded by a later decision, never changed."
    if waiting:
        yield f"{len(waiting)} cannot be signed yet:"
        for item in waiting:
            yield f"  {item.candidate} {item.module}: {'; '.join(item.waits)}"
    for item in found:
        mean = "no mean" if item.mean is None else f"mean {item.mean}"
        said = f"{item.result.outcome.replace('_', ' ')}, {mean} of {item.result.n_sheets} sheets"
        yield f"{item.candidate} {desk.name(item.candidate)}, {item.module}: {said}"
        if item.against:
            yield f"  you may not sign: {'; '.join(item.against)}"
        if item.standing is not None:
            stale = "; THE RECORD HAS CHANGED SINCE" if item.stale else ""
            waived = f"; waiver: {item.standing.fact.waiver}" if item.standing.fact.waiver else ""
            by = f"{desk.name(item.standing.by)} ({item.standing.by}) on {item.standing.at[:10]}"
            yield f"  signed: {item.standing.fact.decision} by {by}{waived}{stale}"
            for other in item.otherwise:
                said = f"{other.fact.decision} by {desk.name(other.by)} ({other.by}) on {other.at[:10]}"
                yield f"  SIGNED IN ANOTHER WAY TOO: {said}; sign one that stands in for both"
        elif item.follows and not item.waits:
            yield f"  ready to sign: {item.follows}"
