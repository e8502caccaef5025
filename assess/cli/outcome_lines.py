"""Outcomes as plain lines: what is missing first, then candidate by candidate."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["outcome_lines"]

CAUTION = "People decide: this is what the rules give on the marks as they stand, not what was signed."
_WORDS = {
    "passed": "passed",
    "not_passed": "not passed",
    "third_look": "third look",
    "open": "open",
    "void": "void",
    None: "not released",
}


def outcome_lines(desk: Desk, document: dict[str, Any]) -> Iterator[str]:
    """The lines for a document of `assess.desk.outcomes.results_json`."""
    from assess.desk.waiving import waiver_lines, waivers_told

    yield CAUTION
    yield f"{desk.course.title}, {document['course']}"
    due, unseen = _due(document), _open(document)
    if due:
        yield ""
        yield "Due for moderation, before anything is signed:"
        yield from due
    if unseen:
        yield ""
        yield "Open:"
        yield from unseen
    waivers = waiver_lines(waivers_told(desk))
    if waivers:
        yield ""
        yield from waivers
    for candidate in document["candidates"]:
        yield ""
        yield f"{desk.bib(candidate['id'])} {desk.name(candidate['id'])} ({candidate['id']})"
        width = max((len(name) for name in candidate["modules"]), default=0)
        for name, module in candidate["modules"].items():
            first, *more = _module(module, director=desk.role == "director")
            yield f"  {name:<{width}}  {first}"
            yield from (f"  {'':<{width}}  {line}" for line in more)
    yield from _taken_out(document)


def _due(document: dict[str, Any]) -> list[str]:
    return [
        f"  {candidate['id']} {name}: {', '.join(module['moderation_due'])}"
        for candidate in document["candidates"]
        for name, module in candidate["modules"].items()
        if module["moderation_due"]
    ]


def _open(document: dict[str, Any]) -> list[str]:
    return [
        f"  {candidate['id']} {name}: {'; '.join(module['reasons']) or 'no reason told'}"
        for candidate in document["candidates"]
        for name, module in candidate["modules"].items()
        if module["outcome"] == "open"
    ]


def _module(module: dict[str, Any], *, director: bool) -> list[str]:
    """`third look  mean 3.38 of 4 sheets, line 3.5, band 0.275`, then a line for each thing there is to say.

    What would flip an outcome stands on the director's page alone.
    """
    from assess.desk.waiving import beside_lines

    word = _WORDS[module["outcome"]]
    if module["outcome"] is None:
        return ["; ".join(module["reasons"]) or word]
    lines = [f"{word:<10}  {_mean(module)}", *_reasons(module)]
    lines += beside_lines(module)
    if module["open_needs"]:
        lines.append(f"would be closed by {', '.join(module['open_needs'])}")
    if module["moderation_due"]:
        lines.append(f"due for moderation: {', '.join(module['moderation_due'])}")
    if module["reach"]:
        lines.append(f"a third look can lead to {module['reach'][0]} to {module['reach'][1]}")
    if module["flips_with"] and director:
        lines.append(module["flips_with"])
    if module.get("adjusted_mean"):
        ends = module["adjusted_ci95"]
        known = f" ({ends[0]} to {ends[1]})" if ends else " (no range)"
        lines.append(f"with estimated severity taken out {module['adjusted_mean']}{known}")
    return lines


def _reasons(module: dict[str, Any]) -> list[str]:
    """The reasons, a breach with the must-not it is about."""
    of = f": {module['breach']['must_not']}" if module["breach"] else ""
    return [f"{reason}{of}" if reason.startswith("breach ") else reason for reason in module["reasons"]]


def _taken_out(document: dict[str, Any]) -> Iterator[str]:
    """What the adjusted means rest on; nothing for whoever is not shown any."""
    from assess.cli.figures import paragraphs

    found = document.get("severity_taken_out")
    if found is None:
        return
    yield ""
    if found["undefined"]:
        yield from paragraphs([found["undefined"]])
        return
    yield from paragraphs([found["sentence"]])
    for one in found["assessors"]:
        ends = f", {' to '.join(map(_signed, one['ci95']))}" if one["ci95"] else ", no range"
        told = f"{one['n']} sheets of {one['n_candidates']} candidates"
        yield f"  {one['id']} gives {_signed(one['gives_more'])} levels{ends} ({told})"


def _signed(value: float) -> str:
    """`+0.04`; never `-0.00`."""
    return f"{round(value, 2) + 0.0:+.2f}"


def _mean(module: dict[str, Any]) -> str:
    from assess.records.text import line_text

    if module["mean"] is None:
        return "no mean"
    sheets = f"{module['n_sheets']} sheet{'s' if module['n_sheets'] != 1 else ''}"
    band = f", band {module['band']}" if module["band"] else ""
    return f"mean {module['mean']} of {sheets}, line {line_text(module['line'])}{band}"
